"""How far apart phrases sound: the measured costs are sound ones, and near pairs are found."""

from __future__ import annotations

from itertools import combinations
from statistics import mean

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rapidfuzz.distance import Levenshtein

from bayvoice.ears.pronounce import Lexicon
from bayvoice.host.datafiles import read_language_file
from bayvoice.language.distance import MEASURED, VARIANTS, Costs, distance, near, phrase_distance, ways
from bayvoice.language.phones import INDEX, PHONES

LEXICON = Lexicon(read_language_file("en", "pronunciations.toml"))
ROWS = st.lists(st.integers(0, len(PHONES) - 1), max_size=8)


def apart(one: str, other: str) -> float:
    return phrase_distance(one.split(), other.split(), LEXICON)


def test_the_table_is_a_table_of_distances() -> None:
    """Square, nothing from a phone to itself, the same both ways, nothing above 1."""
    assert len(MEASURED.swap) == len(PHONES)
    for a in range(len(PHONES)):
        assert len(MEASURED.swap[a]) == len(PHONES)
        assert MEASURED.swap[a][a] == 0
        for b in range(a):
            assert MEASURED.swap[a][b] == MEASURED.swap[b][a]
            assert 0 < MEASURED.swap[a][b] <= 1
    assert 0 < MEASURED.gap <= 1


# Outside check: in noise, listeners take consonants for others of their own kind: G. A. Miller and P. E. Nicely, "An
# analysis of perceptual confusions among some English consonants", JASA 27, 1955, whose groups these are.
KINDS = ("P T K", "F TH S SH", "B D G V DH Z ZH", "M N")


def test_consonants_are_nearest_to_their_own_kind() -> None:
    """The recogniser's confusions have the order that people's have."""
    groups = [[INDEX[phone] for phone in kind.split()] for kind in KINDS]
    within = [MEASURED.swap[a][b] for group in groups for a, b in combinations(group, 2)]
    across = [MEASURED.swap[a][b] for one, two in combinations(groups, 2) for a in one for b in two]
    assert mean(within) < mean(across) - 0.1


def test_vowels_are_nearer_to_vowels_than_to_consonants() -> None:
    """IPA chart (2020): what is a vowel."""
    vowels = [n for n, phone in enumerate(PHONES) if phone[0] in "AEIOU"]
    others = [n for n in range(len(PHONES)) if n not in vowels]
    assert len(vowels) == 15
    between = mean(MEASURED.swap[a][b] for a in vowels for b in others)
    assert mean(MEASURED.swap[a][b] for a, b in combinations(vowels, 2)) < between


@pytest.mark.parametrize(
    ("one", "near_it", "far_from_it"),
    [
        ("thirteen", "thirty", "seven"),
        ("fifty", "fifteen", "eighty"),
        ("upper gap", "upper cap", "lower gear"),
        ("nest", "next", "bay"),
        ("twelve newton metres", "twelve newton metre", "twelve degrees"),
    ],
)
def test_phrases_known_to_be_confused_are_near(one: str, near_it: str, far_from_it: str) -> None:
    """Minimal pairs of everyday work (common practice, no source)."""
    assert 0 < apart(one, near_it) < apart(one, far_from_it)


@settings(max_examples=300)
@given(ROWS, ROWS)
def test_distance_is_symmetric_and_bounded(one: list[int], other: list[int]) -> None:
    """With the measured costs; never dearer than leaving all out and putting all in, nor than one gap a phone more."""
    most = MEASURED.gap * (len(one) + len(other)) + 1
    there, back = distance(one, other, MEASURED, most), distance(other, one, MEASURED, most)
    assert there is not None
    assert there == pytest.approx(back)
    assert abs(len(one) - len(other)) * MEASURED.gap - 1e-9 <= there <= most
    assert distance(one, one, MEASURED, 1.0) == 0


def test_with_costs_of_one_a_phrase_distance_is_the_edit_distance_a_phone() -> None:
    """Outside check: V. I. Levenshtein's distance (1966) from the library rapidfuzz."""
    same = Costs([[float(a != b) for b in range(39)] for a in range(39)], 1.0)
    words = ["gasket", "bracket", "torque", "shim", "washer", "bearing", "cover", "lever"]
    for one, other in combinations(words, 2):
        a, b = LEXICON(one)[0], LEXICON(other)[0]
        found = phrase_distance([one], [other], lambda word: LEXICON(word)[:1], same)
        assert found == pytest.approx(Levenshtein.distance(a, b) / max(len(a), len(b)))


def test_near_pairs_are_those_of_all_pairs() -> None:
    """Stopping early changes nothing; the earlier phrase comes first."""
    phrases = [
        text.split()
        for text in (
            "gear backlash",
            "gear back lash",
            "shaft end float",
            "shaft and float",
            "cover bolt torque",
            "drain plug",
            "guide pin",
            "guide bin",
            "upper gap",
            "upper cap",
        )
    ]
    found = {(one, two): far for far, one, two in near(phrases, LEXICON, 0.2)}
    for one, two in combinations(range(len(phrases)), 2):
        far = phrase_distance(phrases[one], phrases[two], LEXICON)
        assert ((one, two) in found) == (far < 0.2)
        assert found.get((one, two), far) == pytest.approx(far)
    assert {(0, 1), (2, 3), (6, 7), (8, 9)} <= set(found)


def test_what_cannot_be_pronounced_is_far_from_everything() -> None:
    """No pronunciation, no words: infinitely far, and in no pair."""
    assert phrase_distance(["§"], ["gap"], LEXICON) == float("inf")
    assert phrase_distance([], [], LEXICON) == float("inf")
    assert list(near([["§"], ["gap"], []], LEXICON, 1.0)) == []


def test_a_phrase_has_a_few_ways_of_being_said() -> None:
    """Of many combinations the usual ones first."""
    found = ways("four quarter hundred zero litre".split(), LEXICON)  # noqa: SIM905
    assert len(found) == VARIANTS
    assert found[0] == sum((LEXICON(word)[0] for word in ("four", "quarter", "hundred", "zero", "litre")), ())
