"""A copy of the record while it is in use, and the way back from it."""

from __future__ import annotations

import contextlib
import os
import shutil
import sqlite3
from dataclasses import dataclass
from pathlib import Path

from bayvoice.errors import BayError
from bayvoice.host.writing import sync_folder
from bayvoice.language.texts import tell
from bayvoice.record.sounds import folder_of
from bayvoice.record.sqlite.outfile import must_not_harm
from bayvoice.record.sqlite.store import Store


@dataclass(frozen=True, slots=True)
class Copied:
    """What is in a copy: jobs, facts, sound files."""

    path: Path
    jobs: int
    facts: int
    sounds: int


def backup(store: Store, target: Path) -> Copied:
    """Copy `store` into the new file `target`, with SQLite's online backup, and prove that the copy holds.

    Others may write meanwhile: the copy is the record as it was at one moment. Sounds of notes go into the folder
    beside it. The bay's key is not copied.

    Raises:
        BayError: `target` is there already, belongs to a record, cannot be written, or the copy does not hold.
    """
    if target.exists():
        raise BayError(tell("record-file-is-there-already"), str(target), tell("record-name-new-file"))
    must_not_harm(target, store.path, "--backup")
    part = target.with_name(f".{target.name}.part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        part.unlink(missing_ok=True)
        with store.using() as db, contextlib.closing(sqlite3.connect(part)) as copy:
            db.backup(copy, pages=2000)
            # One file, without companions, that is copied and stored as it is.
            copy.execute("PRAGMA journal_mode = DELETE")
        copied = _prove(part, target)
        with part.open("rb") as handle:
            os.fsync(handle.fileno())
        sounds = _copy_sounds(store.path, target)
        part.replace(target)
        sync_folder(target.parent)
    except (OSError, sqlite3.Error) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise BayError(
            tell("record-copy-cannot-be-written-why", why=why), str(target), tell("record-name-another-file")
        ) from error
    finally:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
    return Copied(target, copied.jobs, copied.facts, sounds)


def restore(source: Path, path: Path) -> Copied:
    """Put the copy `source` where the record `path` is to be. `source` stays as it is.

    Raises:
        BayError: there is a record at `path` already, `source` is none, or it does not hold.
    """
    if path.exists():
        raise BayError(tell("record-record-here-already"), str(path), tell("record-move-away-first-or-give"))
    with Store(source, read_only=True) as store:
        return backup(store, path)


def _prove(part: Path, name: Path) -> Copied:
    with Store(part, read_only=True) as copy:
        if found := copy.verify_all():
            raise BayError(
                tell("record-copy-does-not-hold-found", found=found),
                str(name),
                tell("record-run-audit-of-record-itself"),
            )
        with copy.using() as db:
            facts = int(db.execute("SELECT count(*) FROM facts").fetchone()[0])
        return Copied(name, len(copy.job_names()), facts, 0)


def _copy_sounds(store: Path, target: Path) -> int:
    source = folder_of(store)
    if not source.is_dir():
        return 0
    into = folder_of(target)
    into.mkdir(mode=0o700, exist_ok=True)
    number = 0
    for path in sorted(source.iterdir()):
        if path.is_file() and not path.name.startswith("."):
            shutil.copy2(path, into / path.name)
            number += 1
    return number
