"""Notes between core, microphone and disk: what the core asks for, whoever hears records and keeps."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np

from bayvoice.dialogue.engine.events import NoteTaken
from bayvoice.ears.base import Samples
from bayvoice.ears.notetaker import NoteTaker
from bayvoice.errors import BayError
from bayvoice.record import sounds
from bayvoice.runtime.inbox import Clock, Maker


class Noting:
    """One thread calls all of it: the one that has the sound.

    Args:
        store: the record whose folder of sounds takes them.
        give: hands an event over to the loop.
        clock: stamps it.
    """

    def __init__(self, store: Path, give: Callable[[Maker], None], clock: Clock) -> None:
        self._store, self._give, self._clock = store, give, clock
        self._taker: NoteTaker | None = None
        self._stem = ""
        self._ending = False

    def begin(self, stem: str) -> None:
        """Keep what is heard from now on; a note that was open is forgotten."""
        self._taker, self._stem, self._ending = NoteTaker(), stem, False

    def end(self) -> None:
        """End the open note with the next block of sound."""
        self._ending = True

    def flush(self) -> None:
        """There is no more sound: what was kept is the note."""
        self.end()
        self.feed(np.zeros(0, np.float32), speaking=False)

    def feed(self, block: Samples, speaking: bool) -> None:
        """Take a block of sound; once the note is over its file is written, and only then is it told."""
        taker = self._taker
        if taker is None or not (taker.feed(block, speaking) or self._ending):
            return
        self._taker = None
        name = digest = why = ""
        if taker.spoken:
            try:
                name, digest = sounds.keep(self._store, taker.wav(), self._stem)
            except BayError as error:
                why = str(error)
        seconds = taker.seconds if name else 0.0
        self._give(lambda _: (NoteTaken(self._clock.now(), name, digest, seconds, why),))
