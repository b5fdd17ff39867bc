"""The way back: order reversed, each thing with its own refitting, nothing forgotten."""

from __future__ import annotations

import pytest

from bayvoice.procedure.load import load_text
from bayvoice.procedure.mistakes import BadProcedure
from bayvoice.procedure.model import Fasten, Kind, Procedure, Signal, Stage, Wait
from bayvoice.procedure.supplies import Need, needs
from tests.procedure.strip import STRIP


def made(text: str = STRIP) -> Procedure:
    return load_text(text, "x.toml")


def mistakes(text: str) -> list[str]:
    with pytest.raises(BadProcedure) as caught:
        load_text(text, "x.toml")
    return [str(each) for each in caught.value.mistakes]


def test_the_way_back_is_worked_out() -> None:
    """The marker becomes the steps that put back, last off first on; a check has no way back."""
    steps = made().steps
    assert [step.id for step in steps] == [
        "isolate",
        "guard-off",
        "cover-off",
        "look",
        "seal-out",
        "new-seal",
        "cover-off-back",
        "cover-off-back-2",
        "cover-off-back-3",
        "guard-off-back",
        "fill",
    ]
    assert [step.origin for step in steps[6:10]] == ["cover-off"] * 3 + ["guard-off"]
    assert [step.puts_back for step in steps[6:10]] == [(), (), ("cover",), ("guard",)]


def test_undone_bolts_go_back_with_their_own_stages_and_cautions() -> None:
    """Same bolts, tightening order, the stages of refit; what was dangerous on the way off is said again."""
    step = made().steps[9]
    assert step.detail == Fasten(4, (1, 3, 2, 4), (Stage(8, "N.m"), Stage(30, "deg")), False, "guard bolt")  # type: ignore[arg-type]
    assert [c.signal for c in step.cautions] == [Signal.CAUTION]
    assert step.kind is Kind.FASTEN


def test_a_wait_of_the_way_back_closes_with_a_step_of_it() -> None:
    """Ids of steps of the way back can be named."""
    detail = made().steps[7].detail
    assert isinstance(detail, Wait)
    assert detail.closes == "cover-off-back-3"


def test_the_list_before_the_job() -> None:
    """Quantities are worked out from the steps, in the unit first used."""
    assert needs(made()) == [
        Need("seal", "seal", "K40-1", "1", "", True),
        Need("sealant", "sealant", "", "25 ml"),
        Need("oil", "oil", "", "1.8 l"),
    ]


def test_only_a_range() -> None:
    """of names the first and the last step that is put back."""
    text = STRIP.replace('kind = "way_back"\n', 'kind = "way_back"\nof = ["cover-off", "seal-out"]\n')
    text += '[[step]]\nkind = "way_back"\n'
    assert [step.id for step in made(text).steps[6:]] == [
        "cover-off-back",
        "cover-off-back-2",
        "cover-off-back-3",
        "fill",
        "guard-off-back",
    ]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('refit = ["8 N.m", "30 deg"]\n', "", 'step guard-off, off: "guard" is taken off and never goes back'),
        ('back = "none"\nbecause = "a new one is fitted"\n', "", '"old seal" is taken off and never goes back'),
        ('because = "a new one is fitted"\n', "", "nothing says why it never goes back"),
        ('[[step]]\nkind = "way_back"\n', "", "the way back of this step is never taken"),
        ('refit = ["8 N.m"', 'refit = ["8 Nm"', "step guard-off, refit: "),
        ("undo = true\n", "", "refit belongs to a step that loosens"),
        ('kind = "way_back"\n', 'kind = "way_back"\nof = ["cover-off", "nowhere"]\n', '"nowhere" is no step before'),
        ('kind = "way_back"\n', 'kind = "way_back"\nof = ["seal-out", "cover-off"]\n', "names the later step first"),
        ('say = "Fill it."\n', 'say = "Fill it."\nputs_back = ["lid"]\n', "was not taken off"),
        ("beats = 3\n", 'beats = 3\noff = ["lid"]\n', "step cover-off, back 3 off: "),
        ("beats = 3\n", "bets = 3\n", 'perhaps "beats"'),
        ('sealant = "20 ml"', 'sealant = "20 furlongs"', "no unit of a quantity"),
        ('sealant = "20 ml"', 'glue = "20 ml"', "no part or consumable has the id"),
    ],
)
def test_each_mistake_of_the_way_back(old: str, new: str, said: str) -> None:
    """Told at the step and key where it can be mended."""
    assert old in STRIP
    assert any(said in each for each in mistakes(STRIP.replace(old, new, 1))), mistakes(STRIP.replace(old, new, 1))
