"""A recording used as microphone."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import soxr

from bayvoice.ears.base import RATE, Samples
from bayvoice.ears.wavefile import WavForm, read_blocks, read_form

BLOCK = RATE // 50
"""Samples of one block, 20 ms."""


class Tape:
    """A WAV file of any rate, width and length as 16 kHz mono blocks of 20 ms, read as it is played.

    Args:
        path: the file.

    Raises:
        BayError: it cannot be read or is no WAV file of a supported kind.
    """

    def __init__(self, path: str | os.PathLike[str]) -> None:
        self.path = Path(path)
        self.form: WavForm = read_form(self.path)

    @property
    def duration_s(self) -> float:
        """Length in seconds."""
        return self.form.frames / self.form.rate

    def __iter__(self) -> Iterator[Samples]:
        """From the first block to the last, which may be shorter; every call begins anew."""
        left = np.zeros(0, np.float32)
        for piece in self._resampled():
            sound = np.concatenate([left, piece]) if len(left) else piece
            whole = len(sound) // BLOCK * BLOCK
            for start in range(0, whole, BLOCK):
                yield sound[start : start + BLOCK]
            left = sound[whole:]
        if len(left):
            yield left

    def _resampled(self) -> Iterator[Samples]:
        pieces = read_blocks(self.path, self.form, max(1, self.form.rate // 2))
        if self.form.rate == RATE:
            yield from pieces
            return
        stream = soxr.ResampleStream(self.form.rate, RATE, 1, dtype="float32")
        for piece in pieces:
            yield stream.resample_chunk(piece)
        yield stream.resample_chunk(np.zeros(0, np.float32), last=True)
