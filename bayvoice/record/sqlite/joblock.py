"""One sitting at a time may write a job, in this process or another."""

from __future__ import annotations

import contextlib
import errno
import fcntl
import hashlib
import json
import os
import threading
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from bayvoice.errors import BayError
from bayvoice.language.texts import tell

# Record locks are held by processes, so within one process this set decides. They are used all the same, because
# unlike flock they are not handed on to a forked child that outlives a killed sitting.
_HELD: Final[dict[Path, str]] = {}
_HELD_GUARD: Final = threading.Lock()


class JobLock:
    """The right to write `job` of the record `store`, held from construction to `release`.

    It is a lock on a small file beside the record that names the holder; the lock, not the file, counts, so a sitting
    that was killed leaves nothing that has to be cleared away. BayError where another sitting holds it.
    """

    def __init__(self, store: Path, job: str, by: str) -> None:
        self._job = job
        self._held = False
        name = hashlib.sha256(job.encode("utf-8", "surrogatepass")).hexdigest()[:16]
        path = store.resolve()
        self._path = path.with_name(f"{path.name}.{name}.lock")
        since = datetime.now().isoformat(sep=" ", timespec="minutes")
        holder = json.dumps({"job": job, "by": by, "pid": os.getpid(), "since": since})
        with _HELD_GUARD:
            if self._path in _HELD:
                raise _taken(job, _HELD[self._path])
            self._handle = self._lock(holder)
            _HELD[self._path] = holder
            self._held = True

    def _lock(self, holder: str) -> int:
        while True:
            try:
                handle = os.open(self._path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o666)
            except OSError as error:
                raise self._refused(error) from error
            try:
                fcntl.lockf(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
                if not self._still_there(handle):
                    os.close(handle)
                    continue
                # What the file says is a courtesy to who is refused; a full disk must not stop the sitting here.
                with contextlib.suppress(OSError):
                    os.ftruncate(handle, 0)
                    os.pwrite(handle, holder.encode(), 0)
                return handle
            except OSError as error:
                said = b""
                with contextlib.suppress(OSError):
                    said = os.pread(handle, 4096, 0)
                os.close(handle)
                if error.errno in (errno.EACCES, errno.EAGAIN):
                    raise _taken(self._job, said.decode("utf-8", "replace")) from error
                raise self._refused(error) from error

    def _still_there(self, handle: int) -> bool:
        """Whether the locked file is still the one under that name: the last holder takes it away as it leaves."""
        try:
            there = self._path.stat()
        except OSError:
            return False
        mine = os.fstat(handle)
        return (mine.st_dev, mine.st_ino) == (there.st_dev, there.st_ino)

    def _refused(self, error: OSError) -> BayError:
        return BayError(
            tell("record-job-cannot-be-reserved-for-sitting", strerror=error.strerror),
            str(self._path),
            tell("record-look-at-rights-of-folder"),
        )

    def release(self) -> None:
        """Give the job back. May be called twice."""
        with _HELD_GUARD:
            if not self._held:
                return
            self._held = False
            _HELD.pop(self._path, None)
            with contextlib.suppress(OSError):
                self._path.unlink()
            os.close(self._handle)


def _taken(job: str, holder: str) -> BayError:
    said: Any = None
    with contextlib.suppress(ValueError):
        said = json.loads(holder)
    if not isinstance(said, dict):
        said = {}
    keys = {"by": "record-sitting-by", "since": "record-sitting-since", "pid": "record-sitting-process"}
    more = "".join(tell(key, said=said[name]) for name, key in keys.items() if said.get(name))
    return BayError(
        tell("record-another-sitting", more=more),
        tell("record-job", job=job),
        tell("record-end-sitting-or-begin-another"),
    )
