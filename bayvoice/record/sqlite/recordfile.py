"""The record's file: opened or refused in one clear sentence. What is written into it is the store's."""

from __future__ import annotations

import contextlib
import sqlite3
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import platformdirs

from bayvoice.errors import BayError
from bayvoice.host.writing import sync_folder
from bayvoice.language.texts import tell
from bayvoice.record.sqlite import schema
from bayvoice.record.sqlite.schema import APPLICATION, FORMAT

# SQLite primary result code -> keys of what is wrong and how to mend it (codes: sqlite.org/rescode.html).
_MEANING: Final[dict[int, tuple[str, str]]] = {
    sqlite3.SQLITE_NOTADB: ("record-is-not-job-record", "record-give-another-store-or-move"),
    sqlite3.SQLITE_CORRUPT: ("record-record-is-damaged", "record-keep-file-as-is-and-go"),
    sqlite3.SQLITE_CANTOPEN: ("record-record-cannot-be-opened", "record-look-at-rights-of-file"),
    sqlite3.SQLITE_PERM: ("record-record-may-not-be-opened", "record-look-at-rights-of-file"),
    sqlite3.SQLITE_AUTH: ("record-record-may-not-be-opened", "record-look-at-rights-of-file"),
    sqlite3.SQLITE_READONLY: ("record-record-cannot-be-written-to", "record-look-at-rights-of-file"),
    sqlite3.SQLITE_BUSY: ("record-another-program-holds-record", "record-close-and-try-again"),
    sqlite3.SQLITE_LOCKED: ("record-another-program-holds-record", "record-close-and-try-again"),
    sqlite3.SQLITE_FULL: ("record-disk-is-full-nothing-more", "record-make-room-and-try-again"),
    sqlite3.SQLITE_IOERR: ("record-disk-did-not-take-or-give", "record-look-at-disk-and-free"),
}


def default_path() -> Path:
    """Where this bay's record is unless another place is named."""
    return platformdirs.user_data_path("bayvoice") / "bay.sqlite"


class RecordFile:
    """An open file of the record.

    Args:
        path: the file; made, with its folder, where it is absent. None: `default_path()`.
        read_only: only look; the file must exist. Several readers do not disturb the one who writes.
        patience_s: how long to wait for another program that is writing just now.

    Attributes:
        db: the connection; only used within `using()`.
        version: the format of the file, see `bayvoice.record.sqlite.schema`. An older file that is opened for writing
            is lifted to today's format; one that is only read stays as it is.

    Every failure is a BayError. Also a context manager.
    """

    def __init__(self, path: Path | str | None = None, *, read_only: bool = False, patience_s: float = 5.0) -> None:
        self.path = default_path() if path is None else Path(path)
        self.read_only = read_only
        self.version = FORMAT
        self._patience_s = patience_s
        self._guard = threading.RLock()
        self._prepare_place()
        with self._clear_errors():
            self.db = self._connect("mode=ro" if read_only else "mode=rwc")
        try:
            with self._clear_errors():
                self._begin_use()
        except BayError:
            self.db.close()
            raise

    @contextlib.contextmanager
    def using(self) -> Iterator[sqlite3.Connection]:
        """The connection, for one thread at a time; what SQLite reports becomes a BayError."""
        with self._guard, self._clear_errors():
            yield self.db

    @contextlib.contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """A transaction that is kept as a whole when the block ends, or not at all."""
        with self.using() as db:
            self._must_write()
            db.execute("BEGIN IMMEDIATE")
            try:
                yield db
                db.execute("COMMIT")
            except BaseException:
                with contextlib.suppress(sqlite3.Error):
                    if db.in_transaction:
                        db.execute("ROLLBACK")
                raise

    def lifted(self, version: int) -> None:
        """An older file, of format `version`, has been lifted in the transaction that is open now."""

    def _must_write(self) -> None:
        if self.read_only:
            raise BayError(
                tell("record-record-was-opened-for-reading"), str(self.path), tell("record-open-for-writing")
            )

    def close(self) -> None:
        """Close the file. May be called twice."""
        with self._guard, contextlib.suppress(sqlite3.Error):
            self.db.close()

    def _prepare_place(self) -> None:
        try:
            if "\0" in str(self.path):
                raise ValueError(tell("record-name-cannot-hold-zero-byte"))
            if self.path.is_dir() or (self.path.exists() and not self.path.is_file()):
                raise BayError(tell("record-is-not-file"), str(self.path), tell("record-give-name-of-file-as-store"))
            if self.read_only:
                if not self.path.exists():
                    raise BayError(
                        tell("record-no-job-record-here"), str(self.path), tell("record-begin-job-or-give-another")
                    )
                return
            self.path.parent.mkdir(parents=True, exist_ok=True)
        except (OSError, ValueError) as error:
            why = getattr(error, "strerror", None) or str(error)
            raise BayError(
                tell("record-record-cannot-be-opened-why", why=why),
                repr(str(self.path))[1:-1],
                tell("record-give-another-store"),
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
        self._identify()
        self._set_up_writing()
        # Asks for the right to write, so that a file that only lets itself be read says so now.
        self.db.execute("BEGIN IMMEDIATE")
        try:
            # Asked again: another program may have made or lifted the file meanwhile.
            if self._identify():
                schema.make(self.db)
            elif self.version < FORMAT:
                schema.lift(self.db, self.version)
                self.lifted(self.version)
            self.db.execute("COMMIT")
        except BaseException:
            with contextlib.suppress(sqlite3.Error):
                if self.db.in_transaction:
                    self.db.execute("ROLLBACK")
            raise
        self.version = FORMAT
        sync_folder(self.path.parent)

    def _open_to_read(self) -> None:
        try:
            fresh = self._identify()
        except sqlite3.OperationalError as error:
            # On a read-only medium the files beside the database cannot be made; without a -wal none is needed.
            beside = self.path.with_name(self.path.name + "-wal")
            if _primary(error) not in (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY) or beside.exists():
                raise
            self.db.close()
            self.db = self._connect("mode=ro&immutable=1")
            fresh = self._identify()
        if fresh:
            raise BayError(
                tell("record-no-job-record-in-file"), str(self.path), tell("record-begin-job-or-give-another")
            )

    def _identify(self) -> bool:
        """True where the file is new; BayError where it is somebody else's or of a later format."""
        application, version, tables = (
            int(self.db.execute(query).fetchone()[0])
            for query in ("PRAGMA application_id", "PRAGMA user_version", "SELECT count(*) FROM sqlite_master")
        )
        if (application, version, tables) == (0, 0, 0):
            return True
        if application != APPLICATION:
            raise BayError(tell("record-another-programs-database"), str(self.path), tell("record-give-another-store"))
        if version > FORMAT:
            raise BayError(
                tell("record-record-has-format-version-bayvoice", version=version, format=FORMAT),
                str(self.path),
                tell("record-update-bayvoice"),
            )
        self.version = version
        return False

    def _set_up_writing(self) -> None:
        until = time.monotonic() + self._patience_s
        while True:
            try:
                # Changing the mode does not wait by itself for another program that does the same.
                mode = self.db.execute("PRAGMA journal_mode = WAL").fetchone()[0]
                break
            except sqlite3.OperationalError as error:
                if _primary(error) != sqlite3.SQLITE_BUSY or time.monotonic() > until:
                    raise
                time.sleep(0.02)
        if mode != "wal":
            raise BayError(
                tell("record-disk-cannot-hold-record-safely"), str(self.path), tell("record-give-store-on-local-disk")
            )
        self.db.execute("PRAGMA synchronous = FULL")
        self.db.execute("PRAGMA fullfsync = ON")
        # What is taken out on purpose, names and their salts, leaves no trace in the free room of the file.
        self.db.execute("PRAGMA secure_delete = ON")

    @contextlib.contextmanager
    def _clear_errors(self) -> Iterator[None]:
        try:
            yield
        except sqlite3.Error as error:
            what, mend = _MEANING.get(_primary(error), ("record-record-does-not-work", "record-run-audit"))
            raise BayError(tell(what, error=error), str(self.path), tell(mend)) from error
        except UnicodeDecodeError as error:
            # Python cannot read SQLite's own message, because it quotes a damaged schema.
            what, mend = _MEANING[sqlite3.SQLITE_CORRUPT]
            raise BayError(tell(what), str(self.path), tell(mend)) from error


def _primary(error: sqlite3.Error) -> int:
    code: int = getattr(error, "sqlite_errorcode", None) or 0
    return code & 0xFF
