"""Part and batch numbers spelled: the alphabet is the published one, and what is spelled is what was meant."""

from __future__ import annotations

import random
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bayvoice.ears.pronounce import Lexicon
from bayvoice.errors import BayError
from bayvoice.host.datafiles import read_language_file
from bayvoice.language.grammar import Grammars
from bayvoice.language.intents import Intent
from bayvoice.language.spelling import LETTERS, LONGEST, MARKS, read_back, spell, unspell, written
from bayvoice.runtime.intake import words_of
from tests.language.shipped import accepts, rule_graph, texts, walk

# Outside check: Commission Implementing Regulation (EU) No 923/2012, SERA.14020, table S14-2.
SERA = (
    "Alfa Bravo Charlie Delta Echo Foxtrot Golf Hotel India Juliett Kilo Lima Mike November Oscar Papa Quebec Romeo "
    "Sierra Tango Uniform Victor Whiskey X-ray Yankee Zulu"
)
GRAPH = rule_graph("spelling.spelling")
NUMBERS = st.from_regex(r"[A-Z0-9]([-/.]?[A-Z0-9]){1,7}", fullmatch=True)


def test_the_alphabet_is_the_published_one() -> None:
    """Word for word; the hyphen of X-ray is not said."""
    assert [word.replace(" ", "-") for word in LETTERS] == SERA.lower().split()


@pytest.mark.parametrize(
    ("said", "number"),
    [
        ("kilo four zero dash seven dash zero three zero", "K40-7-030"),
        ("Victor Tango dash two oh four one", "VT-2041"),
        ("alpha juliet whisky x ray", "AJWX"),
        ("x-ray one", "X1"),
        ("tree fower fife niner", "3459"),
        ("lima double seven stroke triple oh", "L77/000"),
        ("bravo point five slash six", "B.5/6"),
        ("k40-7-030", "K40-7-030"),
        ("lima 4402", "L4402"),
    ],
)
def test_spelled_words_are_the_number(said: str, number: str) -> None:
    """Letters as capitals, noughts kept, ICAO's figures and everyday variants of the words."""
    assert unspell(said.split()) == number


@pytest.mark.parametrize(
    "said",
    ["", "x", "x five", "double", "tango double", "double tango", "double double four", "tango next", "twenty", "ray"],
)
def test_what_is_no_spelling_is_nothing(said: str) -> None:
    """No number is made of half a spelling."""
    assert unspell(said.split()) is None


@given(NUMBERS)
def test_what_is_spelled_is_read_again_and_is_in_the_grammar(number: str) -> None:
    """Both ways, for any number that fits."""
    words = spell(number)
    assert unspell(words) == number
    assert accepts(GRAPH, " ".join(words)) is (len(number) <= LONGEST)


def test_every_utterance_of_the_grammar_is_a_number() -> None:
    """Random walks; between two characters and the longest, a doubled figure counting for more."""
    rng = random.Random(6)
    for _ in range(1000):
        words = walk(GRAPH, rng)
        number = unspell(words)
        assert number is not None, words
        assert re.fullmatch("[A-Z0-9./-]{2,48}", number)


def test_the_grammar_has_every_word_and_no_other() -> None:
    """Letters, figures in both ways of saying them, marks, double and triple."""
    words = {arc.word for arc in GRAPH.arcs}
    figures = {*spell("0123456789"), "oh", "tree", "fower", "fife", "niner", "double", "triple"}
    assert words == {*" ".join(LETTERS).split(), *MARKS.values(), *figures}


def test_every_word_of_the_alphabet_can_be_heard() -> None:
    """With the pronunciations that ship; Quebec as the table has it, KEH BECK."""
    lexicon = Lexicon(read_language_file("en", "pronunciations.toml"))
    assert [word for word in {arc.word for arc in GRAPH.arcs} if not lexicon(word)] == []
    assert len(lexicon("quebec")) == 2


@pytest.mark.parametrize(
    ("number", "said"),
    [
        ("K40-7-030", "kilo four zero, dash, seven, dash, zero three zero"),
        ("VT-2041", "victor tango, dash, two zero four one"),
        ("x1234567", "x-ray, one two three, four five six seven"),
        ("ABCDE", "alfa bravo charlie, delta echo"),
    ],
)
def test_a_number_is_read_back_with_breaths(number: str, said: str) -> None:
    """Groups of at most four, as numbers are read over the telephone (common practice, no source)."""
    assert read_back(number) == said


@settings(max_examples=200)
@given(NUMBERS)
def test_what_is_read_back_is_the_number(number: str) -> None:
    """A listener who writes it down has the number again."""
    assert unspell(read_back(number).replace(",", "").split()) == number


@pytest.mark.parametrize(("number", "message"), [("Ä4", '"Ä" in "Ä4" cannot be spelled'), ("  ", "nothing to spell")])
def test_what_cannot_be_spelled_is_one_sentence(number: str, message: str) -> None:
    """The character is named."""
    with pytest.raises(BayError, match=message):
        spell(number)


@pytest.mark.parametrize(
    ("word", "number"),
    [
        ("K40-7-030", True),
        ("m8", True),
        ("2041-7", True),
        ("32.50", False),
        ("2041", False),
        ("next", False),
        ("km/h", False),
        ("4-", False),
        ("٣a", False),
        ("-5", False),
    ],
)
def test_a_written_number_is_told_from_words_and_values(word: str, number: bool) -> None:
    """Figures with letters or marks between."""
    assert written(word) is number


BATCH = """#JSGF V1.0 UTF-8 en;
grammar states;
import <spelling.spelling>;
import <numbers.value>;
public <label> = batch <spelling> {spelt=} {note} | record <value> {value=} {record};
"""


@pytest.mark.parametrize(
    ("said", "number"),
    [
        ("batch kilo four zero dash oh seven", "K40-07"),
        ("batch K40-07", "K40-07"),
        ("batch 0407", "0407"),
        ("batch lima 44 dash 2", "L44-2"),
    ],
)
def test_a_slot_holds_the_number_spoken_or_typed(said: str, number: str) -> None:
    """Typed figures keep their noughts where a part number is wanted, and are a value where one is."""
    label = Grammars({**texts(), "states.gram": BATCH}).state("label")
    assert label.match(said.split(), spoken=False) == Intent("note", slots=(("spelt", number),))
    found = label.match(["record", "0407.50"], spoken=False)
    assert found is not None
    assert str(found.value) == "407.50"


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("batch K40-7-030", "batch k40-7-030"),
        ("batch 2041-7", "batch 2041-7"),
        ("record 32.5N.m", None),
        ("-5 mm", "minus five millimetres"),
        ("VT/20", "vt/20"),
    ],
)
def test_typed_part_numbers_are_left_whole(typed: str, words: str | None) -> None:
    """Their figures are not values; a unit right after a value still is one."""
    assert " ".join(words_of(typed)) == (words or "record thirty two point five newton metres")
