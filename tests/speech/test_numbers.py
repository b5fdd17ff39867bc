"""Spoken numbers: every form has the value it should, both ways, and other people's number code agrees."""

from __future__ import annotations

import random
from decimal import Decimal

import inflect
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from text_to_num import alpha2digit

from bayvoice.speech.numbers import digits_of, readings, to_words, value_of
from tests.speech.shipped import accepts, rule_graph, utterances, walk

# How people say numbers at work: common practice, no source.
SAID = [
    ("zero", "0"), ("one", "1"), ("twelve", "12"), ("twenty", "20"), ("thirty two", "32"), ("one hundred", "100"),
    ("a hundred and five", "105"), ("one hundred five", "105"), ("nine hundred and ninety nine", "999"),
    ("twelve hundred", "1200"), ("thirteen hundred and fifty", "1350"), ("a thousand", "1000"),
    ("one thousand and one", "1001"), ("one thousand five", "1005"), ("twelve thousand", "12000"),
    ("two thousand four hundred and fifty", "2450"), ("a hundred thousand", "100000"),
    ("nine hundred and ninety nine thousand nine hundred and ninety nine", "999999"),
    ("thirty two point five", "32.5"), ("thirty two point five zero", "32.50"), ("point one five", "0.15"),
    ("oh point oh five", "0.05"), ("zero point double oh five", "0.005"), ("point oh oh two five", "0.0025"),
    ("thirty two point twenty five", "32.25"), ("point fifty", "0.50"), ("one point fifteen", "1.15"),
    ("a hundred and five point two", "105.2"), ("three two", "32"), ("three two point five", "32.5"),
    ("one oh five", "105"), ("one zero five", "105"), ("one double oh", "100"), ("double five", "55"),
    ("one two three four five", "12345"), ("half", "0.5"), ("a half", "0.5"), ("one half", "0.5"),
    ("a quarter", "0.25"), ("three quarters", "0.75"), ("two and a half", "2.5"), ("two and three quarters", "2.75"),
    ("a hundred and a half", "100.5"), ("one hundred and three quarters", "100.75"),
    ("one hundred and three and three quarters", "103.75"), ("seven eighths", "0.875"),
    ("three sixteenths", "0.1875"), ("minus five", "-5"), ("negative two and a half", "-2.5"),
    ("minus point one zero", "-0.10"), ("minus fifteen", "-15"),
]  # fmt: skip

GROUPED = [
    ("five fifty", ("550", "5.50")), ("twelve oh five", ("1205", "12.05")), ("twenty twenty", ("2020", "20.20")),
    ("thirty two fifty", ("3250", "32.50")), ("one nineteen", ("119", "1.19")),
    ("twenty ten", ("2010", "20.10")),
]  # fmt: skip

NO_NUMBERS = [
    "", "a", "and", "and five", "five and", "point", "five point", "point point five", "five point five point five",
    "hundred", "a hundred and", "one hundred hundred", "twenty hundred", "ten hundred", "thousand", "a thousand and",
    "one thousand thousand", "two thousand and two hundred", "minus", "minus minus five", "five minus", "double",
    "five double", "double double five", "four quarters", "two halves", "three half", "one quarters", "three quarter",
    "five and half", "quarter", "two hundred and", "twenty zero", "point hundred", "one and", "next",
    "thirty seconds", "a five", "hundred five", "twelve hundred thousand", "1e5", "1,5", "٣", "--5", "5.", "nan",
]  # fmt: skip


@pytest.mark.parametrize(("words", "value"), SAID)
def test_a_form_has_its_value_and_is_in_the_grammar(words: str, value: str) -> None:
    """Value, trailing zeros and acceptance of every usual form."""
    assert [str(found) for found in readings(words.split())] == [value]
    assert accepts(rule_graph("numbers.value"), words)


@pytest.mark.parametrize(("words", "values"), GROUPED)
def test_a_grouped_form_has_both_readings_and_is_not_in_the_grammar(words: str, values: tuple[str, ...]) -> None:
    """Two readings are both told, and what has two is never heard."""
    assert tuple(str(found) for found in readings(words.split())) == values
    assert value_of(words.split()) is None
    assert not accepts(rule_graph("numbers.value"), words)


@pytest.mark.parametrize("words", NO_NUMBERS)
def test_what_is_no_number_has_no_reading(words: str) -> None:
    """Nothing is made of words that are not a number, in the reader or in the grammar."""
    assert readings(words.split()) == ()
    assert not accepts(rule_graph("numbers.value"), words)


def test_a_code_beginning_with_a_nought_is_a_number_to_the_reader_only() -> None:
    """ "double oh five" may be 5 or a forgotten point, so the grammar leaves it to codes."""
    assert readings(["double", "oh", "five"]) == (Decimal(5),)
    assert not accepts(rule_graph("numbers.value"), "double oh five")
    assert accepts(rule_graph("numbers.code"), "double oh five")


def test_every_short_utterance_of_the_grammar_has_exactly_one_value() -> None:
    """All utterances of up to four words."""
    said = utterances(rule_graph("numbers.value"), 4)
    assert len(said) > 20_000
    assert [" ".join(words) for words in said if len(readings(words)) != 1] == []


def test_random_utterances_of_the_grammar_have_exactly_one_value() -> None:
    """Long ones too; the value stays under the limit and keeps no more figures than were said."""
    rng = random.Random(2)
    graph = rule_graph("numbers.value")
    for _ in range(4000):
        words = walk(graph, rng)
        found = readings(words)
        assert len(found) == 1, words
        assert abs(found[0]) < 10**6, words


def test_every_utterance_for_counts_and_codes_is_understood() -> None:
    """`small` covers 1 to 99 and nothing else; codes keep their noughts."""
    assert sorted(int(str(value_of(words))) for words in utterances(rule_graph("numbers.small"), 3)) == [*range(1, 100)]
    rng = random.Random(3)
    for _ in range(500):
        words = walk(rule_graph("numbers.code"), rng)
        figures = digits_of(words)
        assert figures is not None
        assert 2 <= len(figures) <= 18
    assert digits_of(["oh", "four", "double", "seven"]) == "0477"
    assert digits_of(["oh", "double"]) is None


@given(st.decimals(min_value=-999_999, max_value=999_999, places=4) | st.integers(-999_999, 999_999).map(Decimal))
def test_what_is_spoken_is_understood(value: Decimal) -> None:
    """`to_words`, the reader and the grammar agree, trailing zeros included."""
    words = to_words(value)
    assert value == 0 or str(value_of(words.split())) == f"{value:f}"
    if value or not words.startswith("minus"):
        assert accepts(rule_graph("numbers.value"), words)


@settings(max_examples=300)
@given(st.decimals(min_value=0, max_value=999_999, places=3) | st.integers(0, 999_999).map(Decimal))
def test_inflect_writes_and_we_read(value: Decimal) -> None:
    """Outside check: words made by the package inflect 7.6 ("f" format, hyphens to spaces)."""
    words = str(inflect.engine().number_to_words(f"{value:f}", andword="", comma="")).replace("-", " ")
    assert str(value_of(words.split())) == f"{value:f}"


@settings(max_examples=300)
@given(st.decimals(min_value=0, max_value=999_999, places=3) | st.integers(0, 999_999).map(Decimal))
def test_we_write_and_text2num_reads(value: Decimal) -> None:
    """Outside check: the package text2num 3.1 reads our words back, figure for figure."""
    assert alpha2digit(to_words(value), "en", threshold=0) == f"{value:f}"


def test_text2num_agrees_on_random_cardinals_of_the_grammar() -> None:
    """Outside check: cardinals and decimals said in full, as the grammar makes them, without our short forms."""
    rng = random.Random(4)
    graph = rule_graph("numbers.value")
    short = {"a", "oh", "double", "triple", "half", "quarter", "minus", "negative", "zero"}
    tried = 0
    for _ in range(6000):
        words = walk(graph, rng)
        if short & set(words) or words[-1].endswith(("s", "h")) or "point" in words or not {"hundred"} & set(words):
            continue
        tried += 1
        assert alpha2digit(" ".join(words), "en", threshold=0) == str(value_of(words)), words
    assert tried > 100


@pytest.mark.parametrize("value", ["1000000", "-1000000", "NaN", "Infinity"])
def test_what_cannot_be_said_is_refused(value: str) -> None:
    """Numbers outside the range are an error, not a wrong sentence."""
    with pytest.raises(ValueError, match="outside"):
        to_words(Decimal(value))


def test_typed_figures_are_numbers() -> None:
    """Figures stand for words, zeros kept."""
    assert readings(["32.50"]) == (Decimal("32.50"),)
    assert str(value_of(["-.5"])) == "-0.5"
