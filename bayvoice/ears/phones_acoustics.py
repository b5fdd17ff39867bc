"""From sound to log scores of English phones.

The speech encoder (`phones_encoder`) turns the sound into features, and a small convolutional network reads phones off
them. The weights of both are learned by `tests/learn/phones.py` and kept in ``data/phones.npz``.
"""

from __future__ import annotations

from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from bayvoice.ears.base import RATE
from bayvoice.ears.phones_encoder import FRAME, Encoder, convolve, unpacked

Floats = NDArray[np.float32]
DATA: Path = Path(str(resources.files("bayvoice.ears"))) / "data" / "phones.npz"
"""Everything learned: ``enc_`` the encoder, ``net_`` the network behind it, ``judge_`` see `phones_judge`."""
FRAME_S: Final = FRAME / RATE
"""Seconds between rows."""

_LEAD: Final = 8 * FRAME
_LEAST: Final = 3200
"""Samples below which the encoder has too little to go by: shorter sounds are filled up with silence."""
_QUIET: Final = 0.03
"""Quietest frames over the loudest, below which a recording is taken for free of noise. Noise that begins after
silence must never be made here: no bay is like that, and the network falls silent at it. At 0.3, phrases in steady
noise at 10 dB came out as nothing at all."""
_FLOOR: Final = 1e-4
BLANK_COST: Final = -3.0
"""Nats a frame of blank costs: in noise the networks fall silent, and words would be dropped for it."""


class Acoustics:
    """Sound to phone scores. Loads the networks when first used, about 30 MB."""

    def __init__(self) -> None:
        self._encoder: Encoder | None = None
        self._weights: dict[str, Floats] = {}

    def load(self) -> None:
        """Load the networks now rather than with the first sound.

        Raises:
            OSError, EOFError, ValueError, KeyError, zipfile.BadZipFile: ``DATA`` is not there or cannot be read.
        """
        if self._encoder is None:
            self.use(learned("enc_"), learned("net_"))

    def use(self, encoder: Mapping[str, NDArray[Any]], network: Mapping[str, NDArray[Any]]) -> None:
        """Score with these weights, named as in the data file without the prefix, rather than with those that ship."""
        self._encoder = Encoder(unpacked(encoder))
        self._weights = unpacked(network)

    def scores(self, samples: Floats) -> tuple[Floats, Floats]:
        """(T, 39) log scores of the phones and (T,) of blank for mono `samples` at 16 kHz, at least 50 ms."""
        self.load()
        assert self._encoder is not None
        peak = float(np.abs(samples).max(initial=1e-9))
        samples = (samples * (0.5 / max(peak, 1e-6))).astype(np.float32)
        lead = _lead_in(samples)
        whole = np.concatenate([lead, samples, lead])
        whole = np.pad(whole, (0, max(0, _LEAST - len(whole))))
        logs = self._network(self._encoder(whole))
        logs = logs[len(lead) // FRAME :][: max(1, len(samples) // FRAME)]
        return logs[:, :-1], logs[:, -1] + BLANK_COST

    def _network(self, rows: Floats) -> Floats:
        """(T, 40) log-probabilities of the phones and blank from (T, 384) features."""
        weights = self._weights
        hidden = np.maximum(convolve(rows, weights["c.0.weight"], weights["c.0.bias"]), 0)
        layer = 1
        while f"c.{layer}.weight" in weights:
            hidden += np.maximum(convolve(hidden, weights[f"c.{layer}.weight"], weights[f"c.{layer}.bias"]), 0)
            layer += 1
        out = convolve(hidden, weights["o.weight"], weights["o.bias"])
        out -= out.max(axis=1, keepdims=True)
        chances = np.exp(out)
        chances /= chances.sum(axis=1, keepdims=True)
        return np.asarray(np.log(chances + _FLOOR), dtype=np.float32)


def _lead_in(samples: Floats) -> Floats:
    """Quiet to put before and after a sound that begins and ends in speech; nothing where there is noise throughout.

    The networks learned on speech with pauses around it, and hear a sound cut close badly.
    """
    frames = samples[: len(samples) // FRAME * FRAME].reshape(-1, FRAME)
    levels = np.sqrt((frames.astype(np.float64) ** 2).mean(axis=1))
    if not len(levels) or np.quantile(levels, 0.05) > _QUIET * levels.max():
        return np.zeros(0, dtype=np.float32)
    hiss = np.random.default_rng(0).standard_normal(_LEAD)
    return np.asarray(hiss * 1e-4 * np.abs(samples).max(), dtype=np.float32)


def learned(prefix: str) -> dict[str, NDArray[Any]]:
    """The arrays of `DATA` whose names begin with `prefix`, without it."""
    with DATA.open("rb") as file, np.load(file) as arrays:
        return {key[len(prefix) :]: arrays[key] for key in arrays.files if key.startswith(prefix)}
