"""Notes between core, microphone and disk: what the core asks for, the ears' thread records and keeps."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path

import numpy as np

from bayvoice.dialogue.engine.events import Event, NoteTaken, Stamp
from bayvoice.ears.base import Samples
from bayvoice.ears.notetaker import NoteTaker
from bayvoice.errors import BayError
from bayvoice.record import sounds


class Noting:
    """`begin` and `end` are called by the hub's thread, `feed` by the thread that has the microphone.

    Args:
        store: the record whose folder of sounds takes them.
        put: hands an event over to the hub; now: the present moment.
    """

    def __init__(self, store: Path, put: Callable[[Callable[[], Event]], None], now: Callable[[], Stamp]) -> None:
        self._store, self._put, self._now = store, put, now
        self._lock = threading.Lock()
        self._taker: NoteTaker | None = None
        self._stem = ""
        self._ending = False

    def begin(self, stem: str) -> None:
        """Keep what the microphone gives from now on; a note that was open is forgotten."""
        with self._lock:
            self._taker, self._stem, self._ending = NoteTaker(), stem, False

    def end(self) -> None:
        """End the open note with the next block of sound."""
        with self._lock:
            self._ending = True

    def flush(self) -> None:
        """There is no more sound: what was kept is the note."""
        self.end()
        self.feed(np.zeros(0, np.float32), speaking=False)

    def feed(self, block: Samples, speaking: bool) -> None:
        """Take a block of sound; once the note is over its file is written, and only then is it told."""
        with self._lock:
            taker = self._taker
            if taker is None or not (taker.feed(block, speaking) or self._ending):
                return
            self._taker = None
            stem = self._stem
        name = digest = why = ""
        if taker.spoken:
            try:
                name, digest = sounds.keep(self._store, taker.wav(), stem)
            except BayError as error:
                why = str(error)
        seconds = taker.seconds if name else 0.0
        self._put(lambda: NoteTaken(self._now(), name, digest, seconds, why))
