"""What a voice is to the rest: text in, samples out, in a way that can be given up."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Sound:
    """Mono float32 samples in -1..1 at `rate` Hz."""

    rate: int
    samples: NDArray[np.float32]

    @property
    def seconds(self) -> float:
        """Length in seconds."""
        return len(self.samples) / self.rate


class Voice(Protocol):
    """Renders text. Raises `BayError` when it cannot; the caller decides what is said instead."""

    name: str

    def render(self, text: str) -> Sound:
        """The sound of `text` (one or more sentences)."""
        ...

    def close(self) -> None:
        """End the rendering worker."""
        ...
