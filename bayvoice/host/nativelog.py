"""Keeping what native audio libraries print off the terminal."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def native_output_to(log: Path | None) -> Iterator[None]:
    """File descriptor 2, where ALSA, JACK and PulseAudio print, goes to the end of `log`; by default nowhere.

    It holds for the whole process, so other threads' error output goes there too while it lasts. Where the log
    cannot be written the output is dropped.
    """
    try:
        kept = os.dup(2)
    except OSError:  # started without standard error: nothing can be scribbled on
        yield
        return
    target = _open(log)
    try:
        if sys.stderr is not None:
            sys.stderr.flush()
        os.dup2(target, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        os.close(target)


def _open(log: Path | None) -> int:
    if log is not None:
        try:
            log.parent.mkdir(parents=True, exist_ok=True)
            return os.open(log, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
        except OSError:
            pass
    return os.open(os.devnull, os.O_WRONLY)
