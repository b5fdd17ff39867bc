"""Names that go into the grammars: what vetting accepts, the grammars take, and what they refuse has its line."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bayvoice.procedure.load import load_text
from bayvoice.procedure.mistakes import BadProcedure, Mistake
from bayvoice.procedure.model import Procedure
from bayvoice.runtime.grammars import grammars_for

TEMPLATE = """\
format = 1
title = "T"
machine = "M"
[[finding]]
say = @finding@
stop = true
[[part]]
id = "part"
name = @part@
one_use = true
[[gauge]]
id = "gauge"
name = @gauge@
[[step]]
id = "open"
kind = "tally"
say = "Count."
opening = "case"
things = [@thing@, @thing two@]
[[step]]
id = "measure"
kind = "measure"
say = "Measure."
name = @measurement@
unit = "mm"
low = 1
gauge = "gauge"
[[step]]
id = "measure-two"
kind = "measure"
say = "Measure."
name = @measurement two@
unit = "mm"
low = 1
[[step]]
id = "wait"
kind = "wait"
say = "Wait."
wait = "settle"
name = @wait@
at_least = "1 min"
[[step]]
id = "fit"
kind = "replace"
say = "Fit it."
part = "part"
[[step]]
id = "close"
kind = "tally"
say = "Count."
opening = "case"
close = true
[[step]]
id = "look"
kind = "hold"
say = "Call."
look = "the joint"
who = @role@
"""
GOOD = {
    "finding": "cracked bracket",
    "part": "seal",
    "gauge": "dial gauge",
    "thing": "rag",
    "thing two": "guide pin",
    "measurement": "end float",
    "measurement two": "backlash",
    "wait": "oil cooling",
    "role": "foreman",
}
SAID_IN = {
    "finding": "step",
    "thing": "tally",
    "thing two": "tally",
    "measurement": "measure",
    "measurement two": "measure",
    "wait": "wait",
    "role": "hold",
}
"""A dialogue state in which each of them can be said."""
IN_GRAMMARS = [what for what in GOOD if what not in ("part", "gauge")]


def text_with(**names: str) -> str:
    """The template with `names` in the place of the good ones ("_" for the blank in their keys)."""
    text = TEMPLATE
    for what, name in (GOOD | {key.replace("_", " "): name for key, name in names.items()}).items():
        text = text.replace(f"@{what}@", "'" + name + "'" if '"' in name else '"' + name.replace("\\", "\\\\") + '"')
    return text


@pytest.mark.parametrize("what", IN_GRAMMARS)
@pytest.mark.parametrize(
    "name",
    ["<i>x</i>", "pin + nut", "a_b", "pin #3", "oil & water", "1000000", "٣ pins", "e\u0301 pin", "pin\u200b", "@"],
)
def test_a_name_that_cannot_be_said_is_a_mistake_with_its_line(what: str, name: str) -> None:
    """Markup, signs and figures that no grammar takes."""
    text = text_with(**{what.replace(" ", "_"): name})
    with pytest.raises(BadProcedure) as caught:
        load_text(text, "x.toml")
    first = caught.value.mistakes[0]
    line = next(i for i, row in enumerate(text.split("\n"), 1) if name in row)
    assert first.line == line
    assert "cannot be spoken" in first.what or "holds no word" in first.what
    assert first.mend


@pytest.mark.parametrize(
    ("names", "said"),
    [
        ({"thing": "M8 bolt", "thing_two": "m eight bolt"}, 'is said like "M8 bolt"'),
        ({"thing": "cover-bolt", "thing_two": "cover bolt"}, 'is said like "cover-bolt"'),
        ({"thing": "rag", "thing_two": "rags"}, 'is said for more than one "rag" too'),
        ({"thing": "bolt", "thing_two": "bolt one"}, 'is said like "bolt" and a number'),
        ({"thing": "pin plug", "thing_two": "two pin plug"}, 'is said like "pin plug" and a number'),
        ({"measurement": "gap", "measurement_two": "gap 2"}, 'is said like "gap" and a number'),
        ({"measurement": "gap 2", "measurement_two": "Gap two"}, 'is said like "gap 2"'),
    ],
)
def test_names_that_are_said_alike_are_a_mistake(names: dict[str, str], said: str) -> None:
    """Two things that one utterance means: neither could be counted or logged by its name."""
    with pytest.raises(BadProcedure) as caught:
        load_text(text_with(**names), "x.toml")
    assert [said in each.what for each in caught.value.mistakes] == [True]


def test_the_same_name_twice_is_one_name() -> None:
    """Capitals are not heard; that two steps measure the same is a warning, as before."""
    load_text(text_with(measurement="Gap", measurement_two="gap"), "x.toml")


NAMES = st.one_of(
    st.sampled_from(
        [
            "<b>",
            "½ pin",
            "pin²",
            "K40-7-030",
            "5 mm pin",
            "50 % pin",
            "O'Ring",
            "éclair",
            "水泵",
            "pin (left)",
            "and/or",
            "12345678",
            "0.123456 pin",
            "İx",
            "ǅ",
            "ﬁt",
            "x ray",
            "n/s plug",
            "one",
            "next",
            "yes",
            "two rags",
            "&",
            "-5",
        ]
    ),
    st.text(alphabet=st.characters(blacklist_categories=("Cc", "Cs"), blacklist_characters="'\\"), max_size=12),
)


def vetted(**names: str) -> Procedure | tuple[Mistake, ...]:
    """What vetting makes of the template with `names`."""
    try:
        return load_text(text_with(**names), "x.toml")
    except BadProcedure as bad:
        return bad.mistakes


@settings(max_examples=60, deadline=None)
@given(st.fixed_dictionaries({what.replace(" ", "_"): NAMES for what in GOOD}))
def test_what_is_accepted_the_grammars_take(names: dict[str, str]) -> None:
    """Any names: either every one of them is in the grammars, or there are mistakes, each with its line."""
    found = vetted(**names)
    if isinstance(found, Procedure):
        assert grammars_for(found).states()
    else:
        assert all(each.line for each in found)


ODD = ("<b>", "½ pin", "pin²", "K40-7-030", "5 mm pin", "O'Ring", "éclair", "bolt one", "next", "one")


@pytest.mark.parametrize("name", ODD)
@pytest.mark.parametrize("what", GOOD)
def test_one_odd_name_is_taken_by_vet_and_grammars_alike(what: str, name: str) -> None:
    """Each kind of name by itself, so that another mistake hides nothing."""
    found = vetted(**{what.replace(" ", "_"): name})
    if isinstance(found, Procedure):
        assert grammars_for(found).state(SAID_IN.get(what, "step")).words
    else:
        assert what in IN_GRAMMARS
        assert len(found) == 1
