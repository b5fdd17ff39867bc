"""Spoken numbers: every form has the value it should, both ways, and other people's number code agrees."""

from __future__ import annotations

import random
from collections import Counter
from decimal import Decimal

import inflect
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from text_to_num import alpha2digit

from bayvoice.language.intents import Intent
from bayvoice.language.numbers import HEDGES, choose, digits_of, far_off, plausible, readings, to_words, value_of
from tests.language.said import SAID
from tests.language.shipped import accepts, grammars, rule_graph, utterances, walk

GROUPED = [
    ("five fifty", ("550", "5.50")),
    ("twelve oh five", ("1205", "12.05")),
    ("twenty twenty", ("2020", "20.20")),
    ("thirty two fifty", ("3250", "32.50")),
    ("one nineteen", ("119", "1.19")),
    ("twenty ten", ("2010", "20.10")),
    ("twenty one fifteen", ("2115", "21.15")),
    ("twenty one oh five", ("2105", "21.05")),
    ("minus five fifty", ("-550", "-5.50")),
    ("double oh five", ("5", "0.05", "0.005")),
    ("double zero two", ("2", "0.02", "0.002")),
]

NO_NUMBERS = [
    "",
    "a",
    "and",
    "and five",
    "five and",
    "point",
    "five point",
    "point point five",
    "five point five point five",
    "hundred",
    "a hundred and",
    "one hundred hundred",
    "twenty hundred",
    "ten hundred",
    "thousand",
    "a thousand and",
    "one thousand thousand",
    "two thousand and two hundred",
    "minus",
    "minus minus five",
    "five minus",
    "double",
    "five double",
    "double double five",
    "four quarters",
    "two halves",
    "three half",
    "one quarters",
    "three quarter",
    "five and half",
    "quarter",
    "two hundred and",
    "twenty zero",
    "point hundred",
    "one and",
    "next",
    "ten tenths",
    "one tenths",
    "two tenth",
    "tenths",
    "a hundred and five thousandths",
    "a hundred hundredths",
    "plus or minus five",
    "about five",
    "plus minus five",
    "minus zero and",
    "five fifty point",
    "five hundred ten ten",
    "thirty seconds",
    "a five",
    "hundred five",
    "twelve hundred thousand",
    "1e5",
    "1,5",
    "٣",
    "--5",
    "5.",
    "nan",
]


@pytest.mark.parametrize(("words", "value"), SAID)
def test_a_form_has_its_value_and_is_in_the_grammar(words: str, value: str) -> None:
    """Value, trailing zeros and acceptance of every usual form."""
    assert [str(found) for found in readings(words.split())] == [value]
    assert accepts(rule_graph("numbers.value"), words)


@pytest.mark.parametrize(("words", "values"), GROUPED)
def test_words_with_several_readings_give_all_of_them(words: str, values: tuple[str, ...]) -> None:
    """None is preferred: there is no one value, and an intent carries every reading."""
    assert tuple(str(found) for found in readings(words.split())) == values
    assert value_of(words.split()) is None
    assert accepts(rule_graph("numbers.value"), words)
    intent = grammars().state("measure").match(["record", *words.split(), "millimetres"])
    assert intent == Intent("record", None, "mm", (), tuple(Decimal(value) for value in values))
    assert intent.value is None


@pytest.mark.parametrize("words", NO_NUMBERS)
def test_what_is_no_number_has_no_reading(words: str) -> None:
    """Nothing is made of words that are not a number, in the reader or in the grammar."""
    assert readings(words.split()) == ()
    assert not accepts(rule_graph("numbers.value"), words)


def test_a_nought_in_front_is_read_every_way_also_where_the_grammar_leaves_it_to_codes() -> None:
    """The grammar hears only "double oh": "oh" alone is too short a sound to begin many numbers with."""
    assert readings(["oh", "five"]) == (Decimal(5), Decimal("0.5"), Decimal("0.05"))
    assert not accepts(rule_graph("numbers.value"), "oh five")
    assert accepts(rule_graph("numbers.code"), "oh five")
    assert digits_of(["double", "oh", "five"]) == "005"


def test_every_short_utterance_of_the_grammar_has_a_value() -> None:
    """All utterances of up to four words: one value, two for groups, three after noughts in front."""
    said = utterances(rule_graph("numbers.value"), 4)
    assert len(said) > 20_000
    found = Counter(len(readings(words)) for words in said)
    assert set(found) == {1, 2, 3}
    assert found[3] == 2 * 9 * 4  # double oh/zero, nine digits, no sign or one of three
    assert all(words[-3:-1] == ["double", "oh"] or "zero" in words for words in said if len(readings(words)) == 3)


def test_random_utterances_of_the_grammar_have_a_value() -> None:
    """Long ones too; the value stays under the limit."""
    rng = random.Random(2)
    graph = rule_graph("numbers.value")
    for _ in range(4000):
        words = walk(graph, rng)
        found = readings(words)
        assert 1 <= len(found) <= 3, words
        assert all(abs(value) < 10**6 for value in found), words


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
    short = {"a", "oh", "double", "triple", "half", "quarter", "minus", "negative", "plus", "zero"}
    tried = 0
    for _ in range(16_000):
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


LIMITS = [
    # readings, low, high, what was meant
    ("5.0 5.9", "550 5.50", "5.50"),
    ("500 600", "550 5.50", "550"),
    ("40 50", "550 5.50", "5.50"),  # outside, but a value; 550 is eleven times off
    ("50 60", "550 5.50", None),  # each is within ten times
    ("2000 2200", "2115 21.15", "2115"),
    ("20 22", "2115 21.15", "21.15"),
    ("- 0.05", "5 0.05 0.005", None),  # 0.05 and 0.005 are both within
    ("0.05 0.06", "5 0.05 0.005", "0.05"),
    ("-0.10 0.10", "-5 -0.05 -0.005", None),
    ("-8 -3", "-550 -5.50", "-5.50"),
    ("- 600", "550 5.50", None),  # nothing is too little where there is no lower limit
    ("5 -", "550 5.50", None),
    ("100 -", "550 5.50", "550"),
    ("- -", "550 5.50", None),
    ("5 6", "9000 90", None),  # none is near
    ("5 6", "9000", "9000"),  # said plainly: a value, to be questioned
]


@pytest.mark.parametrize(("limits", "said", "meant"), LIMITS)
def test_limits_decide_between_readings_only_where_one_is_left(limits: str, said: str, meant: str | None) -> None:
    """Worked by hand from the rule: too far is ten times the upper limit, or a tenth of the lower."""
    low, high = (None if limit == "-" else Decimal(limit) for limit in limits.split())
    found = choose([Decimal(value) for value in said.split()], low, high)
    assert (None if found is None else str(found)) == meant


@pytest.mark.parametrize(
    ("value", "limits", "far"),
    [
        ("60", "5 6", True),
        ("59.9", "5 6", False),
        ("0.5", "5 6", True),
        ("0.51", "5 6", False),
        ("-5", "5 6", True),
        ("-60", "-6 -5", True),
        ("-0.5", "-6 -5", True),
        ("-0.51", "-6 -5", False),
        ("5", "-6 -5", True),
        ("1", "0 0.1", True),
        ("-1", "0 0.1", True),
        ("-0.99", "0 0.1", False),
        ("3", "0 0", False),
        ("0", "5 -", True),
        ("900", "5 -", False),
        ("-900", "- 5", False),
        ("50", "- 5", True),
        ("-0.05", "- -0.5", True),
        ("32.5", "30 35", False),
        ("0", "0 0", False),
        ("7", "- -", False),
    ],
)
def test_what_is_ten_times_off_is_too_far(value: str, limits: str, far: bool) -> None:
    """Worked by hand, at the bounds, for limits on either side of zero and one-sided ones."""
    low, high = (None if limit == "-" else Decimal(limit) for limit in limits.split())
    assert far_off(Decimal(value), low, high) is far


@given(
    st.lists(st.decimals(-1000, 1000, places=2), min_size=2, max_size=3, unique=True),
    st.decimals(-100, 100, places=1),
    st.decimals(0, 100, places=1),
)
def test_a_value_within_its_limits_is_plausible_and_a_choice_is_the_only_one(
    values: list[Decimal], low: Decimal, span: Decimal
) -> None:
    """Nothing is chosen while another reading would do."""
    left = plausible(values, low, low + span)
    assert [value for value in values if low <= value <= low + span and value not in left] == []
    assert choose(values, low, low + span) == (left[0] if len(left) == 1 else None)


HEDGED = [
    "about five",
    "record roughly thirty two point five newton metres",
    "nearly half a millimetre",
    "plus or minus five hundredths",
    "thirty two point five plus or minus point five",
    "thirty two plus or minus two newton metres",
    "about two and a half plus or minus one",
]


@pytest.mark.parametrize("said", HEDGED)
def test_a_hedged_value_is_understood_as_none(said: str) -> None:
    """It is heard, so that it can be refused by name, and carries no number that could be recorded."""
    found = grammars().state("measure").match(said.split())
    assert found is not None
    assert (found.value, found.readings) == (None, ())
    assert found.slot("hedge") in HEDGES
    assert readings(said.split()) == ()


@pytest.mark.parametrize(
    ("said", "value", "unit"),
    [
        ("three sixteenths of an inch", "0.1875", "in"),
        ("half a millimetre", "0.5", "mm"),
        ("minus a quarter of an inch", "-0.25", "in"),
        ("five hundredths of a millimetre", "0.05", "mm"),
        ("three quarters of a litre", "0.75", "l"),
        ("twenty five thou", "25", "thou"),
        ("half an inch", "0.5", "in"),
    ],
)
def test_a_part_of_a_unit_is_a_value(said: str, value: str, unit: str) -> None:
    """As people say small lengths."""
    found = grammars().state("measure").match(said.split())
    assert found == Intent("record", Decimal(value), unit)


def test_an_intent_with_one_reading_has_a_value() -> None:
    """Value and readings cannot contradict each other."""
    assert Intent("record", Decimal("5.50")).readings == (Decimal("5.50"),)
    assert Intent("record", readings=(Decimal(5),)).value == Decimal(5)
    assert Intent("record", readings=(Decimal(550), Decimal("5.5"))).value is None
    with pytest.raises(ValueError, match="no other readings"):
        Intent("record", Decimal(5), readings=(Decimal(5), Decimal(6)))
