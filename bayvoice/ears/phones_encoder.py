"""The speech encoder of `phones`: from mono sound at 16 kHz to 384 features every 20 ms, in numpy alone.

A transformer of the form of the encoder of Whisper (Radford et al., "Robust Speech Recognition via Large-Scale Weak
Supervision", 2022), begun from the weights of its tiny English model (MIT, OpenAI) and learned further for noise by
`tests/learn/phones.py`. The weights are kept as eight-bit numbers with a scale for each row.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from bayvoice.ears.base import RATE

Floats = NDArray[np.float32]
FRAME: Final = 320
"""Samples between rows."""
MEL_BANDS: Final = 80

_WINDOW: Final = 400
_HOP: Final = 160
_HEAD: Final = 64
"""Numbers of a row that one attention head sees."""


class Encoder:
    """The encoder with `weights`, float32, named as `tests/learn/phones.py` writes them."""

    def __init__(self, weights: Mapping[str, Floats]) -> None:
        self._weights = weights
        self._layers = sum(name.endswith(".qkv.weight") for name in weights)
        self._bank = mel_bank()
        self._window = (0.5 - 0.5 * np.cos(2 * np.pi * np.arange(_WINDOW) / _WINDOW)).astype(np.float32)

    def mels(self, samples: Floats) -> Floats:
        """(2 T, 80) log mel energies of `samples`, more than 200 of them, as Whisper scales them."""
        padded = np.pad(samples.astype(np.float32, copy=False), _WINDOW // 2, mode="reflect")
        frames = len(samples) // FRAME * 2
        pieces = np.lib.stride_tricks.sliding_window_view(padded, _WINDOW)[::_HOP][:frames]
        power = np.abs(np.fft.rfft(pieces * self._window, _WINDOW)) ** 2
        logs = np.log10(np.maximum(power.astype(np.float32) @ self._bank, 1e-10))
        return np.asarray((np.maximum(logs, logs.max(initial=-10.0) - 8.0) + 4.0) / 4.0, dtype=np.float32)

    def __call__(self, samples: Floats) -> Floats:
        """(T, 384) features of `samples`, 400 of them or more; T is their number by `FRAME`, rounded down."""
        weights = self._weights
        rows = _gelu(convolve(self.mels(samples), weights["c1.weight"], weights["c1.bias"]))
        rows = _gelu(convolve(rows, weights["c2.weight"], weights["c2.bias"], step=2))
        rows += positions(len(rows), rows.shape[1])
        for layer in range(self._layers):
            name = f"blocks.{layer}."
            rows += self._attend(self._normed(rows, name + "n1"), name)
            inner = _gelu(self._linear(self._normed(rows, name + "n2"), name + "f1"))
            rows += self._linear(inner, name + "f2")
        return self._normed(rows, "n")

    def _linear(self, rows: Floats, name: str) -> Floats:
        return np.asarray(rows @ self._weights[name + ".weight"].T + self._weights[name + ".bias"], dtype=np.float32)

    def _normed(self, rows: Floats, name: str) -> Floats:
        centred = rows - rows.mean(axis=1, keepdims=True)
        spread = np.sqrt((centred * centred).mean(axis=1, keepdims=True) + 1e-5)
        return np.asarray(centred / spread * self._weights[name + ".weight"] + self._weights[name + ".bias"])

    def _attend(self, rows: Floats, name: str) -> Floats:
        """Every row's look at all rows, over all heads."""
        size, width = rows.shape
        joined = self._linear(rows, name + "qkv").reshape(size, 3, width // _HEAD, _HEAD)
        query, key, value = (np.ascontiguousarray(joined[:, part].transpose(1, 0, 2)) for part in range(3))
        looks = query @ key.transpose(0, 2, 1)
        looks *= np.float32(_HEAD**-0.5)
        looks -= looks.max(axis=2, keepdims=True)
        np.exp(looks, out=looks)
        looks /= looks.sum(axis=2, keepdims=True)
        seen = np.asarray(looks @ value, dtype=np.float32).transpose(1, 0, 2).reshape(size, width)
        return self._linear(seen, name + "o")


def unpacked(arrays: Mapping[str, NDArray[Any]]) -> dict[str, Floats]:
    """Weights as they are kept to float32: ``NAME`` in eight bits is multiplied by its ``NAME.scale``, row by row."""
    out = {}
    for name, value in arrays.items():
        if name.endswith(".scale"):
            continue
        whole = value.astype(np.float32)
        if value.dtype == np.int8:
            whole *= arrays[name + ".scale"].astype(np.float32).reshape(-1, *[1] * (value.ndim - 1))
        out[name] = whole
    return out


def packed(weights: Mapping[str, Floats]) -> dict[str, NDArray[Any]]:
    """Matrices of `weights` in eight bits with a scale for each row, the rest as float16; undone by `unpacked`."""
    out: dict[str, NDArray[Any]] = {}
    for name, value in weights.items():
        if value.ndim < 2:
            out[name] = value.astype(np.float16)
            continue
        scale = np.abs(value).reshape(len(value), -1).max(axis=1) / 127 + 1e-9
        out[name] = np.round(value / scale.reshape(-1, *[1] * (value.ndim - 1))).astype(np.int8)
        out[name + ".scale"] = scale.astype(np.float32)
    return out


def positions(rows: int, width: int) -> Floats:
    """(rows, width) sines and cosines of each row's place, at wavelengths from 2 pi to 20000 pi (Vaswani et al., 2017).

    As Whisper lays them out: all sines, then all cosines.
    """
    rates = np.exp(-np.log(10_000) / (width // 2 - 1) * np.arange(width // 2))
    angles = np.arange(rows)[:, None] * rates
    return np.concatenate([np.sin(angles), np.cos(angles)], axis=1).astype(np.float32)


def mel_bank() -> Floats:
    """(201, 80) triangular filters of unit area from 0 to 8 kHz.

    Equally spaced on the mel scale of Slaney's Auditory Toolbox (1998): linear to 1 kHz, then 27 steps a factor of 6.4.
    """
    edges = _hertz(np.linspace(0.0, 15.0 + 27.0 * np.log(8.0) / np.log(6.4), MEL_BANDS + 2))
    bins = np.arange(_WINDOW // 2 + 1)[:, None] * RATE / _WINDOW
    up = (bins - edges[:-2]) / (edges[1:-1] - edges[:-2])
    down = (edges[2:] - bins) / (edges[2:] - edges[1:-1])
    return np.asarray(np.maximum(0.0, np.minimum(up, down)) * (2.0 / (edges[2:] - edges[:-2])), dtype=np.float32)


def _hertz(mels: NDArray[np.float64]) -> NDArray[np.float64]:
    above = 1000.0 * 6.4 ** ((np.maximum(mels, 15.0) - 15.0) / 27.0)
    return np.asarray(np.where(mels < 15.0, mels * 200.0 / 3.0, above), dtype=np.float64)


def convolve(rows: Floats, kernel: Floats, bias: Floats, step: int = 1) -> Floats:
    """(T / step, out) from (T, in): kernel (out, in, width) over time, rows outside taken as zero."""
    width = kernel.shape[2]
    padded = np.pad(rows, ((width // 2, width // 2), (0, 0)))
    out = np.tile(bias.astype(np.float32), ((len(rows) + step - 1) // step, 1))
    for tap in range(width):
        out += padded[tap : tap + len(rows) : step] @ kernel[:, :, tap].T
    return out


def _gelu(values: Floats) -> Floats:
    """Gaussian error linear unit, by the tanh formula (Hendrycks and Gimpel, 2016)."""
    inner = values * values
    inner *= np.float32(0.044715)
    inner += np.float32(1.0)
    inner *= values
    inner *= np.float32(0.7978845608)
    np.tanh(inner, out=inner)
    inner += np.float32(1.0)
    inner *= values
    inner *= np.float32(0.5)
    return inner
