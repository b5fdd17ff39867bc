"""Writing a file beside the one it is to replace, so that there is always a whole one."""

from __future__ import annotations

import contextlib
import os
import secrets
from pathlib import Path
from typing import BinaryIO


def open_beside(path: Path) -> BinaryIO:
    """A new file in the place of `path`, open for writing: what was there stays whole until the new one can be made.

    A link leads to the file that is replaced; another name of that file (a hard link) keeps the old content. OSError
    where it cannot be made.
    """
    target = Path(os.path.realpath(path))
    if target.exists() and not target.is_file():
        return target.open("wb")
    part = part_of(target)
    out = part.open("xb")
    try:
        part.replace(target)
    except OSError:
        out.close()
        part.unlink(missing_ok=True)
        raise
    return out


def part_of(target: Path) -> Path:
    """Where a new `target` is written before it takes its place."""
    return target.with_name(f".{target.name[:100]}.{secrets.token_hex(4)}.part")


def sync_folder(folder: Path) -> None:
    """A new name survives a power cut only when the entry of its folder is on the disk too."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
