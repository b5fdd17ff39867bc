"""Words that can be said, kept in the ear and told apart; figures that make sense; last off, first on."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rapidfuzz.distance import Levenshtein

from bayvoice.ears.dictionary import sounds
from bayvoice.language.distance import Costs, distance
from bayvoice.procedure.load import load_text
from bayvoice.procedure.spoken import about_text, expanded
from bayvoice.procedure.vet import Vetting, vet

HEAD = 'format = 1\ntitle = "T"\nmachine = "M"\n'


def do(say: str, step_id: str = "a", more: str = "") -> str:
    return f'[[step]]\nid = "{step_id}"\nkind = "do"\nsay = "{say}"\n{more}'


def vetted(body: str) -> Vetting:
    return vet(load_text(HEAD + body, "x.toml"), "x.toml", sounds())


def warnings(body: str) -> list[str]:
    return [str(each) for each in vetted(body).warnings]


def test_as_many_words_as_the_ear_keeps() -> None:
    """Twenty-five are kept, twenty-six are not."""
    assert list(about_text("a", "say", "now " * 25)) == []
    (remark,) = about_text("a", "say", "now " * 26)
    assert "26 words" in remark.what


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("Turn it to TDC.", "top dead centre"),
        ("Fit the cover c/w seal.", "complete with"),
        ("Look at fig. 3 first.", "figure"),
        ("Disconnect the PTO.", "power take-off"),
        ("Fit the lid w/ its seal.", "with"),
        ("Take out the brg first.", "bearing"),
    ],
)
def test_abbreviations_are_named_with_what_they_stand_for(text: str, meant: str) -> None:
    """What a voice cannot read out is written out."""
    assert [f'write "{meant}"' == each.mend for each in about_text("a", "say", text)] == [True]


@pytest.mark.parametrize(
    "text",
    [
        "Fit it.",
        "Tighten to 24 N.m.",
        "Turn it OFF.",
        "Oil approx. 2 l.",
        "Set it in position.",
        "A fig leaf.",
        "Read the spec. Then fit it.",
        "Use an M8 bolt.",
        "Turn on the K40.",
    ],
)
def test_words_that_are_no_abbreviations(text: str) -> None:
    """Words, figures, units, and abbreviations the voice expands by itself."""
    assert list(about_text("a", "say", text)) == []


def test_letters_that_will_be_spelled_are_shown() -> None:
    """Nobody knows what it stands for, so how it will sound is told."""
    (remark,) = about_text("a", "say", "Open the XQV valve.")
    assert "ex cue vee" in remark.what


def test_what_is_said_in_other_words_is_listed() -> None:
    """Units and abbreviations as the voice will say them."""
    made = load_text(HEAD + do("Fill in approx. 2 l, then wait."), "x.toml")
    assert expanded(made) == {"approx.": "approximately", "2 l": "two litres"}


@pytest.mark.parametrize(
    ("say", "show", "said"),
    [
        ("Open the cap. Beware of hot oil.", "", "heard after the act"),
        ("Pull the pin. Do not stand under it.", "", "heard after the act"),
        ("Pull the pin.", "WARNING: it flies off.", "the signal word WARNING stands in the text"),
        ("Pull the pin, DANGER.", "", "after the act"),
    ],
)
def test_a_caution_stands_before_the_act(say: str, show: str, said: str) -> None:
    """In the words of the step it would be heard too late."""
    found = warnings(do(say, more=f'show = "{show}"\n' if show else ""))
    assert len(found) == 1
    assert said in found[0]


def test_a_caution_before_the_act_is_fine() -> None:
    """As a caution of its own, or as the very first words."""
    assert warnings(do("Do not turn the key.")) == []
    assert warnings(do("Pull.", more='caution = { signal = "WARNING", text = "Do not stand under it." }\n')) == []


def measure(name: str, low: str, high: str, unit: str = "mm", step_id: str = "m") -> str:
    return (
        f'[[step]]\nid = "{step_id}"\nkind = "measure"\nsay = "M."\nname = "{name}"\nunit = "{unit}"\n'
        f'low = "{low}"\nhigh = "{high}"\n'
    )


@pytest.mark.parametrize(
    ("low", "high", "unit", "said"),
    [
        ("-300", "20", "degC", "below absolute zero"),
        ("0.02", "10", "mm", "500 times apart"),
        ("-1", "2", "l", "not what is measured"),
        ("1500", "3100", "N.m", "not what is measured"),
        ("-2", "6", "bar", "not what is measured"),
    ],
)
def test_limits_that_make_no_sense(low: str, high: str, unit: str, said: str) -> None:
    """A wrong unit or a slipped point is pointed out; a vacuum deeper than the air is one."""
    found = warnings(measure("gap", low, high, unit))
    assert len(found) == 1
    assert said in found[0]


BOLTS = '[[step]]\nid = "{}"\nkind = "fasten"\nsay = "B."\ncount = {}\norder = {}\nname = "cover bolt"\n{}'


@pytest.mark.parametrize(
    ("count", "order", "said"),
    [(4, '"star"', ""), (4, '"row"', "not the reverse"), (3, "[1, 3, 2]", "took out 4")],
)
def test_bolts_go_back_as_they_came(count: int, order: str, said: str) -> None:
    """Loosened against the order in which they are tightened, all of them."""
    body = BOLTS.format("off", 4, '"star"', "undo = true\n") + BOLTS.format("on", count, order, 'stages = ["9 N.m"]\n')
    found = warnings(body)
    assert [said in each for each in found] == [True] * bool(said)


def test_last_off_first_on() -> None:
    """The guard came off first and goes back last; the other way round is pointed out."""
    off = do("A.", "a", 'off = ["guard"]\n') + do("B.", "b", 'off = ["cover"]\n')
    right = off + do("C.", "c", 'puts_back = ["cover"]\n') + do("D.", "d", 'puts_back = ["guard"]\n')
    wrong = off + do("C.", "c", 'puts_back = ["guard"]\n') + do("D.", "d", 'puts_back = ["cover"]\n')
    assert warnings(right) == []
    (found,) = warnings(wrong)
    assert '"guard" goes back before "cover", which was taken off after it' in found


def test_names_that_sound_alike() -> None:
    """Two measurements of one job that differ by one consonant are named; two that differ well are not."""
    (found,) = warnings(measure("upper gap", "1", "2") + measure("upper cap", "1", "2", step_id="n"))
    assert '"upper cap" sounds much like "upper gap"' in found
    assert warnings(measure("gear backlash", "1", "2") + measure("shaft end float", "1", "2", step_id="n")) == []


def test_unknown_words_come_with_how_they_will_be_said() -> None:
    """Made-up words are in no dictionary; ordinary ones, their plurals and joined ones are."""
    found = vetted(do("Fit the gaskets of the zorbulator to the gear-box.")).unknown_words
    assert list(found) == ["zorbulator"]
    assert found["zorbulator"].startswith("Z ")


PHONES = st.lists(st.integers(0, 5), max_size=9)
UNIT = Costs([[float(a != b) for b in range(6)] for a in range(6)], 1.0, 0.3)


@settings(max_examples=400, deadline=None)
@given(PHONES, PHONES, st.floats(0.5, 12))
def test_distance_is_the_edit_distance(one: list[int], other: list[int], limit: float) -> None:
    """With all costs 1 it is the distance of V. I. Levenshtein (1966), here from the library rapidfuzz."""
    expected = Levenshtein.distance(one, other)
    found = distance(one, other, UNIT, limit)
    assert found == (expected if expected < limit else None)
