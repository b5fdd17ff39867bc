"""A count on a steady beat, mixed as one sound: whoever lifts together hears every beat at its exact sample.

Rendering a word and starting it are both later by a little that changes; inside one sound nothing changes. Each beat
has a short tone, sharp where it begins, and the word begins with it; the last one, on which all move, is an octave up.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from bayvoice.voice.base import Sound
from bayvoice.voice.tones import pulse

TICK_HZ, TICK_S, TICK_LEVEL = 660.0, 0.05, 0.16
_ONSET = 0.02  # of full scale: where a word begins for the ear; common practice, no source


def tick(last: bool, rate: int) -> NDArray[np.float32]:
    """The tone of a beat, float32 at `rate` Hz; its first sample is the beat."""
    return np.asarray(pulse(TICK_HZ * (2 if last else 1), TICK_S, rate) * TICK_LEVEL, dtype=np.float32)


def onset(samples: NDArray[np.float32]) -> int:
    """Index of the first sample that is heard, the length where none is."""
    loud = np.flatnonzero(np.abs(samples) > _ONSET)
    return int(loud[0]) if len(loud) else len(samples)


def on_the_beat(words: Sequence[Sound], every_s: float) -> Sound:
    """`words` one after the other, each beginning exactly `every_s` seconds after the one before, with their tones.

    All words have one sample rate. A word that is longer than a beat runs on under the next.
    """
    if not words:
        return Sound(22_050, np.zeros(0, np.float32))
    rate = words[0].rate
    step = round(every_s * rate)
    heard = [word.samples[onset(word.samples) :] for word in words]
    length = max(n * step + max(len(word), rate // 5) for n, word in enumerate(heard))
    mixed = np.zeros(length, np.float32)
    for n, word in enumerate(heard):
        beat = tick(n == len(heard) - 1, rate)
        for piece in (word, beat):
            mixed[n * step : n * step + len(piece)] += piece
    return Sound(rate, np.clip(mixed, -1.0, 1.0))
