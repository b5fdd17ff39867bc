"""What is to be heard, sample by sample: speech in turn, alert bursts over it. No clock, no device."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

import numpy as np
import soxr
from numpy.typing import NDArray

from bayvoice.voice.base import Sound

Block = NDArray[np.float32]

GAP_S = 0.12
"""Silence between two utterances and between a burst and the utterance that follows it, seconds."""

FADE_S = 0.005
"""Length of the fade when sound is cut off, seconds: no click, and silent at once for an ear."""

DUCK = 0.35
"""Level of speech while a burst sounds over it."""

APART_S = 0.03
"""Silence between two bursts that would otherwise meet, seconds."""


def fit(sound: Sound, rate: int) -> Block:
    """The samples of `sound` at `rate` Hz, float32."""
    if sound.rate == rate or not len(sound.samples):
        return sound.samples
    return np.asarray(soxr.resample(sound.samples, sound.rate, rate), dtype=np.float32)


INTERRUPTS = 2
"""Rank of speech from which on it breaks into speech of lower rank."""


@dataclass(frozen=True, slots=True)
class Mark:
    """Utterance `uid` begins (`kind` "began"), or ends ("said", or "cut"), at sample `at` of all that was pulled; or a
    burst begins ("rang", `uid` its rank)."""

    kind: str
    uid: int
    at: int


@dataclass(slots=True)
class _Running:
    uid: int
    samples: Block
    done: int = 0
    rank: int = 0

    @property
    def left(self) -> int:
        return len(self.samples) - self.done

    def take(self, n: int) -> Block:
        piece = self.samples[self.done : self.done + n]
        self.done += len(piece)
        return piece


class Mixer:
    """Queue of utterances and set of bursts at one sample rate. One thread at a time.

    An utterance begins when the one before has ended and no burst is sounding; a burst begins at once, with the
    utterance under way turned down while it lasts. Of two utterances that wait the one of higher rank goes first; one
    of rank `INTERRUPTS` breaks into one of lower rank, which begins anew after it. Of two bursts the one of higher rank
    sounds and the other ends; one of the same or lower rank waits until the first has ended. Every utterance added is
    told of exactly once as "said" or "cut", also those that never began; one that was broken into, as "began" again.
    """

    def __init__(self, rate: int) -> None:
        self.rate = rate
        self.at = 0
        """Samples pulled so far."""
        self._queue: deque[_Running] = deque()
        self._now: _Running | None = None
        self._rings: list[_Running] = []  # the burst that sounds: one or none
        self._bells: list[_Running] = []  # bursts that wait for its end
        self._apart = 0  # samples of silence due before the next burst
        self._tail: Block = np.zeros(0, np.float32)
        self._rest = 0  # samples of silence due before the next utterance
        self._marks: list[Mark] = []

    @property
    def idle(self) -> bool:
        """Nothing sounds and nothing waits."""
        return not (self._now or self._queue or self._rings or self._bells or len(self._tail))

    @property
    def sounding(self) -> bool:
        """Something is being heard now."""
        return bool(self._now or self._rings or self._bells or len(self._tail))

    @property
    def next_mark(self) -> int | None:
        """Sample at which the next utterance begins or ends if nothing is added; None when none is queued."""
        if self._now is not None:
            return self.at + self._now.left
        if self._queue:
            return self.at + self._before_next()
        return None

    def _before_next(self) -> int:
        ringing = sum(ring.left for ring in self._rings)
        for n, bell in enumerate(self._bells):
            ringing += bell.left + (round(APART_S * self.rate) if n or self._rings else self._apart)
        return max(self._rest, ringing + self._gap if ringing else 0)

    @property
    def _gap(self) -> int:
        return round(GAP_S * self.rate)

    def say(self, uid: int, samples: Block, rank: int = 0) -> None:
        """Queue an utterance before those of lower rank."""
        place = next((i for i, each in enumerate(self._queue) if each.rank < rank), len(self._queue))
        self._queue.insert(place, _Running(uid, samples, rank=rank))
        if self._now is not None and rank >= INTERRUPTS > self._now.rank:
            self._tail = self._fading(speech=True)
            broken, self._now, self._rest = self._now, None, self._gap
            broken.done = 0
            place = next((i for i, each in enumerate(self._queue) if each.rank <= broken.rank), len(self._queue))
            self._queue.insert(place, broken)

    def ring(self, samples: Block, rank: int = 0) -> None:
        """Sound a burst from the next sample on, unless one at least as urgent is sounding."""
        if not len(samples):
            return
        new = _Running(-1, samples, rank=rank)
        if self._rings and rank <= self._rings[0].rank:
            place = next((i for i, each in enumerate(self._bells) if each.rank < rank), len(self._bells))
            self._bells.insert(place, new)
            return
        if self._rings:
            self._tail = self._fading(burst=True)
        self._begin(new)

    def _begin(self, burst: _Running) -> None:
        self._rings = [burst]
        self._marks.append(Mark("rang", burst.rank, self.at))

    def hush(self) -> None:
        """Fall silent within `FADE_S` and forget what is queued."""
        self._tail = self._fading(speech=True, burst=True)
        stopped = [self._now] if self._now else []
        self._marks += [Mark("cut", each.uid, self.at) for each in (*stopped, *self._queue)]
        self._now, self._rest = None, 0
        self._queue.clear()
        self._rings.clear()
        self._bells.clear()
        self._apart = 0

    def _fading(self, speech: bool = False, burst: bool = False) -> Block:
        """What is cut off now, speech or burst or both, faded to silence."""
        n = max(1, round(FADE_S * self.rate))
        block = np.zeros(n, np.float32)
        block[: len(self._tail)] = self._tail
        duck = DUCK if self._rings else 1.0
        if self._now is not None and speech:
            piece = self._now.take(n)
            block[: len(piece)] += piece * duck
        for ring in self._rings if burst else ():
            piece = ring.take(n)
            block[: len(piece)] += piece
        return block * np.linspace(1.0, 0.0, n, dtype=np.float32)

    def pull(self, n: int) -> tuple[Block, tuple[Mark, ...]]:
        """The next `n` samples, float32 within -1..1, and what began and ended in them, in order."""
        block = np.zeros(n, np.float32)
        done = 0
        if len(self._tail):
            piece = self._tail[:n]
            block[: len(piece)] += piece
            self._tail = self._tail[n:]
        while done < n:
            done += self._segment(block[done:])
        self._end_finished()
        marks, self._marks = tuple(self._marks), []
        return np.clip(block, -1.0, 1.0, out=block), marks

    def _segment(self, room: Block) -> int:
        """Fill `room` up to the next point at which something begins or ends; how far that was, at least 1."""
        self._end_finished()
        if self._now is None and self._queue and not self._before_next():
            self._now = self._queue.popleft()
            self._marks.append(Mark("began", self._now.uid, self.at))
            if not self._now.left:
                self._end_finished()
                return 0
        reach = len(room)
        if self._now is not None:
            reach = min(reach, self._now.left)
        elif self._queue:
            reach = min(reach, self._before_next())
        for ring in self._rings:
            reach = min(reach, ring.left)
        if self._bells and not self._rings:
            if not self._apart:
                self._begin(self._bells.pop(0))
                return 0
            reach = min(reach, self._apart)
        if self._now is not None:
            room[:reach] += self._now.take(reach) * np.float32(DUCK if self._rings else 1.0)
        for ring in self._rings:
            room[:reach] += ring.take(reach)
        if self._rings:
            self._rest = max(0, self._rest - reach)
            self._rings = [ring for ring in self._rings if ring.left]
            if not self._rings:
                self._rest = max(self._rest, self._gap)
                self._apart = round(APART_S * self.rate)
        else:
            self._rest = max(0, self._rest - reach)
            self._apart = max(0, self._apart - reach)
        self.at += reach
        return reach

    def _end_finished(self) -> None:
        if self._now is not None and not self._now.left:
            self._marks.append(Mark("said", self._now.uid, self.at))
            self._now, self._rest = None, self._gap

    def skip(self, n: int) -> None:
        """As `pull(n)` where the mixer is `idle`, without making samples."""
        self.at += n
        self._rest = max(0, self._rest - n)
        self._apart = max(0, self._apart - n)
