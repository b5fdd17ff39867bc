"""Alert bursts: short motifs of rich tones that are told apart, and from speech, in a noisy bay.

Each pulse is a harmonic tone, so that some of it stands clear of whatever noise there is: fundamental between 150 and
1000 Hz with at least four harmonics between 300 and 4000 Hz within 15 dB of one another, the idea of the auditory
alarm signals of IEC 60601-1-8. The motifs are our own. Between pulses and after a burst there is silence to hear and
be heard in; how often a burst comes again is the caller's business.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from bayvoice.edges.voice.base import Sound

RATE = 22_050
"""Sample rate of the bursts, Hz: that of the voice, so that mixing needs no conversion."""

MOST = 2
"""Highest urgency: bursts do not grow beyond it."""

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
        grows: whether urgency makes it faster, higher, longer and louder.
    """

    pitches: tuple[float, ...]
    pulse_s: float
    gap_s: float
    level: float
    grows: bool = True


MOTIFS: dict[str, Motif] = {
    "soon": Motif((330.0, 415.3), 0.18, 0.16, 0.1),
    "due": Motif((392.0, 493.9, 587.3), 0.15, 0.12, 0.13),
    "over": Motif((659.3, 523.3, 659.3, 523.3, 0.0, 659.3, 523.3, 659.3, 523.3), 0.11, 0.07, 0.18),
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

    `urgency` counts the unanswered repetitions: each step up to `MOST` makes the pulses a quarter faster, a whole tone
    higher and 3 dB louder, and adds a pulse at the end. Confirmations ("heard", "refused") do not grow. KeyError for
    an unknown name.
    """
    motif = MOTIFS[tone]
    step = min(max(urgency, 0), MOST) if motif.grows else 0
    pitches = motif.pitches + motif.pitches[-1:] * step
    pace = 0.8**step
    raised = 2 ** (2 * step / 12)
    level = motif.level * 10 ** (3 * step / 20)
    gap = np.zeros(round(motif.gap_s * pace * RATE), np.float32)
    parts: list[NDArray[np.float32]] = []
    for f0 in pitches:
        seconds = motif.pulse_s * pace
        parts += [np.zeros(round(seconds * RATE), np.float32) if not f0 else pulse(f0 * raised, seconds) * level, gap]
    samples = np.concatenate(parts[:-1])
    samples.setflags(write=False)
    return Sound(RATE, samples)
