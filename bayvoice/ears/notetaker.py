"""The sound of a note: from the word "note" until its speaker falls silent."""

from __future__ import annotations

import io
import wave
from typing import Final

import numpy as np

from bayvoice.ears.base import RATE, Samples

SILENCE_S: Final = 2.0
"""Silence after speech that ends a note, seconds; the gate calls it silence half a second later still."""
NOBODY_S: Final = 8.0
"""Seconds in which somebody must begin to speak."""


class NoteTaker:
    """Keeps sound block by block and tells when the note is over. One thread."""

    def __init__(self) -> None:
        self._blocks: list[Samples] = []
        self._samples = 0
        self._spoke_at: int | None = None

    @property
    def seconds(self) -> float:
        """How much sound is kept."""
        return self._samples / RATE

    @property
    def spoken(self) -> bool:
        """Whether anybody has spoken."""
        return self._spoke_at is not None

    def feed(self, block: Samples, speaking: bool) -> bool:
        """Keep `block`, 16 kHz mono float32. `speaking`: somebody speaks in it. True once the note is over."""
        self._blocks.append(block.copy())
        self._samples += len(block)
        if speaking:
            self._spoke_at = self._samples
        if self._spoke_at is None:
            return self._samples >= NOBODY_S * RATE
        return self._samples - self._spoke_at >= SILENCE_S * RATE

    def wav(self) -> bytes:
        """All of it as a WAV file, 16-bit mono."""
        sound = np.concatenate(self._blocks) if self._blocks else np.zeros(0, np.float32)
        out = io.BytesIO()
        with wave.open(out, "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(2)
            file.setframerate(RATE)
            file.writeframes(np.rint(np.clip(sound, -1.0, 1.0) * 32767.0).astype("<i2").tobytes())
        return out.getvalue()
