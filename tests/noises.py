"""Noise of a workshop, made with fixed seeds, and mixing by the power of the active speech."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

RATE: Final = 16_000
Sound = NDArray[np.float32]
KINDS: Final = ("pink", "hammer", "hum", "mixed", "babble")


def active_power(sound: Sound) -> float:
    """Mean power of the frames of 20 ms within 30 dB of the loudest (a simple form of ITU-T P.56's active level)."""
    frames = np.lib.stride_tricks.sliding_window_view(sound.astype(np.float64), 320)[::160]
    power = (frames**2).mean(axis=1)
    return float(power[power >= power.max() * 1e-3].mean()) + 1e-12


def at_snr(speech: Sound, noise: Sound, decibels: float) -> Sound:
    """`speech` with `noise` at `decibels` below its active power, scaled to a peak of 0.7."""
    wanted = active_power(speech) / 10 ** (decibels / 10)
    mixed = speech + noise[: len(speech)] * np.sqrt(wanted / (float((noise.astype(np.float64) ** 2).mean()) + 1e-12))
    return np.asarray(mixed * (0.7 / np.abs(mixed).max()), dtype=np.float32)


def noise(kind: str, samples: int, rng: np.random.Generator, talk: Sequence[Sound] = ()) -> Sound:
    """`samples` of unit-variance noise of one of `KINDS`; `talk` is what babble is made of."""
    if kind == "pink":
        return _unit(_pink(samples, rng))
    if kind == "hammer":
        return _unit(_hammer(samples, rng))
    if kind == "hum":
        return _unit(_hum(samples, rng))
    if kind == "mixed":
        return _unit(sum((noise(one, samples, rng) for one in ("pink", "hammer", "hum")), np.zeros(samples)))
    return _unit(babble(samples, rng, talk))


def babble(
    samples: int, rng: np.random.Generator, talk: Sequence[Sound], talkers: int = 4, least: float = 0.5
) -> NDArray[np.float64]:
    """`samples` of `talkers` at once, each at `least` to 1 of unit variance and from anywhere in a piece of `talk`."""
    out = np.zeros(samples)
    for _ in range(talkers):
        piece = talk[int(rng.integers(len(talk)))]
        out += _unit(np.resize(np.roll(piece, int(rng.integers(len(piece)))), samples)) * rng.uniform(least, 1.0)
    return out


def _unit(sound: NDArray[np.floating]) -> Sound:
    return np.asarray(sound / (sound.std() + 1e-9), dtype=np.float32)


def _pink(samples: int, rng: np.random.Generator) -> NDArray[np.float64]:
    spectrum = np.fft.rfft(rng.standard_normal(samples))
    spectrum /= np.sqrt(np.maximum(1, np.arange(len(spectrum))))
    return np.fft.irfft(spectrum, samples)


def _hammer(samples: int, rng: np.random.Generator) -> NDArray[np.float64]:
    """Bursts of blows of an impact wrench: 8 to 25 blows a second, each a short ringing of four modes."""
    out = 0.02 * _unit(_pink(samples, rng)).astype(np.float64)
    at, length = 0, int(0.03 * RATE)
    times = np.arange(length) / RATE
    while at < samples:
        stop = min(samples, at + int(rng.uniform(0.3, 1.5) * RATE))
        gap = RATE / rng.uniform(8, 25)
        modes = rng.uniform(800, 4500, 4)
        while at < stop:
            ring = np.sin(2 * np.pi * np.outer(modes, times) + rng.uniform(0, 6, (4, 1))).sum(axis=0)
            blow = (ring + 1.5 * rng.standard_normal(length)) * np.exp(-times / rng.uniform(0.003, 0.012))
            end = min(samples, at + length)
            out[at:end] += blow[: end - at] * rng.uniform(0.6, 1.0)
            at += int(gap * rng.uniform(0.9, 1.1))
        at += int(rng.uniform(0.1, 1.0) * RATE)
    return out


def _hum(samples: int, rng: np.random.Generator) -> NDArray[np.float64]:
    """A compressor: harmonics of mains or shaft speed, slowly swelling, over a little broad noise."""
    times = np.arange(samples) / RATE
    base = float(rng.choice([24.7, 48.0, 50.0, 60.0, 100.0]))
    fall = rng.uniform(0.5, 1.3)
    out = np.zeros(samples)
    for harmonic in range(1, 25):
        out += np.sin(2 * np.pi * base * harmonic * times + rng.uniform(0, 6)) * harmonic**-fall
    out *= 1 + 0.3 * np.sin(2 * np.pi * rng.uniform(1, 8) * times)
    return np.asarray(out + _unit(_pink(samples, rng)) * out.std() * rng.uniform(0.1, 0.5), dtype=np.float64)
