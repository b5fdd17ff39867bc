"""From sound to log scores of English phones.

The rows of the `hama` speech network (probabilities of its own phoneme tokens) are mixed into English phones, and a
small convolutional network of ours corrects the mixture from what it sees around: those rows and the log mel energies
of the sound. Its weights are learned by
`tests/bench/learn_phones.py` and kept in ``data/phones.npz``.
"""

from __future__ import annotations

from collections.abc import Mapping
from importlib import resources
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from bayvoice.edges.ears.base import RATE

Floats = NDArray[np.float32]
FRAME_S: Final = 0.02
"""Seconds between rows: two hops of 160 samples at 16 kHz (hama's asr.py, ASR_OUTPUT_FRAME_SAMPLES)."""

_HOP: Final = 160
_WINDOW: Final = 400
_FFT: Final = 512
BANDS: Final = 40
"""Mel bands of one spectrum."""
_LOWEST: Final = -10.0
"""Log-probabilities of the speech network below this carry no information."""
_FLOOR: Final = 1e-4
_LEAD: Final = 1600
_QUIET: Final = 0.3
"""Quietest frames over the loudest, below which a recording is taken for free of noise."""
MIXING_FLOOR: Final = 1e-3
BLANK_COST: Final = -2.0
"""Nats a frame of blank costs: in noise the networks fall silent, and words would be dropped for it."""


class Acoustics:
    """Sound to phone scores. Loads the networks when first used, about 15 MB."""

    def __init__(self) -> None:
        self._model: Any = None
        self._weights: dict[str, Floats] = {}

    def load(self) -> None:
        """Load the networks now rather than with the first sound."""
        if self._model is None:
            from hama import ASRModel

            self._model = ASRModel()
            self._weights = self._weights or {key: value.astype(np.float32) for key, value in learned("net_").items()}
            self._bank = mel_bank()

    def use(self, weights: Mapping[str, Floats]) -> None:
        """Score with `weights`, named as in the data file without its prefix, rather than with those that ship."""
        self._weights = {key: value.astype(np.float32) for key, value in weights.items()}

    def rows(self, samples: Floats) -> Floats:
        """(T, 191) log-probabilities of the speech network's own tokens for mono `samples` at 16 kHz."""
        self.load()
        feeds = {
            "waveform": samples.reshape(1, -1).astype(np.float32, copy=False),
            "waveform_lengths": np.array([len(samples)], dtype=np.int64),
        }
        found, lengths = self._model.session.run(["log_probs", "out_lengths"], feeds)
        return np.asarray(found[0][: int(np.asarray(lengths).reshape(-1)[0])], dtype=np.float32)

    def scores(self, samples: Floats) -> tuple[Floats, Floats]:
        """(T, 39) log scores of the phones and (T,) of blank for mono `samples` at 16 kHz, at least 50 ms."""
        peak = float(np.abs(samples).max(initial=1e-9))
        samples = (samples * (0.5 / max(peak, 1e-6))).astype(np.float32)
        lead = _lead_in(samples)
        samples = np.concatenate([lead, samples, lead])
        rows = self.rows(samples)
        mel = mel_rows(samples, len(rows), self._bank)
        joined = np.concatenate([(np.maximum(rows, _LOWEST) - _LOWEST) / -_LOWEST, mel], axis=1)
        logs = self._network(joined.astype(np.float32), rows)
        logs = logs[len(lead) // (2 * _HOP) :][: max(1, (len(samples) - 2 * len(lead)) // (2 * _HOP))]
        return logs[:, :-1], logs[:, -1] + BLANK_COST

    def _network(self, joined: Floats, rows: Floats) -> Floats:
        """(T, 40) log-probabilities of the phones and blank from (T, 271) inputs, the mixture of `rows` corrected."""
        weights = self._weights
        hidden = np.maximum(_convolve(joined, weights["c1.weight"], weights["c1.bias"], 1), 0)
        hidden = hidden + np.maximum(_convolve(hidden, weights["c2.weight"], weights["c2.bias"], 1), 0)
        hidden = hidden + np.maximum(_convolve(hidden, weights["c3.weight"], weights["c3.bias"], 2), 0)
        mixed = np.log(np.exp(rows) @ weights["mixing"] + MIXING_FLOOR)
        out = mixed + _convolve(hidden, weights["o.weight"], weights["o.bias"], 1)
        out -= out.max(axis=1, keepdims=True)
        chances = np.exp(out)
        chances /= chances.sum(axis=1, keepdims=True)
        return np.asarray(np.log(chances + _FLOOR), dtype=np.float32)


def _lead_in(samples: Floats) -> Floats:
    """Quiet to put before and after a sound that begins and ends in speech; nothing where there is noise throughout.

    The networks learned on speech with pauses around it, and hear a sound cut close badly.
    """
    frames = samples[: len(samples) // 320 * 320].reshape(-1, 320)
    levels = np.sqrt((frames.astype(np.float64) ** 2).mean(axis=1))
    if not len(levels) or np.quantile(levels, 0.05) > _QUIET * levels.max():
        return np.zeros(0, dtype=np.float32)
    hiss = np.random.default_rng(0).standard_normal(_LEAD)
    return np.asarray(hiss * 1e-4 * np.abs(samples).max(), dtype=np.float32)


def learned(prefix: str) -> dict[str, NDArray[Any]]:
    """The arrays of ``data/phones.npz`` whose names begin with `prefix`, without it."""
    with (resources.files("bayvoice.edges.ears") / "data" / "phones.npz").open("rb") as file, np.load(file) as arrays:
        return {key[len(prefix) :]: arrays[key] for key in arrays.files if key.startswith(prefix)}


def mel_bank() -> Floats:
    """(257, 40) triangular filters from 60 to 7600 Hz, equally spaced in mel (O'Shaughnessy's formula)."""
    points = np.linspace(_mel(60.0), _mel(7600.0), BANDS + 2)
    edges = 700.0 * (10.0 ** (points / 2595.0) - 1.0)
    bins = np.arange(_FFT // 2 + 1)[:, None] * RATE / _FFT
    up = (bins - edges[:-2]) / (edges[1:-1] - edges[:-2])
    down = (edges[2:] - bins) / (edges[2:] - edges[1:-1])
    return np.asarray(np.maximum(0.0, np.minimum(up, down)), dtype=np.float32)


def _mel(hertz: float) -> float:
    return float(2595.0 * np.log10(1.0 + hertz / 700.0))


def mel_rows(samples: Floats, frames: int, bank: Floats) -> Floats:
    """(frames, 80): two log mel spectra each 20 ms, every band less its mean over the sound, divided by 3."""
    need = (2 * frames - 1) * _HOP + _WINDOW
    padded = np.pad(samples, (120, max(0, need - len(samples))))
    pieces = np.lib.stride_tricks.sliding_window_view(padded, _WINDOW)[::_HOP][: 2 * frames]
    power = np.abs(np.fft.rfft(pieces * np.hanning(_WINDOW).astype(np.float32), _FFT)) ** 2
    logs = np.log(power @ bank + 1e-7)
    logs -= logs.mean(axis=0)
    return np.asarray((logs / 3.0).reshape(frames, 2 * BANDS), dtype=np.float32)


def _convolve(rows: Floats, kernel: Floats, bias: Floats, dilation: int) -> Floats:
    """(T, out) from (T, in): kernel (out, in, width) over time, rows outside taken as zero."""
    width = kernel.shape[2]
    reach = width // 2 * dilation
    padded = np.pad(rows, ((reach, reach), (0, 0)))
    out = np.tile(bias, (len(rows), 1))
    for tap in range(width):
        out += padded[tap * dilation : tap * dilation + len(rows)] @ kernel[:, :, tap].T
    return out
