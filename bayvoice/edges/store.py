"""The bay's record: one SQLite file, facts only ever added, on the disk before anyone says "logged"."""

from __future__ import annotations

import contextlib
import os
import sqlite3
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import platformdirs

from bayvoice.core.effects import Fact
from bayvoice.edges.chain import FIRST, Fault, Row, fault, read, write
from bayvoice.edges.joblock import JobLock
from bayvoice.errors import BayError
from bayvoice.report.joblines import JobLine, job_line

__all__ = ["FORMAT", "Fault", "JobLine", "Store", "default_path"]

APPLICATION: Final = 0x42617956
"""SQLite `application_id` of our files, the letters "BayV"."""

FORMAT: Final = 1
"""SQLite `user_version`: version of the tables below."""

_SCHEMA: Final = f"""
CREATE TABLE facts (
  id   INTEGER PRIMARY KEY AUTOINCREMENT,
  job  TEXT NOT NULL,
  seq  INTEGER NOT NULL,
  wall TEXT NOT NULL,
  kind TEXT NOT NULL,
  body TEXT NOT NULL,
  prev TEXT NOT NULL,
  hash TEXT NOT NULL,
  UNIQUE (job, seq)
);
CREATE TRIGGER facts_in_order BEFORE INSERT ON facts
  WHEN NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM facts WHERE job = NEW.job)
    OR EXISTS (SELECT 1 FROM facts WHERE id = NEW.id)
  BEGIN SELECT RAISE(ABORT, 'facts are only added at the end'); END;
CREATE TRIGGER facts_unchanged BEFORE UPDATE ON facts
  BEGIN SELECT RAISE(ABORT, 'facts are never changed'); END;
CREATE TRIGGER facts_kept BEFORE DELETE ON facts
  BEGIN SELECT RAISE(ABORT, 'facts are never taken out'); END;
PRAGMA application_id = {APPLICATION};
PRAGMA user_version = {FORMAT};
"""

_COLUMNS: Final = "seq, wall, kind, body, prev, hash"

# SQLite primary result code -> what is wrong, how to mend it (codes: sqlite.org/rescode.html).
_MEANING: Final[dict[int, tuple[str, str]]] = {
    sqlite3.SQLITE_NOTADB: ("this is not a job record", "give another --store, or move the file away"),
    sqlite3.SQLITE_CORRUPT: ("the record is damaged", "keep the file as it is and go on in another --store"),
    sqlite3.SQLITE_CANTOPEN: ("the record cannot be opened", "look at the rights of the file and its folder"),
    sqlite3.SQLITE_PERM: ("the record may not be opened", "look at the rights of the file and its folder"),
    sqlite3.SQLITE_AUTH: ("the record may not be opened", "look at the rights of the file and its folder"),
    sqlite3.SQLITE_READONLY: ("the record cannot be written to", "look at the rights of the file and its folder"),
    sqlite3.SQLITE_BUSY: ("another program holds the record", "close it there and try again"),
    sqlite3.SQLITE_LOCKED: ("another program holds the record", "close it there and try again"),
    sqlite3.SQLITE_FULL: ("the disk is full, nothing more was kept", "make room and try again"),
    sqlite3.SQLITE_IOERR: ("the disk did not take or give the record", "look at the disk and its free room"),
}


def default_path() -> Path:
    """Where this bay's record is unless another place is named."""
    return platformdirs.user_data_path("bayvoice") / "bay.sqlite"


class Store:
    """An open record.

    Args:
        path: the file; made, with its folder, where it is absent. None: `default_path()`.
        read_only: only look; the file must exist. Several readers do not disturb the one who writes.
        patience_s: how long to wait for another program that is writing just now.

    Every failure is a BayError. Calls from several threads queue up. Also a context manager.
    """

    def __init__(self, path: Path | str | None = None, *, read_only: bool = False, patience_s: float = 5.0) -> None:
        self.path = default_path() if path is None else Path(path)
        self.read_only = read_only
        self._patience_s = patience_s
        self._guard = threading.RLock()
        self._locks: dict[str, JobLock] = {}
        self._prepare_place()
        with self._clear_errors():
            self._db = self._connect("mode=ro" if read_only else "mode=rwc")
        try:
            with self._clear_errors():
                self._begin_use()
        except BayError:
            self._db.close()
            raise

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # opening

    def _prepare_place(self) -> None:
        try:
            if "\0" in str(self.path):
                raise ValueError("a name cannot hold a zero byte")
            if self.path.is_dir() or (self.path.exists() and not self.path.is_file()):
                raise BayError("this is not a file", str(self.path), "give the name of a file as --store")
            if self.read_only:
                if not self.path.exists():
                    raise BayError(
                        "there is no job record here", str(self.path), "begin a job, or give another --store"
                    )
                return
            self.path.parent.mkdir(parents=True, exist_ok=True)
        except (OSError, ValueError) as error:
            why = getattr(error, "strerror", None) or str(error)
            raise BayError(
                f"the record cannot be opened ({why})", repr(str(self.path))[1:-1], "give another --store"
            ) from error

    def _connect(self, mode: str) -> sqlite3.Connection:
        uri = f"{self.path.absolute().as_uri()}?{mode}"
        db = sqlite3.connect(uri, uri=True, timeout=self._patience_s, isolation_level=None, check_same_thread=False)
        # A damaged text is read as far as it goes, so that the audit can name the fact it stands in.
        db.text_factory = lambda raw: raw.decode("utf-8", "replace")
        return db

    def _begin_use(self) -> None:
        if self.read_only:
            self._open_to_read()
            return
        fresh = self._identify()
        self._set_up_writing()
        # Asks for the right to write, so that a file that only lets itself be read says so now.
        self._db.execute("BEGIN IMMEDIATE")
        if fresh and self._identify():
            for statement in _statements(_SCHEMA):
                self._db.execute(statement)
            self._db.execute("COMMIT")
            self._sync_folder()
        else:
            self._db.execute("ROLLBACK")

    def _open_to_read(self) -> None:
        try:
            fresh = self._identify()
        except sqlite3.OperationalError as error:
            # On a read-only medium the files beside the database cannot be made; without a -wal none is needed.
            beside = self.path.with_name(self.path.name + "-wal")
            if _primary(error) not in (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY) or beside.exists():
                raise
            self._db.close()
            self._db = self._connect("mode=ro&immutable=1")
            fresh = self._identify()
        if fresh:
            raise BayError(
                "there is no job record in this file", str(self.path), "begin a job, or give another --store"
            )

    def _identify(self) -> bool:
        """True where the file is new; BayError where it is somebody else's or of a later format."""
        application, version, tables = (
            int(self._db.execute(query).fetchone()[0])
            for query in ("PRAGMA application_id", "PRAGMA user_version", "SELECT count(*) FROM sqlite_master")
        )
        if (application, version, tables) == (0, 0, 0):
            return True
        if application != APPLICATION:
            raise BayError("this is another program's database", str(self.path), "give another --store")
        if version > FORMAT:
            raise BayError(
                f"the record has format {version}, this bayvoice knows up to {FORMAT}",
                str(self.path),
                "update bayvoice",
            )
        return False

    def _set_up_writing(self) -> None:
        until = time.monotonic() + self._patience_s
        while True:
            try:
                # Changing the mode does not wait by itself for another program that does the same.
                mode = self._db.execute("PRAGMA journal_mode = WAL").fetchone()[0]
                break
            except sqlite3.OperationalError as error:
                if _primary(error) != sqlite3.SQLITE_BUSY or time.monotonic() > until:
                    raise
                time.sleep(0.02)
        if mode != "wal":
            raise BayError("the disk cannot hold a record safely", str(self.path), "give a --store on a local disk")
        self._db.execute("PRAGMA synchronous = FULL")
        self._db.execute("PRAGMA fullfsync = ON")

    def _sync_folder(self) -> None:
        # A new file survives a power cut only when its folder entry is on the disk too.
        with contextlib.suppress(OSError):
            handle = os.open(self.path.parent, os.O_RDONLY)
            try:
                os.fsync(handle)
            finally:
                os.close(handle)

    # writing

    def claim(self, job: str, by: str = "") -> None:
        """Take the right to write `job` until `close`; BayError where another sitting has it."""
        with self._guard:
            _check_name(job)
            if self.read_only:
                raise BayError("the record was opened for reading only", str(self.path), "open it for writing")
            if job not in self._locks:
                self._locks[job] = JobLock(self.path, job, by)

    def append(self, job: str, fact: Fact) -> None:
        """Put `fact` on the disk; it is there when this returns. Claims the job if that was not done before.

        BayError where it could not be kept: then nothing of it is in the record, and the same call may be made again.
        """
        with self._guard, self._clear_errors():
            self.claim(job)
            self._db.execute("BEGIN IMMEDIATE")
            try:
                last, prev = self._end(job)
                if fact.seq != last + 1:
                    raise BayError(
                        f"fact {fact.seq} was to be kept, but fact {last + 1} comes next",
                        f"job {job}",
                        "take the job up again",
                    )
                row = write(job, fact, prev)
                self._db.execute(
                    f"INSERT INTO facts (job, {_COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?)",
                    (job, row.seq, row.wall, row.kind, row.body, row.prev, row.hash),
                )
                self._db.execute("COMMIT")
            except BaseException:
                with contextlib.suppress(sqlite3.Error):
                    if self._db.in_transaction:
                        self._db.execute("ROLLBACK")
                raise

    def _end(self, job: str) -> tuple[int, str]:
        found = self._db.execute(
            "SELECT seq, hash FROM facts WHERE job = ? ORDER BY seq DESC LIMIT 1", (job,)
        ).fetchone()
        if found is None:
            return 0, FIRST
        if not isinstance(found[0], int) or not isinstance(found[1], str):
            raise BayError(f"the last fact of job {job} is damaged", str(self.path), "go on in another --store")
        return found[0], found[1]

    # reading

    def job_names(self) -> list[str]:
        """Names of all jobs, the one begun first first."""
        with self._guard, self._clear_errors():
            return [str(name) for (name,) in self._db.execute("SELECT job FROM facts GROUP BY job ORDER BY min(id)")]

    def facts(self, job: str) -> list[Fact]:
        """All facts of `job` in order; none where there is no such job. BayError where one cannot be read."""
        with self._guard, self._clear_errors():
            rows = self._rows(job)
        found = []
        for row in rows:
            try:
                found.append(read(row))
            except (ValueError, RecursionError) as error:
                raise BayError(
                    f"fact {len(found) + 1} of job {job} cannot be read", str(self.path), "run the audit of this job"
                ) from error
        return found

    def jobs(self) -> list[JobLine]:
        """One line a job, the one begun last first."""
        lines = []
        for name in reversed(self.job_names()):
            try:
                lines.append(job_line(name, self.facts(name)))
            except BayError:
                # One job that cannot be read must not hide the others.
                lines.append(JobLine(name, "", "", "", 0.0, 0.0, "damaged", 0, 0, 0))
        return lines

    def verify(self, job: str) -> Fault | None:
        """The first fact of `job` that does not hold, None where all do.

        A chain cannot show that its own end was cut off; `verify_file` counts the whole file.
        """
        with self._guard, self._clear_errors():
            rows = self._rows(job)
        prev = FIRST
        for number, row in enumerate(rows, 1):
            if found := fault(job, row, number, prev):
                return found
            prev = row.hash
        return None

    def verify_all(self) -> Fault | None:
        """The first fault of any job, else of the file."""
        for job in self.job_names():
            if found := self.verify(job):
                return found
        return self.verify_file()

    def verify_file(self) -> Fault | None:
        """What is wrong with the file as a whole (job "", fact 0): its pages and index, facts that were taken out."""
        with self._guard, self._clear_errors():
            state = self._db.execute("PRAGMA integrity_check(1)").fetchone()[0]
            count = self._db.execute("SELECT count(*) FROM facts NOT INDEXED").fetchone()[0]
            wrote = self._db.execute("SELECT max(seq) FROM sqlite_sequence WHERE name = 'facts'").fetchone()[0] or 0
        if state != "ok":
            return Fault("", 0, f"the file is damaged ({' '.join(str(state).split())})")
        if count != wrote:
            return Fault("", 0, f"{wrote} facts were written into this file and {count} are here")
        return None

    def _rows(self, job: str) -> list[Row]:
        query = f"SELECT {_COLUMNS} FROM facts WHERE job = ? ORDER BY seq"
        return [_row(values) for values in self._db.execute(query, (job,))]

    def close(self) -> None:
        """Close the file and give back the jobs. May be called twice."""
        with self._guard, contextlib.suppress(sqlite3.Error):
            for lock in self._locks.values():
                lock.release()
            self._locks.clear()
            self._db.close()

    @contextlib.contextmanager
    def _clear_errors(self) -> Iterator[None]:
        try:
            yield
        except sqlite3.Error as error:
            what, mend = _MEANING.get(_primary(error), (f"the record does not work ({error})", "run the audit"))
            raise BayError(what, str(self.path), mend) from error
        except UnicodeDecodeError as error:
            # Python cannot read SQLite's own message, because it quotes a damaged schema.
            what, mend = _MEANING[sqlite3.SQLITE_CORRUPT]
            raise BayError(what, str(self.path), mend) from error


def _statements(script: str) -> Iterator[str]:
    """Statements of `script` one by one: `executescript` would commit in between."""
    statement = ""
    for line in script.splitlines():
        statement += line + "\n"
        if sqlite3.complete_statement(statement):
            yield statement
            statement = ""


def _primary(error: sqlite3.Error) -> int:
    code: int = getattr(error, "sqlite_errorcode", None) or 0
    return code & 0xFF


def _row(values: tuple[Any, ...]) -> Row:
    seq, *texts = values
    if not isinstance(seq, int):
        seq = -1
    return Row(seq, *(text if isinstance(text, str) else "" for text in texts))


def _check_name(job: str) -> None:
    if not job or len(job) > 200 or not job.isprintable():
        raise BayError(
            "a job's name must have 1 to 200 printable characters", f"job {job[:50]!r}", "give another --job"
        )
