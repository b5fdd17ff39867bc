"""Vetting with what the ears know: their dictionary, and how alike they find two phrases."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from itertools import chain
from typing import Final

from bayvoice.edges.datafiles import read_language_file
from bayvoice.edges.ears.likeness import GAP, phone_distance
from bayvoice.edges.ears.pronounce import PHONES, Lexicon, Pronunciation
from bayvoice.procedure.sounds import Costs, Sounds

LEAST: Final = 0.15
"""Least distance a phone of two names that are heard in the same place."""


def sounds(language: str = "en") -> Sounds:
    """What the recogniser's dictionary of `language` knows of words; it is read when first asked."""
    lexicon = Lexicon(read_language_file(language, "pronunciations.toml"))

    def said(words: Iterable[str]) -> dict[str, str]:
        words = list(words)
        lexicon.prepare(chain(words, (word[:-1] for word in words if word.endswith("s"))))
        return {word: "" if lexicon.listed(word) else _written(lexicon(word)) for word in words}

    return Sounds(said, lexicon, _costs())


@cache
def _costs() -> Costs:
    every = range(len(PHONES))
    return Costs([[phone_distance(a, b) for b in every] for a in every], GAP, LEAST)


def _written(said: tuple[Pronunciation, ...]) -> str:
    return " ".join(PHONES[phone] for phone in said[0]) if said else "nobody knows how"
