"""What is personal goes after a time: the sound of notes and the names. The facts stay, and so does their proof."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bayvoice.errors import BayError
from bayvoice.language.texts import tell
from bayvoice.record.chain import read, wall_seconds, wall_text
from bayvoice.record.sounds import find
from bayvoice.record.sqlite import roster
from bayvoice.record.sqlite.heads import attest
from bayvoice.record.sqlite.schema import PEOPLE
from bayvoice.record.sqlite.store import Store

DAY_S = 86_400.0


@dataclass(frozen=True, slots=True)
class Removed:
    """What was taken from one job. `kept_names`: facts of an older format that hold the name itself."""

    job: str
    sounds: int
    names: int
    kept_names: int


@dataclass(frozen=True, slots=True)
class Removal:
    """That something was taken from a job: when, how many sounds and names, and how many facts the job had then.

    `facts` None: written before that was kept.
    """

    wall: float
    sounds: int
    names: int
    facts: int | None = None

    def reaches(self, seq: int) -> bool:
        """Whether fact `seq` was there when this was taken."""
        return self.facts is None or seq <= self.facts


def retain(store: Store, days: int, now: float) -> tuple[Removed, ...]:
    """Take sounds and names from every job whose last fact is more than `days` old; one line for each.

    A job with nothing left to take is not in the answer. Typed text stays as it is, whatever it says.

    Raises:
        BayError: `days` is below 1, a sitting is at such a job, the bay's key cannot be used, or a file cannot be
            removed.
    """
    if days < 1:
        raise BayError(tell("record-sounds-and-names-cannot-be-kept"), str(days), tell("record-give-days-as-1-or-more"))
    done = []
    for job in store.job_names():
        last = _last(store, job)
        if last is None or now - last <= days * DAY_S:
            continue
        with store.lease(job):
            taken = _take(store, job, now)
        if taken.sounds or taken.names:
            done.append(taken)
    done += _take_people(store, days, now)
    with store.using() as db:
        db.execute("DELETE FROM badges WHERE name NOT IN (SELECT name FROM people)")
        # Else the names would still stand in the log beside the file.
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return tuple(done)


def _take_people(store: Store, days: int, now: float) -> list[Removed]:
    """The names of people who are not kept in this bay any more, and were last named more than `days` ago."""
    with store.writing() as db:
        known = {name for (name,) in db.execute("SELECT name FROM people WHERE job = ?", (PEOPLE,))}
        old = [name for name, wall in roster.gone(store).items() if name in known and now - wall > days * DAY_S]
        if not old:
            return []
        db.executemany("DELETE FROM people WHERE job = ? AND name = ?", [(PEOPLE, name) for name in old])
        last = db.execute("SELECT seq, hash FROM facts WHERE job = ? ORDER BY seq DESC LIMIT 1", (PEOPLE,)).fetchone()
        db.execute(
            "INSERT INTO removed (job, wall, sounds, names, facts) VALUES (?, ?, ?, ?, ?)",
            (PEOPLE, wall_text(now), 0, len(old), last[0]),
        )
        attest(db, store.bay_key(), wall_text(now), (PEOPLE, int(last[0]), str(last[1])))
    return [Removed(PEOPLE, 0, len(old), 0)]


def _last(store: Store, job: str) -> float | None:
    last = None
    with store.using() as db:
        row = db.execute("SELECT wall FROM facts WHERE job = ? ORDER BY seq DESC LIMIT 1", (job,)).fetchone()
    with contextlib.suppress(ValueError, TypeError):
        last = wall_seconds(row[0])
    return last


def _take(store: Store, job: str, now: float) -> Removed:
    paths = [path for name in sound_names(store, job) if (path := find(store.path, name)) is not None]
    kept = sum(1 for kind, body in _bodies(store, job) if kind == "sitting_began" and isinstance(body.get("by"), str))
    # The names first and in one transaction with the note of it; a kill in between leaves sounds for the next time.
    with store.writing() as db:
        names = db.execute("SELECT count(*) FROM people WHERE job = ?", (job,)).fetchone()[0]
        if names or paths:
            db.execute("DELETE FROM people WHERE job = ?", (job,))
            last = db.execute("SELECT seq, hash FROM facts WHERE job = ? ORDER BY seq DESC LIMIT 1", (job,)).fetchone()
            db.execute(
                "INSERT INTO removed (job, wall, sounds, names, facts) VALUES (?, ?, ?, ?, ?)",
                (job, wall_text(now), len(paths), names, last[0]),
            )
            # Without the bay's signature anybody could make names disappear in this way.
            attest(db, store.bay_key(), wall_text(now), (job, int(last[0]), str(last[1])))
    for path in paths:
        _remove(path)
    return Removed(job, len(paths), int(names), kept)


def _remove(path: Path) -> None:
    try:
        path.unlink()
    except OSError as error:
        raise BayError(
            tell("record-sound-of-note-cannot-be-removed", strerror=error.strerror),
            str(path),
            tell("record-look-at-rights-of-its-folder"),
        ) from error


def sound_names(store: Store, job: str) -> list[str]:
    """File names of the sounds that the notes of `job` have or had."""
    return [str(body["sound"]) for kind, body in _bodies(store, job) if kind == "noted" and body.get("sound")]


def _bodies(store: Store, job: str) -> Iterator[tuple[str, dict[str, Any]]]:
    for row in store.rows(job):
        if row.kind in ("noted", "sitting_began"):
            with contextlib.suppress(ValueError, RecursionError):
                yield row.kind, read(row).body


def removals(store: Store, job: str) -> tuple[Removal, ...]:
    """What was taken from `job` so far, oldest first."""
    if store.version < 2:
        return ()
    with store.using() as db:
        facts = "facts" if store.version >= 3 else "NULL"
        query = f"SELECT wall, sounds, names, {facts} FROM removed WHERE job = ? ORDER BY rowid"
        rows = db.execute(query, (job,)).fetchall()
    found = []
    for wall, sounds, names, size in rows:
        with contextlib.suppress(ValueError, TypeError):
            found.append(Removal(wall_seconds(wall), int(sounds), int(names), None if size is None else int(size)))
    return tuple(found)
