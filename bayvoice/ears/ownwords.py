"""When the product itself says "stop": told from what it is reading, and since when."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

from bayvoice.language.saying import speakable

FASTEST, SLOWEST = 20.0, 11.0
"""Letters and spaces a second. Over steps of the shipped procedures and short answers the two voices of the product
say 11.6 to 19.1, pauses between sentences included."""
EARLY_S: Final = 0.2
LATE_S: Final = 1.0
"""Around the moments worked out: the sound card's delay, the block of sound in which the reading began, the room."""


class OwnWords:
    """Keeps the moments at which `word` may sound from the product's loudspeaker.

    Args:
        word: one word, lower case.
        akin: patterns of what sounds like it in running speech.
    """

    def __init__(self, word: str, akin: Iterable[str] = ()) -> None:
        self._word = re.compile("|".join((rf"\b{re.escape(word)}", *akin)))
        self._spans: list[tuple[float, float]] = []
        self._open: list[tuple[float, float]] = []

    def begin(self, text: str, now_s: float) -> None:
        """The product begins to say `text`."""
        self.end(now_s)
        said = speakable(text).lower()
        self._open = [
            (
                now_s + found.start() / FASTEST - EARLY_S,
                now_s + found.end() / SLOWEST + LATE_S,
            )
            for found in self._word.finditer(said)
        ]

    def end(self, now_s: float) -> None:
        """It is silent from `now_s` on, whatever was left of the text."""
        self._spans = [span for span in self._spans if span[1] > now_s - 30.0]
        self._spans += [(low, min(high, now_s + LATE_S)) for low, high in self._open if low < now_s]
        self._open = []

    def between(self, began_s: float, ended_s: float) -> bool:
        """Whether the word may have been said by the product at any moment of the stretch."""
        return any(low < ended_s and began_s < high for low, high in (*self._spans, *self._open))
