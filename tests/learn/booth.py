"""Takes of an utterance as rooms, people, microphones and workshops change it."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import scipy.fft  # type: ignore[import-untyped, import-not-found, unused-ignore]
import soxr
from scipy.signal import fftconvolve  # type: ignore[import-untyped, import-not-found, unused-ignore]

from tests.noises import KINDS, RATE, Sound, at_snr, babble, noise

_STEADY: Final = KINDS[:-1]
_CLIP: Final = 8 * RATE
_KEPT: Final = 60
"""Clips of each steady kind of noise: made once, since making them costs more than learning from them."""


class Booth:
    """Changes sounds.

    Args:
        talk: sentences of people; babble is made of them.
        more_talk: other speech for the same.
        seed: of everything drawn.
    """

    def __init__(self, talk: list[Sound], more_talk: list[Sound], seed: int) -> None:
        self._talk, self._more = talk, more_talk or talk
        self._rng = np.random.default_rng(seed)
        self._kept = {kind: [noise(kind, _CLIP, self._rng) for _ in range(_KEPT)] for kind in _STEADY}

    def take(self, sound: Sound, noisy: bool) -> Sound:
        """One changed copy; with noise at -3 to 28 dB where it is to be `noisy`."""
        rng = self._rng
        sound = (sound / (np.abs(sound).max() + 1e-6)).astype(np.float32)
        if rng.random() < 0.6:
            sound = soxr.resample(sound, RATE, int(RATE * rng.uniform(0.87, 1.15)))
        if rng.random() < 0.08:
            sound = soxr.resample(soxr.resample(sound, RATE, 8000), 8000, RATE)
        if rng.random() < 0.4:
            sound = self._coloured(sound, 8)
        if rng.random() < 0.35:
            room = rng.standard_normal(int(RATE * rng.uniform(0.1, 0.4)))
            room *= np.exp(-np.arange(len(room)) / RATE * 6.9 / rng.uniform(0.15, 0.6))
            room *= rng.uniform(0.1, 0.7) / np.sqrt((room**2).sum())
            room[0] = 1.0
            sound = fftconvolve(sound, room)[: len(sound) + 1600]
        before, after = (np.zeros(int(RATE * rng.uniform(0, 0.4)), np.float32) for _ in range(2))
        sound = np.concatenate([before, sound, after]).astype(np.float32)
        if noisy:
            level = rng.uniform(-3, 14) if rng.random() < 0.8 else rng.uniform(14, 28)
            sound = at_snr(sound, self.noise(len(sound)), float(level))
        sound = sound / (np.abs(sound).max() + 1e-6) + rng.standard_normal(len(sound)) * 10 ** rng.uniform(-5, -3)
        return np.asarray(sound * (0.5 / np.abs(sound).max()), dtype=np.float32)

    def noise(self, size: int) -> Sound:
        """`size` samples of noise of one kind or two, its colour changed now and then.

        No bay sounds like our noises exactly, and babble is of one talker to eight.
        """
        rng = self._rng
        out = self._babble(size) if rng.random() < 0.33 else self._clip(size)
        if rng.random() < 0.2:
            out = out / (out.std() + 1e-6) + self._clip(size) * rng.uniform(0.2, 0.8)
        if rng.random() < 0.4:
            out = self._coloured(out, 10)
        if rng.random() < 0.2:
            swell = np.interp(np.arange(size), np.linspace(0, size, 5), rng.uniform(0.3, 1.5, 5))
            out = out * swell.astype(np.float32)
        return np.asarray(out, dtype=np.float32)

    def _babble(self, size: int) -> Sound:
        rng = self._rng
        talk = self._talk if rng.random() < 0.7 else self._more
        out = babble(size, rng, talk, int(rng.integers(1, 9)), 0.3) if rng.random() < 0.5 else babble(size, rng, talk)
        return np.asarray(out, dtype=np.float32)

    def _clip(self, size: int) -> Sound:
        """A piece of the noise kept, from anywhere in it."""
        kept = self._kept[_STEADY[int(self._rng.integers(len(_STEADY)))]]
        clip = kept[int(self._rng.integers(len(kept)))]
        return np.resize(np.roll(clip, int(self._rng.integers(len(clip)))), size)

    def _coloured(self, sound: Sound, most_db: float) -> Sound:
        """`sound` through a filter drawn at random, as another microphone or place would have it."""
        size = -(-len(sound) // 4096) * 4096  # a size that Fourier transforms are quick at
        knots = np.array([0, 150, 400, 1000, 2000, 4000, 8000])
        gain = np.interp(np.fft.rfftfreq(size, 1 / RATE), knots, self._rng.uniform(-most_db, most_db, len(knots)))
        spectrum: Any = scipy.fft.rfft(sound.astype(np.float32), size)
        out = scipy.fft.irfft(spectrum * 10 ** (gain / 20).astype(np.float32), size)[: len(sound)]
        return np.asarray(out, dtype=np.float32)
