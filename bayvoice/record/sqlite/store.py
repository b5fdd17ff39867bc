"""The bay's record: one SQLite file, facts only ever added, on the disk before anyone says "logged"."""

from __future__ import annotations

import contextlib
import sqlite3
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from bayvoice.errors import BayError
from bayvoice.job.facts import Fact, upward
from bayvoice.language.texts import tell
from bayvoice.record.baykey import BayKey, load_key
from bayvoice.record.chain import FIRST, Fault, Row, fault, read, wall_text, write
from bayvoice.record.sqlite import heads, people
from bayvoice.record.sqlite.joblock import JobLock
from bayvoice.record.sqlite.people import Names
from bayvoice.record.sqlite.recordfile import RecordFile, default_path
from bayvoice.record.sqlite.schema import APPLICATION, FORMAT, PEOPLE

__all__ = ["APPLICATION", "FORMAT", "Fault", "Store", "default_path"]

_COLUMNS: Final = "seq, wall, kind, body, prev, hash"

_AT_ONCE: Final = 2000
"""Rows fetched in one go: a long job is read in pieces, so that others get their turn."""


class Store(RecordFile):
    """An open record; see `RecordFile` for how it is opened. Calls from several threads queue up.

    What ends or signs something is kept together with the bay's signature (`bayvoice.record.sqlite.heads`). Work does
    not stop for want of a key: the facts are kept, and the audit says from where on they are unsigned.
    """

    def __init__(self, path: Path | str | None = None, *, read_only: bool = False, patience_s: float = 5.0) -> None:
        self._locks: dict[str, JobLock] = {}
        self._key: BayKey | None = None
        super().__init__(path, read_only=read_only, patience_s=patience_s)

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # writing

    def claim(self, job: str, by: str = "") -> None:
        """Take the right to write `job` until `close`; BayError where another sitting has it, or the job is sealed."""
        with self._guard:
            _check_name(job)
            self._must_write()
            if job not in self._locks:
                self._locks[job] = JobLock(self.path, job, by)
                if self.sealed(job):
                    self._locks.pop(job).release()
                    raise _sealed(job)

    @contextlib.contextmanager
    def lease(self, job: str) -> Iterator[None]:
        """The right to `job`, sealed or not, for the length of a block; BayError where a sitting has it."""
        with self._guard:
            self._must_write()
            if job in self._locks:
                yield
                return
            lock = JobLock(self.path, job, "")
            try:
                yield
            finally:
                lock.release()

    def append(self, job: str, fact: Fact) -> None:
        """Put `fact` on the disk; it is there when this returns. Claims the job if that was not done before.

        BayError where it could not be kept: then nothing of it is in the record, and the same call may be made again.
        """
        with self._guard:
            self.claim(job)
            with self.writing() as db:
                if self.sealed(job):
                    raise _sealed(job)
                last, prev = self._end(job)
                if fact.seq != last + 1:
                    raise BayError(
                        tell("record-fact-seq-was-to-be-kept", seq=fact.seq, last=last + 1),
                        tell("record-job", job=job),
                        tell("record-take-job-up-again"),
                    )
                row = write(job, replace(fact, body=people.hide(db, job, fact.kind, fact.body)), prev)
                db.execute(
                    f"INSERT INTO facts (job, {_COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?)",
                    (job, row.seq, row.wall, row.kind, row.body, row.prev, row.hash),
                )
                self._attest(db, job, row)

    def _attest(self, db: sqlite3.Connection, job: str, row: Row) -> None:
        """Sign with the bay's key what the record holds with `row`, where it ends or signs something."""
        if row.kind in heads.SIGNED:
            with contextlib.suppress(BayError):
                heads.attest(db, self.bay_key(), row.wall, (job, row.seq, row.hash))

    def bay_key(self) -> BayKey:
        """The key this bay signs with; BayError where it cannot be used."""
        if self._key is None:
            self._key = load_key()
        return self._key

    def lifted(self, version: int) -> None:
        """Sign what an older file holds as it is lifted: from here on the bay signs."""
        with contextlib.suppress(BayError):
            heads.attest(self.db, self.bay_key(), wall_text(time.time()), lifted=version)

    def add(self, job: str, wall: float, kind: str, **body: Any) -> Fact:
        """Append a fact that comes next, outside a sitting: what the foreman says of a job. BayError as `append`."""
        with self._guard:
            self.claim(job)
            with self.using():
                last, _ = self._end(job)
            fact = Fact(last + 1, wall, kind, upward(kind, body))
            self.append(job, fact)
            return fact

    def add_of_people(self, db: sqlite3.Connection, wall: float, kind: str, body: dict[str, Any]) -> None:
        """The next fact on the people of the bay; inside a transaction of `writing`, which the caller holds.

        No sitting owns that chain: whoever adds to it reads it and writes in one transaction.
        """
        last, prev = self._end(PEOPLE)
        row = write(PEOPLE, Fact(last + 1, wall, kind, people.hide(db, PEOPLE, kind, body)), prev)
        db.execute(
            f"INSERT INTO facts (job, {_COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?)",
            (PEOPLE, row.seq, row.wall, row.kind, row.body, row.prev, row.hash),
        )
        self._attest(db, PEOPLE, row)

    def _end(self, job: str) -> tuple[int, str]:
        found = self.db.execute(
            "SELECT seq, hash FROM facts WHERE job = ? ORDER BY seq DESC LIMIT 1", (job,)
        ).fetchone()
        if found is None:
            return 0, FIRST
        if not isinstance(found[0], int) or not isinstance(found[1], str):
            raise BayError(
                tell("record-last-fact-of-job-is-damaged", job=job),
                str(self.path),
                tell("record-go-on-in-another-store"),
            )
        return found[0], found[1]

    # reading

    def job_names(self) -> list[str]:
        """Names of all jobs, the one begun first first."""
        with self.using() as db:
            query = "SELECT job FROM facts WHERE job <> ? GROUP BY job ORDER BY min(id)"
            return [str(name) for (name,) in db.execute(query, (PEOPLE,))]

    def ends(self) -> dict[str, int]:
        """Number of the last fact of every job, the one begun first first."""
        with self.using() as db:
            query = "SELECT job, max(seq) FROM facts WHERE job <> ? GROUP BY job ORDER BY min(id)"
            found = db.execute(query, (PEOPLE,)).fetchall()
        return {str(name): int(seq) for name, seq in found}

    def data_version(self) -> int:
        """A number that is another one once somebody else has written to the file (SQLite's `data_version`)."""
        with self.using() as db:
            return int(db.execute("PRAGMA data_version").fetchone()[0])

    def has(self, job: str) -> bool:
        """Whether there is such a job."""
        with self.using() as db:
            found = db.execute("SELECT 1 FROM facts WHERE job = ? LIMIT 1", (job,)).fetchone()
        return found is not None and job != PEOPLE

    def open_jobs(self) -> list[tuple[str, dict[str, Any]]]:
        """(name, body of the first fact) of every job that is not done, or was returned after it was, oldest first.

        Looks at the kinds of fact only, so it is quick however many facts the record holds.
        """
        query = """
            SELECT f.job, f.seq, f.wall, f.kind, f.body, f.prev, f.hash FROM facts f WHERE f.seq = 1 AND f.job <> ?
            AND coalesce((SELECT max(seq) FROM facts WHERE job = f.job AND kind = 'job_done'), 0)
             <= coalesce((SELECT max(seq) FROM facts WHERE job = f.job AND kind = 'returned'), 0)
            ORDER BY f.id
        """
        found = []
        with self.using() as db:
            for name, *values in db.execute(query, (PEOPLE,)).fetchall():
                with contextlib.suppress(ValueError, RecursionError):
                    found.append((str(name), read(_row(tuple(values))).body))
        return found

    def sealed(self, job: str) -> bool:
        """Whether the job was closed with a signature."""
        if self.version < 2:
            return False
        with self.using() as db:
            return db.execute("SELECT 1 FROM seals WHERE job = ?", (job,)).fetchone() is not None

    def names(self, job: str, badges: bool = False) -> Names:
        """Who is who in `job`; `badges`: by badge number."""
        with self.using() as db:
            return people.names_of(db, job, self.version, badges)

    def facts(self, job: str, badges: bool = False) -> list[Fact]:
        """All facts of `job` in order, as today's version writes them; none where there is no such job.

        Names stand where the facts hold tokens, or badge numbers; what an older format did not write is filled in.

        Raises:
            BayError: a fact cannot be read.
        """
        names = self.names(job, badges)
        found: list[Fact] = []
        for row in self.rows(job):
            try:
                fact = read(row)
            except (ValueError, RecursionError) as error:
                raise BayError(
                    tell("record-fact-of-job-cannot-be-read", count=len(found) + 1, job=job),
                    str(self.path),
                    tell("record-run-audit-of-job"),
                ) from error
            found.append(replace(fact, body=upward(fact.kind, names.show(fact.kind, fact.body))))
        return found

    def rows(self, job: str) -> Iterator[Row]:
        """The facts of `job` as they are stored, in order; read piece by piece."""
        query = f"SELECT {_COLUMNS} FROM facts WHERE job = ? AND seq > ? ORDER BY seq LIMIT {_AT_ONCE}"
        last: Any = float("-inf")
        while True:
            with self.using() as db:
                values = db.execute(query, (job, last)).fetchall()
            yield from map(_row, values)
            if len(values) < _AT_ONCE or values[-1][0] == last:
                return
            last = values[-1][0]

    def verify(self, job: str) -> Fault | None:
        """The first fact of `job` that does not hold, None where all do.

        A chain cannot show that its own end was cut off; `verify_file` counts the whole file.
        """
        prev = FIRST
        for number, row in enumerate(self.rows(job), 1):
            if found := fault(job, row, number, prev):
                return found
            prev = row.hash
        return None

    def verify_all(self) -> Fault | None:
        """The first fault of any job or of the people of the bay, else of the file."""
        for job in (*self.job_names(), PEOPLE):
            if found := self.verify(job):
                return found
        return self.verify_file()

    def verify_file(self) -> Fault | None:
        """What is wrong with the file as a whole (job "", fact 0): its pages and index, facts that were taken out."""
        with self.using() as db:
            state = db.execute("PRAGMA integrity_check(1)").fetchone()[0]
            count = db.execute("SELECT count(*) FROM facts NOT INDEXED").fetchone()[0]
            wrote = db.execute("SELECT max(seq) FROM sqlite_sequence WHERE name = 'facts'").fetchone()[0] or 0
        if state != "ok":
            return Fault("", 0, tell("record-file-is-damaged", split=" ".join(str(state).split())))
        if count != wrote:
            return Fault("", 0, tell("record-wrote-facts-were-written-into", wrote=wrote, count=count))
        return None

    def close(self) -> None:
        """Close the file and give back the jobs. May be called twice."""
        with self._guard:
            for lock in self._locks.values():
                lock.release()
            self._locks.clear()
            super().close()


def _row(values: tuple[Any, ...]) -> Row:
    seq, *texts = values
    if not isinstance(seq, int):
        seq = -1
    return Row(seq, *(text if isinstance(text, str) else "" for text in texts))


def _sealed(job: str) -> BayError:
    return BayError(
        tell("record-job-is-sealed-nothing-more"), tell("record-job", job=job), tell("record-begin-another-job")
    )


def _check_name(job: str) -> None:
    if job == PEOPLE:
        raise BayError(
            tell("record-no-job-can-have-name"), tell("record-job", job=f"{job!r}"), tell("record-give-another-job")
        )
    if not job or len(job) > 200 or not job.isprintable():
        raise BayError(
            tell("record-jobs-name-must-have-1"),
            tell("record-job", job=f"{job[:50]!r}"),
            tell("record-give-another-job"),
        )
