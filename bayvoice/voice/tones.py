"""Alert bursts: short motifs of rich tones that are told apart, and from speech, in a noisy bay.

Each pulse is a harmonic tone, so that some of it stands clear of whatever noise there is: fundamental between 150 and
1000 Hz with at least four harmonics between 300 and 4000 Hz within 15 dB of one another, the idea of the auditory
alarm signals of IEC 60601-1-8; so is the number of pulses in a burst, two for what may wait, three for what may not
wait long, ten in two groups for what is late. Most of the sound lies between 500 and 2500 Hz, where ISO 7731 wants a
danger signal. The motifs are our own. Between pulses and after a burst there is silence to hear and be heard in; how
often a burst comes again is the caller's business.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from bayvoice.voice.base import Sound

RATE = 22_050
"""Sample rate of the bursts, Hz: that of the voice, so that mixing needs no conversion."""

MOST = 4
"""Highest urgency: bursts do not grow beyond it."""

RANKS = {"heard": 0, "refused": 0, "due": 1, "soon": 2, "over": 3}
"""Which burst gives way to which where two would sound at once: that of the lower rank."""

_HARMONICS_TO_HZ = 4000.0
_SLOPE_DB = 3.0  # each harmonic that much weaker than the one below, so that four are within 9 dB


@dataclass(frozen=True, slots=True)
class Motif:
    """A burst at urgency 0.

    Attributes:
        pitches: fundamentals of the pulses in order, Hz; 0 is a beat of silence.
        pulse_s: length of a pulse.
        gap_s: silence between pulses.
        level: root mean square of a pulse between its soft ends; full scale is 1, the voice has about 0.12.
        grows: whether urgency makes it faster, higher and louder.
    """

    pitches: tuple[float, ...]
    pulse_s: float
    gap_s: float
    level: float
    grows: bool = True


_GROUP = (659.3, 523.3, 659.3, 0.0, 523.3, 659.3)

MOTIFS: dict[str, Motif] = {
    "due": Motif((392.0, 523.3), 0.2, 0.2, 0.11),
    "soon": Motif((440.0, 554.4, 659.3), 0.17, 0.16, 0.14),
    "over": Motif((*_GROUP, 0.0, 0.0, *_GROUP), 0.11, 0.075, 0.18),
    "heard": Motif((523.3,), 0.07, 0.0, 0.07, grows=False),
    "refused": Motif((246.9, 196.0), 0.13, 0.05, 0.1, grows=False),
}
"""The bursts of `effects.Ring`, by name."""


def pulse(f0: float, seconds: float, rate: int = RATE) -> NDArray[np.float32]:
    """A tone of `f0` Hz with its harmonics up to 4 kHz, soft at both ends; root mean square 1 between them."""
    t = np.arange(round(seconds * rate)) / rate
    wave = np.zeros(len(t))
    for n in range(1, int(_HARMONICS_TO_HZ // f0) + 1):
        # Phases spread by n², else the peaks of the harmonics meet and the tone is quiet for its peak.
        wave += 10 ** (-_SLOPE_DB * (n - 1) / 20) * np.sin(2 * np.pi * f0 * n * t + np.pi * n * n / 8)
    rise = min(round(0.02 * rate), len(t) // 3)
    fall = min(round(0.04 * rate), len(t) // 3)
    shape = np.ones(len(t))
    shape[:rise] = 0.5 - 0.5 * np.cos(np.pi * np.arange(rise) / rise)
    shape[len(t) - fall :] = 0.5 + 0.5 * np.cos(np.pi * np.arange(1, fall + 1) / fall)
    return np.asarray(wave * shape / np.sqrt(np.mean(wave**2)), dtype=np.float32)


@lru_cache(maxsize=32)
def burst(tone: str, urgency: int = 0) -> Sound:
    """The burst called `tone` (a key of `MOTIFS`), mono float32 at `RATE`.

    `urgency` counts the unanswered repetitions: each step up to `MOST` makes the pulses a tenth faster, a semitone
    higher and 1.5 dB louder. Confirmations ("heard", "refused") do not grow. KeyError for
    an unknown name.
    """
    motif = MOTIFS[tone]
    step = min(max(urgency, 0), MOST) if motif.grows else 0
    pace = 0.9**step
    raised = 2 ** (step / 12)
    level = motif.level * 10 ** (1.5 * step / 20)
    gap = np.zeros(round(motif.gap_s * pace * RATE), np.float32)
    parts: list[NDArray[np.float32]] = []
    for f0 in motif.pitches:
        seconds = motif.pulse_s * pace
        parts += [np.zeros(round(seconds * RATE), np.float32) if not f0 else pulse(f0 * raised, seconds) * level, gap]
    samples = np.concatenate(parts[:-1])
    samples.setflags(write=False)
    return Sound(RATE, samples)
