"""Workshop noise, made by arithmetic: pink noise, a compressor's hum, bursts of an impact wrench.

Everything is mono float32 at `RATE` Hz with a fixed seed, so that a mixture can be made again to the sample.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

RATE: Final = 16_000

Samples = NDArray[np.float32]


def pink(n: int, seed: int) -> Samples:
    """`n` samples whose power falls by 3 dB an octave, unit power."""
    rng = np.random.default_rng(seed)
    size = 1 << max(1, (n - 1).bit_length())
    spectrum = np.fft.rfft(rng.standard_normal(size))
    bins = np.arange(len(spectrum))
    bins[0] = 1
    spectrum /= np.sqrt(bins)
    spectrum[0] = 0
    return _unit(np.fft.irfft(spectrum, size)[:n])


def hum(n: int, seed: int) -> Samples:
    """`n` samples of a compressor: mains hum with harmonics, slow beats and a little rumble, unit power."""
    rng = np.random.default_rng(seed)
    t = np.arange(n) / RATE
    base = 49.2 + 0.1 * rng.standard_normal()
    sound = np.zeros(n)
    for k in range(1, 12):
        sound += np.sin(2 * np.pi * base * k * t + rng.uniform(0, 2 * np.pi)) / k**0.9
    sound *= 1 + 0.25 * np.sin(2 * np.pi * 7.3 * t)
    return _unit(sound + 0.2 * pink(n, seed + 1))


def hammer(n: int, seed: int) -> Samples:
    """`n` samples of an impact wrench: volleys of ringing blows, 18 a second, with pauses; unit power."""
    rng = np.random.default_rng(seed)
    blow_t = np.arange(int(0.05 * RATE)) / RATE
    sound = np.zeros(n)
    at = int(rng.uniform(0.0, 1.0) * RATE)
    while at < n:
        volley_end = at + int(rng.uniform(0.6, 2.2) * RATE)
        while at < min(n, volley_end):
            ring = sum(
                np.sin(2 * np.pi * f * blow_t + rng.uniform(0, 6.28)) * g
                for f, g in ((930, 0.7), (2_350, 1.0), (4_100, 0.6), (6_200, 0.3))
            )
            blow = (ring + rng.standard_normal(len(blow_t))) * np.exp(-blow_t / 0.012) * rng.uniform(0.7, 1.0)
            piece = blow[: n - at]
            sound[at : at + len(piece)] += piece
            at += int(RATE / 18 * rng.uniform(0.9, 1.1))
        at = volley_end + int(rng.uniform(0.8, 4.0) * RATE)
    return _unit(sound)


def mixed(n: int, seed: int) -> Samples:
    """`n` samples of all three together, equally strong, unit power."""
    return _unit((pink(n, seed) + hum(n, seed + 10) + hammer(n, seed + 20)).astype(np.float64))


def active_power(speech: Samples) -> float:
    """Mean power of the parts of `speech` that hold speech: frames of 20 ms within 30 dB of the loudest."""
    frame = RATE // 50
    whole = len(speech) // frame * frame
    powers = np.mean(np.square(speech[:whole].reshape(-1, frame)), axis=1) if whole else np.zeros(1)
    loud = powers[powers > powers.max() * 1e-3]
    return float(loud.mean()) if len(loud) else 0.0


def at_snr(speech: Samples, noise: Samples, snr_db: float) -> Samples:
    """`speech` plus `noise` (same length, unit power) at a ratio of active-speech power to noise power in dB."""
    gain = np.sqrt(active_power(speech) / 10 ** (snr_db / 10))
    return np.asarray(speech + gain * noise, dtype=np.float32)


def _unit(sound: NDArray[np.float64]) -> Samples:
    power = float(np.mean(np.square(sound))) if len(sound) else 0.0
    return np.asarray(sound / np.sqrt(power) if power else sound, dtype=np.float32)
