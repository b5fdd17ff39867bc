"""The keys `pass` and `reasons` of a step: read, refused with a line and a mend, shown by vetting."""

from __future__ import annotations

import pytest

from bayvoice.procedure.load import load_text
from bayvoice.procedure.mistakes import BadProcedure
from bayvoice.procedure.vet import vet

HEAD = 'format = 1\ntitle = "T"\nmachine = "M"\n'
LAST = '[[step]]\nid = "z"\nsay = "End."\nkind = "do"\n'


def step(keys: str) -> str:
    return f'{HEAD}[[step]]\nid = "a"\nsay = "A."\n{keys}{LAST}'


@pytest.mark.parametrize(
    ("keys", "what", "mend"),
    [
        ('kind = "do"\npass = "foreman"\n', "foreman", "write alone"),
        ('kind = "do"\npass = true\n', "pass", "alone"),
        ('kind = "do"\nreasons = []\n', "no reason is named", "name one"),
        ('kind = "do"\nreasons = ["no shim", "No shim"]\n', "named twice", "once"),
        ('kind = "do"\nreasons = ["shim €"]\n', "spoken", "as it is said"),
        ('kind = "do"\nreasons = "no shim"\n', "reasons", "["),
    ],
)
def test_what_is_wrong_is_told_with_its_line(keys: str, what: str, mend: str) -> None:
    """Each in one sentence: what, where, how to mend it."""
    with pytest.raises(BadProcedure) as found:
        load_text(step(keys), "x.toml")
    (one,) = found.value.mistakes
    assert what in one.what or what in one.mend
    assert mend in one.mend
    assert one.line == 8


def test_vetting_shows_who_may_pass_what() -> None:
    """Only what is not the technician's alone, own reasons, and findings that stop."""
    text = step('kind = "do"\npass = "nobody"\nreasons = ["no shim on this truck"]\n') + (
        '[[step]]\nid = "bleed"\nsay = "B."\nkind = "wait"\nwait = "settle"\nname = "bleed"\nat_least = "1 min"\n'
        '[[step]]\nid = "last"\nsay = "L."\nkind = "do"\n[[finding]]\nsay = "crack"\nstop = true\n'
    )
    found = vet(load_text(text, "x.toml"))
    lines = found.lines()
    at = next(i for i, line in enumerate(lines) if line.strip() == "who may pass:")
    assert [line.strip() for line in lines[at + 1 : at + 4]] == [
        "1. a: nobody, own reasons: no shim on this truck",
        "3. bleed: a second person",
        'finding "crack": a second person',
    ]
    assert [row["pass"] for row in found.as_dict()["passing"]] == ["nobody", "second", "second"]


def test_a_hold_point_that_claims_to_be_passed_alone_is_pointed_out() -> None:
    """The key would promise what the product does not do."""
    found = vet(load_text(step('kind = "hold"\nlook = "it"\npass = "alone"\n'), "x.toml"))
    assert ["a hold point takes another person in any case" in str(each) for each in found.warnings] == [True]


def test_what_an_own_reason_cannot_be_said_as_is_pointed_out() -> None:
    """Vetted as other phrases that are said."""
    found = vet(load_text(step('kind = "do"\nreasons = ["no M8 here"]\n'), "x.toml"))
    assert [each.key for each in found.warnings] == ["reasons"]


def test_a_refitting_step_takes_the_class_and_not_the_reasons() -> None:
    """Why a bolt is not taken out is no reason for not putting it back."""
    text = f'{HEAD}[[step]]\nid = "off"\nsay = "Off."\nkind = "fasten"\nundo = true\ncount = 2\norder = "row"\n'
    text += 'name = "bolt"\noff = ["bolts"]\nrefit = ["12 N.m"]\npass = "nobody"\nreasons = ["off already"]\n'
    text += '[[step]]\nkind = "way_back"\n'
    off, back = load_text(text, "x.toml").steps
    assert (off.passing, off.reasons) == ("nobody", ("off already",))
    assert (back.passing, back.reasons) == ("nobody", ())
