"""Writing a file that somebody named: never over a record or what belongs to one, and whole or not at all."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterable
from pathlib import Path
from typing import Final

from bayvoice.errors import BayError
from bayvoice.host.writing import part_of, sync_folder
from bayvoice.language.texts import tell
from bayvoice.record.baykey import key_path, pin_path
from bayvoice.record.sounds import folder_of
from bayvoice.record.sqlite.recordfile import default_path

MAGIC: Final = b"SQLite format 3\0"
"""What every SQLite file begins with (sqlite.org/fileformat2.html, section 1.3)."""

_BESIDE: Final = ("", "-wal", "-shm", "-journal")
"""What SQLite adds to a database's name for the files it keeps beside it (sqlite.org/tempfiles.html)."""


def must_not_harm(path: Path, store: Path | None, option: str, also: Iterable[Path] = ()) -> None:
    """Refuse to write to `path` where that would harm what is kept.

    That is: a record (this one, another one, any SQLite file), the files SQLite keeps beside it, its folder of sounds,
    the bay's key and its pin, and whatever `also` names. Links are followed, hard links are known by their inode.

    Args:
        path: where something is to be written.
        store: the record in use, None for the bay's own.
        option: what named the file, for the message.
        also: further files that are only read.

    Raises:
        BayError: the file is one of these.
    """
    where = Path(os.path.realpath(path))
    for record in dict.fromkeys((store or default_path(), default_path())):
        # A link to a record is named as it is, and as what it leads to.
        for name in {Path(os.path.realpath(record)), Path(os.path.abspath(record))}:
            for end in _BESIDE:
                if _same(where, name.with_name(name.name + end)):
                    raise _refused(path, "record", option)
            if folder_of(name) in (where, *where.parents):
                raise _refused(path, "sounds", option)
    if any(_same(where, Path(os.path.realpath(kept))) for kept in (key_path(), pin_path())):
        raise _refused(path, "key", option)
    if any(_same(where, Path(os.path.realpath(kept))) for kept in also):
        raise _refused(path, "read", option)
    if _is_database(where):
        raise _refused(path, "database", option)
    if where.suffix.lower() == ".toml" and where.exists():
        raise _refused(path, "procedure", option)
    for end in _BESIDE[1:]:
        if where.name.endswith(end) and _is_database(where.with_name(where.name.removesuffix(end))):
            raise _refused(path, "beside-database", option)


def _is_database(path: Path) -> bool:
    try:
        if not path.is_file():
            return False
        with path.open("rb") as file:
            return file.read(len(MAGIC)) == MAGIC
    except OSError:
        return False


def _same(one: Path, other: Path) -> bool:
    if one == other:
        return True
    try:
        return os.path.samefile(one, other)
    except OSError:
        return False


def _refused(path: Path, what: str, option: str) -> BayError:
    return BayError(
        tell(f"record-no-writing-over-{what}"),
        str(path),
        tell("record-name-another-file-for-option", option=option),
    )


def write_whole(path: Path, data: bytes, store: Path | None, option: str = "--out") -> None:
    """Write `data` to `path`: beside it first, then in its place, so that it is the old file or the new one.

    Raises:
        BayError: `must_not_harm`, or it cannot be written; what was there is then as it was.
    """
    must_not_harm(path, store, option)
    target = Path(os.path.realpath(path))
    part = part_of(target)
    try:
        if target.exists() and not target.is_file():
            # A pipe or a terminal (/dev/stdout) has nothing to lose and cannot be renamed.
            if target.is_dir():
                raise IsADirectoryError(21, tell("record-is-folder"))
            target.write_bytes(data)
            return
        with part.open("xb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        if target.exists():
            with contextlib.suppress(OSError):
                part.chmod(target.stat().st_mode & 0o777)
        part.replace(target)
        sync_folder(target.parent)
    except OSError as error:
        raise BayError(
            tell("record-file-cannot-be-written-strerror", strerror=error.strerror),
            str(path),
            tell("record-name-another-option", option=option),
        ) from None
    finally:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
