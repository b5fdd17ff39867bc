"""How alike two words sound, and whether a word will do as the address word of a job."""

from __future__ import annotations

from collections.abc import Collection
from itertools import pairwise
from typing import Final

from bayvoice.ears.pronounce import PHONES, Lexicon, Pronunciation
from bayvoice.errors import BayError
from bayvoice.language.address import rivals
from bayvoice.language.grammar import StateGrammar
from bayvoice.language.texts import tell

LIKE_RIVAL: Final = 0.3
"""Least `word_distance` to a word that could stand in the address word's place: "nest" is 0.14 from "next", "bay" 0.35
from "a", its nearest."""

LIKE_OTHER: Final = 0.1
"""Least `word_distance` to every other word of the job: they are told apart by what is said around them."""

GAP: Final = 0.7
"""A phone more or less. Two of them are dearer than any exchange of one phone for another."""

# Place, manner and voicing of consonants, from the chart of the International Phonetic Association (2020). Places are
# numbered from the lips (0) to the glottis (7), alveolar being 3.
_CONSONANTS: Final[dict[str, tuple[int, str, bool]]] = {
    "P": (0, "plosive", False),
    "B": (0, "plosive", True),
    "T": (3, "plosive", False),
    "D": (3, "plosive", True),
    "K": (6, "plosive", False),
    "G": (6, "plosive", True),
    "CH": (4, "affricate", False),
    "JH": (4, "affricate", True),
    "F": (1, "fricative", False),
    "V": (1, "fricative", True),
    "TH": (2, "fricative", False),
    "DH": (2, "fricative", True),
    "S": (3, "fricative", False),
    "Z": (3, "fricative", True),
    "SH": (4, "fricative", False),
    "ZH": (4, "fricative", True),
    "HH": (7, "fricative", False),
    "M": (0, "nasal", True),
    "N": (3, "nasal", True),
    "NG": (6, "nasal", True),
    "W": (0, "approximant", True),
    "R": (4, "approximant", True),
    "Y": (5, "approximant", True),
    "L": (3, "lateral", True),
}
# Where a vowel begins and ends on the chart: height from close (0) to open (6), front (0) to back (2); same source.
_VOWELS: Final[dict[str, tuple[tuple[float, float], tuple[float, float]]]] = {
    "IY": ((0, 0), (0, 0)),
    "IH": ((1, 0.3), (1, 0.3)),
    "EH": ((4, 0), (4, 0)),
    "AE": ((5, 0), (5, 0)),
    "AA": ((6, 2), (6, 2)),
    "AO": ((4, 2), (4, 2)),
    "AH": ((3.5, 1.3), (3.5, 1.3)),
    "ER": ((3, 1), (3, 1)),
    "UH": ((1, 1.7), (1, 1.7)),
    "UW": ((0, 2), (0, 2)),
    "EY": ((2, 0), (1, 0.3)),
    "AY": ((6, 0.5), (1, 0.3)),
    "AW": ((6, 0.5), (1, 1.7)),
    "OW": ((2, 2), (1, 1.7)),
    "OY": ((4, 2), (1, 0.3)),
}
# In noise the place of a consonant is lost first, voicing and nasality last (G. A. Miller and P. E. Nicely, "An
# analysis of perceptual confusions among some English consonants", JASA 27, 1955), so place tells the least.
_PLACE, _VOICING, _MANNER = 0.25, 0.35, 0.4


def phone_distance(one: int, other: int) -> float:
    """How unlike two phones (indices into `PHONES`) are: 0 the same, 1 nothing in common."""
    a, b = PHONES[one], PHONES[other]
    if a in _CONSONANTS and b in _CONSONANTS:
        (place, manner, voiced), (place_, manner_, voiced_) = _CONSONANTS[a], _CONSONANTS[b]
        return (
            _PLACE * min(1.0, abs(place - place_) / 3) + _MANNER * (manner != manner_) + _VOICING * (voiced != voiced_)
        )
    if a in _VOWELS and b in _VOWELS:
        apart = [abs(h - h_) / 6 + abs(f - f_) / 2 for (h, f), (h_, f_) in zip(_VOWELS[a], _VOWELS[b], strict=True)]
        return min(1.0, sum(apart) / 2)
    return 1.0


def distance(one: Pronunciation, other: Pronunciation) -> float:
    """Least cost of turning one pronunciation into the other: phones exchanged at `phone_distance`, or a gap each.

    The weighted edit distance of R. A. Wagner and M. J. Fischer, JACM 21, 1974.
    """
    row = [GAP * n for n in range(len(other) + 1)]
    for phone in one:
        new = [row[0] + GAP]
        for (aslant, above), phone_ in zip(pairwise(row), other, strict=True):
            new.append(min(aslant + phone_distance(phone, phone_), above + GAP, new[-1] + GAP))
        row = new
    return row[-1]


def word_distance(one: str, other: str, lexicon: Lexicon) -> float:
    """Least distance of their pronunciations, for each phone of the longer one; infinite where one has none."""
    return min(
        (distance(a, b) / max(len(a), len(b)) for a in lexicon(one) for b in lexicon(other)), default=float("inf")
    )


def vet_address(word: str, states: Collection[StateGrammar], lexicon: Lexicon) -> None:
    """Refuse an address word that would be mistaken for a word of the job, or the other way round.

    Args:
        word: the address word.
        states: all that can be said in the job, without an address word, state by state: what cannot be said in the
            same state ("may twenty" and "twenty") is not taken one for the other.
        lexicon: pronunciations.

    Raises:
        BayError: no pronunciation is known, or a word of the job sounds too much like it; the nearest is named.
    """
    mend = tell("ears-choose-another-word-with-address")
    words = frozenset[str]().union(*(state.words for state in states))
    lexicon.prepare({word, *words})
    if not lexicon(word):
        raise BayError(tell("ears-nobody-knows-how-address-word", word=word), "", mend)
    in_its_place = frozenset[str]().union(*(rivals(state.graph) for state in states))
    found = sorted(
        (word_distance(word, other, lexicon) / (LIKE_RIVAL if other in in_its_place else LIKE_OTHER), other)
        for other in words
    )
    if word in words:
        raise BayError(tell("ears-address-word-is-itself-said", word=word), "", mend)
    if found and found[0][0] < 1.0:
        raise BayError(tell("ears-address-word-sounds-too-much", word=word, found=found[0][1]), "", mend)
