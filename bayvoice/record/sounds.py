"""Where the sound of a note lies: a folder beside the record, one file a note.

The record holds a file's name and SHA-256, so the sound can be taken away (`bayvoice.record.sqlite.retention`) without
the record losing its proof, and nobody can put another one in its place.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
from pathlib import Path

from bayvoice.errors import BayError
from bayvoice.host.writing import sync_folder
from bayvoice.language.texts import tell


def folder_of(store: Path) -> Path:
    """The folder of the sounds that belong to the record `store`."""
    return store.with_name(f"{store.name}.sounds")


def keep(store: Path, data: bytes, stem: str) -> tuple[str, str]:
    """Put a note's sound on the disk; it is there when this returns.

    Args:
        store: the record it belongs to.
        data: a whole WAV file.
        stem: what its name begins with, say job and fact; signs a file name cannot have become hyphens.

    Returns:
        the file's name in `folder_of(store)` and the hex SHA-256 of its bytes: what the fact "noted" holds.

    Raises:
        BayError: it could not be written. Then no file of that name is there.
    """
    digest = hashlib.sha256(data).hexdigest()
    safe = "".join(c if c.isalnum() and c.isascii() else "-" for c in stem)[:80].strip("-") or "note"
    name = f"{safe}-{digest[:12]}.wav"
    folder = folder_of(store)
    part = folder / f".{name}.part"
    try:
        folder.mkdir(mode=0o700, exist_ok=True)
        with part.open("wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        part.replace(folder / name)
        sync_folder(folder)
    except OSError as error:
        with contextlib.suppress(OSError):
            part.unlink()
        raise BayError(
            tell("record-sound-of-note-cannot-be-kept", strerror=error.strerror),
            str(folder),
            tell("record-make-room-or-look-at-rights"),
        ) from error
    return name, digest


def find(store: Path, name: str) -> Path | None:
    """The file of a note's sound, None where it is not there or `name` is not a plain file name."""
    if not name or name != Path(name).name or "\0" in name or name in (".", ".."):
        return None
    path = folder_of(store) / name
    with contextlib.suppress(OSError):
        if path.is_file():
            return path
    return None


def read_sound(store: Path, name: str) -> bytes | None:
    """The bytes of a note's sound, None where it cannot be read."""
    path = find(store, name)
    with contextlib.suppress(OSError):
        return path.read_bytes() if path else None
    return None
