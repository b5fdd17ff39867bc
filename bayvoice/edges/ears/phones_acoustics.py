"""From sound to log scores of English phones.

A frozen speech encoder, the one of the tiny English model that the package moonshine-voice carries (MIT; Jeffries et
al., "Moonshine: Speech Recognition for Live Transcription and Voice Commands", 2024), turns the sound into features.
A small convolutional network of ours reads phones off them and off the log mel energies of the same sound. Its weights
are learned by `tests/bench/learn_phones.py` and kept in ``data/phones.npz``.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from bayvoice.edges.ears.base import RATE

Floats = NDArray[np.float32]
PACKAGE: Final = "moonshine-voice"
"""The package whose encoder is used, as the index names it."""
FEATURES: Final = 288
"""Numbers the encoder gives a row."""
FRAME_S: Final = 0.024
"""Seconds between rows: the encoder's three convolutions step by 64, 3 and 2 samples at 16 kHz."""
BANDS: Final = 40
"""Mel bands of one spectrum."""

_HOP: Final = 192
_WINDOW: Final = 400
_FFT: Final = 512
_LEAD: Final = 4 * 2 * _HOP
_LEAST: Final = 3200
"""Samples below which the encoder has too little to go by: shorter sounds are filled up with silence."""
_QUIET: Final = 0.3
"""Quietest frames over the loudest, below which a recording is taken for free of noise."""
_FLOOR: Final = 1e-4
BLANK_COST: Final = -2.0
"""Nats a frame of blank costs: in noise the networks fall silent, and words would be dropped for it."""


class Acoustics:
    """Sound to phone scores. Loads the networks when first used, about 20 MB."""

    def __init__(self) -> None:
        self._encoder: Any = None
        self._weights: dict[str, Floats] = {}

    def load(self) -> None:
        """Load the networks now rather than with the first sound.

        Raises:
            ImportError, OSError, RuntimeError: the runtime or the encoder is not there or cannot be read.
        """
        if self._encoder is None:
            import onnxruntime

            options = onnxruntime.SessionOptions()
            options.intra_op_num_threads = 1  # the other core reads aloud and draws
            options.log_severity_level = 3
            self._encoder = onnxruntime.InferenceSession(
                str(encoder_file()), options, providers=["CPUExecutionProvider"]
            )
            self._weights = self._weights or {key: value.astype(np.float32) for key, value in learned("net_").items()}
            self._bank = mel_bank()

    def use(self, weights: Mapping[str, Floats]) -> None:
        """Score with `weights`, named as in the data file without its prefix, rather than with those that ship."""
        self._weights = {key: value.astype(np.float32) for key, value in weights.items()}

    def inputs(self, samples: Floats) -> Floats:
        """(T, 368) what our network reads: the encoder's features and the mel rows of mono `samples` at 16 kHz."""
        self.load()
        feeds = {
            "input_values": samples.reshape(1, -1).astype(np.float32, copy=False),
            "attention_mask": np.ones((1, len(samples)), dtype=np.int64),
        }
        features = np.asarray(self._encoder.run(None, feeds)[0][0], dtype=np.float32)
        return np.concatenate([features, mel_rows(samples, len(features), self._bank)], axis=1)

    def scores(self, samples: Floats) -> tuple[Floats, Floats]:
        """(T, 39) log scores of the phones and (T,) of blank for mono `samples` at 16 kHz, at least 50 ms."""
        peak = float(np.abs(samples).max(initial=1e-9))
        samples = (samples * (0.5 / max(peak, 1e-6))).astype(np.float32)
        lead = _lead_in(samples)
        whole = np.concatenate([lead, samples, lead])
        whole = np.pad(whole, (0, max(0, _LEAST - len(whole))))
        logs = self._network(self.inputs(whole))
        logs = logs[len(lead) // (2 * _HOP) :][: max(1, len(samples) // (2 * _HOP))]
        return logs[:, :-1], logs[:, -1] + BLANK_COST

    def _network(self, rows: Floats) -> Floats:
        """(T, 40) log-probabilities of the phones and blank from (T, 368) inputs."""
        weights = self._weights
        hidden = np.maximum(_convolve(rows, weights["c.0.weight"], weights["c.0.bias"]), 0)
        layer = 1
        while f"c.{layer}.weight" in weights:
            hidden += np.maximum(_convolve(hidden, weights[f"c.{layer}.weight"], weights[f"c.{layer}.bias"]), 0)
            layer += 1
        out = _convolve(hidden, weights["o.weight"], weights["o.bias"])
        out -= out.max(axis=1, keepdims=True)
        chances = np.exp(out)
        chances /= chances.sum(axis=1, keepdims=True)
        return np.asarray(np.log(chances + _FLOOR), dtype=np.float32)


def encoder_file() -> Path:
    """The encoder in its package, which itself is not imported: that would load a library we do not use.

    Raises:
        ImportError: the package is not installed, or a version of it without the model is.
    """
    spec = importlib.util.find_spec("moonshine_voice")
    for folder in (spec.submodule_search_locations if spec else None) or ():
        path = Path(folder) / "assets" / "tiny-en" / "encoder_model.ort"
        if path.is_file():
            return path
    raise ImportError("the model tiny-en is not there")


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
    """(frames, 80): two log mel spectra each 24 ms, every band less its mean over the sound, divided by 3."""
    need = (2 * frames - 1) * _HOP + _WINDOW
    padded = np.pad(samples, ((_WINDOW - _HOP) // 2, max(0, need - len(samples))))
    pieces = np.lib.stride_tricks.sliding_window_view(padded, _WINDOW)[::_HOP][: 2 * frames]
    power = np.abs(np.fft.rfft(pieces * np.hanning(_WINDOW).astype(np.float32), _FFT)) ** 2
    logs = np.log(power @ bank + 1e-7)
    logs -= logs.mean(axis=0)
    return np.asarray((logs / 3.0).reshape(frames, 2 * BANDS), dtype=np.float32)


def _convolve(rows: Floats, kernel: Floats, bias: Floats) -> Floats:
    """(T, out) from (T, in): kernel (out, in, width) over time, rows outside taken as zero."""
    width = kernel.shape[2]
    padded = np.pad(rows, ((width // 2, width // 2), (0, 0)))
    out = np.tile(bias, (len(rows), 1))
    for tap in range(width):
        out += padded[tap : tap + len(rows)] @ kernel[:, :, tap].T
    return out
