"""From sound to log scores of English phones: the `hama` speech network, then what was learned about its habits."""

from __future__ import annotations

from importlib import resources
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bayvoice.edges.ears.pronounce import INDEX, IPA, PHONES

Floats = NDArray[np.float32]
FRAME_S = 0.02
"""Seconds between rows of the network (2 x 160 samples at 16 kHz, as hama's documentation of its output says)."""
FLOOR = 1e-4


class Acoustics:
    """Sound to phone scores. Loads the network when first used, about 10 MB."""

    def __init__(self) -> None:
        self._model: Any = None
        self._mixing: Floats | None = None

    def load(self) -> None:
        """Load the network now rather than with the first sound."""
        if self._model is None:
            from hama import ASRModel

            self._model = ASRModel()
            self._mixing = _mixing(list(self._model.decoder_tokens))

    def rows(self, samples: Floats) -> Floats:
        """(T, 163) log-probabilities of the network's own tokens for mono `samples` at 16 kHz."""
        self.load()
        if len(samples) < 800:
            samples = np.pad(samples, (0, 800 - len(samples)))
        feeds = {
            "waveform": samples.reshape(1, -1).astype(np.float32, copy=False),
            "waveform_lengths": np.array([len(samples)], dtype=np.int64),
        }
        found, lengths = self._model.session.run(["log_probs", "out_lengths"], feeds)
        return np.asarray(found[0][: int(np.asarray(lengths).reshape(-1)[0])], dtype=np.float32)

    def scores(self, rows: Floats) -> tuple[Floats, Floats]:
        """(T, 39) log scores of the phones and (T,) of blank, from `rows`."""
        assert self._mixing is not None
        mixed = np.log(np.exp(rows) @ self._mixing + FLOOR).astype(np.float32)
        return mixed[:, :-1], mixed[:, -1]


def _mixing(tokens: list[str]) -> Floats:
    """(tokens, 40) weight of each network token for each phone; the last column is blank."""
    learned = resources.files("bayvoice.edges.ears") / "data" / "phones.npz"
    if learned.is_file():
        with learned.open("rb") as file:
            return np.asarray(np.load(file)["mixing"], dtype=np.float32)
    mixing = np.zeros((len(tokens), len(PHONES) + 1), dtype=np.float32)
    for number, token in enumerate(tokens):
        if token in ("<blank>", "<wb>"):
            mixing[number, -1] = 1.0
        elif token in IPA:
            mixing[number, INDEX[IPA[token]]] = 1.0
    return mixing
