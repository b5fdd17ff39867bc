"""The interface every recogniser offers, and what it returns."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol, runtime_checkable

import numpy as np
from numpy.typing import NDArray

from bayvoice.language.grammar import StateGrammar

RATE = 16_000
"""Sample rate of everything inside the ears, Hz; mono float32 in -1..1."""

Samples = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class HeardWord:
    """One word with its time, seconds from the first sample of the utterance."""

    text: str
    began_s: float
    ended_s: float
    sure: float | None = None


@dataclass(frozen=True, slots=True)
class Hearing:
    """What a recogniser made of one utterance.

    Attributes:
        engine: the recogniser's name.
        words: best words the active grammar allows, lower case; empty when none.
        margin: how far it beat the free competitor, nats per second of speech; None where the engine has none.
        timed: the words with times.
        runner_up: best words with another meaning, if any; runner_up_margin: by how many nats it lost.
        why: reason the engine itself refuses it ("" when it stands).
        sure: natural-log odds that this is what was said; None where the engine cannot tell.
    """

    engine: str
    words: tuple[str, ...]
    margin: float | None = None
    timed: tuple[HeardWord, ...] = ()
    runner_up: tuple[str, ...] = ()
    runner_up_margin: float | None = None
    why: str = ""
    sure: float | None = None


class Recogniser(Protocol):
    """One owner thread calls all of it. A grammar changes only between utterances."""

    name: str

    def missing(self, words: frozenset[str]) -> frozenset[str]:
        """Those of `words` the engine has no pronunciation for."""
        ...

    def use(self, grammar: StateGrammar) -> None:
        """Make `grammar` the active one. Not between `begin` and `finish`."""
        ...

    def begin(self) -> None:
        """An utterance begins."""
        ...

    def feed(self, block: Samples) -> tuple[str, ...]:
        """Take more of the utterance (any length, 16 kHz); the words so far, possibly empty."""
        ...

    def guess(self) -> Hearing | None:
        """What the sound so far would be if it ended here; the utterance stays open. None where it cannot tell."""
        ...

    def finish(self) -> Hearing:
        """The utterance has ended."""
        ...

    def drop(self) -> None:
        """The utterance has ended, and what it was is known from a guess or not wanted."""
        ...

    def close(self) -> None:
        """Free the engine."""
        ...


@runtime_checkable
class Surrounded(Protocol):
    """A recogniser that also wants the sound of the bay before an utterance, which it learns the noise from."""

    def before(self, sound: Samples) -> None:
        """The sound right before what is fed first; after `begin`, before `feed`. Nobody has spoken in it."""
        ...
