"""A "stop" said while the product itself speaks.

Its voice in the microphone holds the gate open, so the word is no utterance of its own: it is looked for in the last
second of sound, twice a second. The word's phones must fit nearly as well as any phones at all would in its place,
and better than "step".
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from bayvoice.ears.base import RATE, Samples
from bayvoice.ears.decoder import NOTHING, Floats, free_path
from bayvoice.ears.phones_acoustics import FRAME_S, Acoustics
from bayvoice.ears.pronounce import PHONES, Pronunciation

WORD: Final = "stop"
AKIN: Final = (r"\bstar", r"s(?:e|es)? (?:to )?top\b")
"""Patterns of what is said like it: "starter" and "clockwise to top" hold its sounds, and no limit tells them apart. In
the first 40 steps of the procedures that ship nothing else comes near."""
LEAST: Final = -3.0
"""Nats the word may lie behind the best free phones. Of the product's own steps, less those that hold the word or what
is `AKIN` to it, the nearest comes to -7.5 in 222 windows; 30 of 30 people's "stop" of the tuning half are
found 20 dB over that voice. See `HEARD_THROUGH`."""
HEARD_THROUGH: Final = {-20.0: 0.86, -12.0: 0.63}
HEARD_THROUGH_COUNT: Final = {-20.0: 0.90, -12.0: 0.86}
"""Share of people's "stop" that is heard through the product's own voice, and through its count to a common move, by
the echo's decibels over the person's voice: the lower end of Wilson's 95 % interval of what
``python -m tests.bench.own_voice`` finds in the judging half (37 and 30 of 38; 38 and 37 of 38)."""
RIVALS: Final = (("S", "T", "EH", "P"), ("S", "T", "IH", "P"), ("S", "T", "AE", "P"), ("S", "T", "AH", "P"))
"""What is not the word: the product begins every reading with "step"."""
OVER_RIVALS: Final = 0.5
"""Nats by which the word must beat each of them. Without this rule "step" comes to -3 now and then."""
READ_FROM: Final = "070d2fa201f13b238fa535abae97a3a7e9d79a631033bd9306e1ba2e99e97be3"
"""SHA-256 of the networks (``data/phones.npz``) these limits were read off."""
WINDOW_S: Final = 1.0
HOP_S: Final = 0.5

_PHONE_COST: Final = -0.3
_QUIET_DB: Final = -65.0


@dataclass(frozen=True, slots=True)
class Spotted:
    """The word, seconds before the end of the sound at which it began and ended, and nats over `LEAST`."""

    began_ago_s: float
    ended_ago_s: float
    over: float


class Spotter:
    """Takes sound as it comes while the product speaks.

    Args:
        acoustics: phone scores.
        said: pronunciations of `WORD`.
    """

    def __init__(self, acoustics: Acoustics, said: tuple[Pronunciation, ...]) -> None:
        self._acoustics = acoustics
        self._said = [np.array(one, dtype=np.int32) for one in said]
        self._rivals = [np.array([PHONES.index(phone) for phone in one], dtype=np.int32) for one in RIVALS]
        self._bigram = np.full((len(PHONES) + 1, len(PHONES)), _PHONE_COST, dtype=np.float32)
        self.reset()

    def reset(self) -> None:
        """Forget the sound so far."""
        self._sound = np.zeros(0, dtype=np.float32)
        self._fresh = 0

    def feed(self, block: Samples) -> Spotted | None:
        """More sound, 16 kHz; the word if it is in the last second."""
        self._sound = np.concatenate([self._sound, block])[-round(WINDOW_S * RATE) :]
        self._fresh += len(block)
        # Half a second alone is heard badly, "step" above all.
        if self._fresh < HOP_S * RATE or len(self._sound) < round(WINDOW_S * RATE):
            return None
        self._fresh = 0
        if 10 * np.log10(float(np.square(self._sound).mean()) + 1e-12) < _QUIET_DB:
            return None
        found = self.look(self._sound)
        if found is not None:
            self.reset()  # the same word is in the next window too
        return found

    def look(self, sound: Samples) -> Spotted | None:
        """The word anywhere in `sound`, at least 50 ms."""
        emissions, blank = self._acoustics.scores(sound)
        free = free_path(emissions, blank, self._bigram)
        score, began, ended = max(self._best(emissions, blank, free, labels) for labels in self._said)
        if score < LEAST:
            return None
        if score < OVER_RIVALS + max(self._best(emissions, blank, free, labels)[0] for labels in self._rivals):
            return None
        frames = len(emissions)
        return Spotted((frames - began) * FRAME_S, (frames - 1 - ended) * FRAME_S, score - LEAST)

    def _best(self, emissions: Floats, blank: Floats, free: Floats, labels: np.ndarray) -> tuple[float, int, int]:
        """Best score of the word between free phones less free phones alone, and its first and last frame."""
        size = len(labels)
        phone = np.full(size, NOTHING, dtype=np.float64)
        quiet = phone.copy()
        since = np.zeros((2, size), dtype=np.int64)
        top = (float(NOTHING), 0, 0)
        for frame in range(len(emissions)):
            rests = quiet > phone
            best, best_since = np.where(rests, quiet, phone), np.where(rests, since[1], since[0])
            enter = np.concatenate([[free[frame]], best[:-1]]) + _PHONE_COST
            enter_since = np.concatenate([[frame], best_since[:-1]])
            stays = phone >= enter
            phone = np.where(stays, phone, enter) + emissions[frame][labels]
            since = np.stack([np.where(stays, since[0], enter_since), best_since])
            quiet = best + blank[frame]
            top = max(top, (float(phone[-1] - free[frame + 1]), int(since[0, -1]), frame))
        return top
