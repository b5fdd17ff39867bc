"""Limits worked out from other readings: they never float above the step's own, and only sound values give them."""

from __future__ import annotations

from decimal import Decimal

import pytest

from bayvoice.dialogue.engine import events as ev
from bayvoice.dialogue.engine.state import Mode
from bayvoice.dialogue.steps import KINDS
from bayvoice.job.facts import Fact
from bayvoice.job.job import Job, fold_all
from bayvoice.job.limits import limits
from bayvoice.job.readings import Measured
from bayvoice.procedure.load import load_text
from bayvoice.procedure.model import Measure, Procedure
from tests.stage import Stage, shipped
from tests.unwilling import at, drop, overridden, pass_it, to_step

JOB = """
format = 1
title = "Two chains"
machine = "Hollin 25 lift truck"
[[gauge]]
id = "good"
name = "chain gauge"
[[gauge]]
id = "old"
name = "old gauge"
due = 2020-01-31
[[step]]
id = "left"
kind = "measure"
say = "Measure the left chain."
name = "left chain"
unit = "%"
low = "0.0"
high = "2.0"
gauge = "good"
{left}
[[step]]
id = "right"
kind = "measure"
say = "Measure the right chain."
name = "right chain"
unit = "%"
low = "0.0"
high = "2.0"
low_from = "left_chain - 0.5 %"
high_from = "left_chain + 0.5 %"
gauge = "good"
[[step]]
id = "pair"
kind = "measure"
say = "Measure the pair."
name = "pair"
unit = "%"
high = "3.0"
high_from = "right_chain + 1.0 %"
gauge = "good"
[[step]]
id = "oil"
kind = "do"
say = "Oil both chains."
[[step]]
id = "end"
kind = "do"
say = "Put the gauge away."
"""

BEAD = """
[[step]]
id = "bead"
kind = "do"
say = "Oil."
"""
RUNS_OUT = """
[[step]]
id = "acts"
kind = "wait"
wait = "act"
name = "oil"
say = "Wait."
at_least = "1 min"
at_most = "2 min"
gates = ["last"]
recovery = "bead"
[[step]]
id = "last"
kind = "do"
say = "Wipe."
"""


def job(left: str = "") -> Procedure:
    text = JOB.format(left=left)
    if "gauge" in left:
        text = text.replace('high = "2.0"\ngauge = "good"\ngauge', 'high = "2.0"\ngauge')
    return load_text(text, "chains.toml")


def stage_of(procedure: Procedure) -> Stage:
    stage = Stage(procedure, ("Imre", "Ruth"))
    stage.take(ev.Began(stage.at, "Imre", stage.boot))
    return stage


def say(stage: Stage, *said: str) -> Stage:
    """Each in turn; a value or correction is agreed to. Everything said and recorded since then can be looked at."""
    stage.forget()
    for words in said:
        stage.hear(words)
        if stage.state.mode is Mode.CONFIRM:
            stage.hear("yes")
    return stage


def passed(stage: Stage, opening: str = "next") -> None:
    """The guard is passed by somebody who wants on, with Ruth's word where it takes that."""
    before = len(overridden(stage))
    pass_it(stage, opening, "Ruth")
    assert len(overridden(stage)) > before, stage.said


def readings(stage: Stage, step: str) -> list[Fact]:
    return [f for f in stage.facts if f.kind == "measured" and f.body["step"] == step]


def folds(stage: Stage) -> None:
    """The facts alone give the job as it is."""
    assert fold_all(Job("job-1", stage.procedure, KINDS), stage.facts) == stage.state.job


def test_a_chain_past_its_limit_is_not_within_because_the_other_is_nearly_there() -> None:
    """The chains that ship: left 1.9 %, right 2.3 %, where no chain may be longer by more than 2.0 %."""
    stage = to_step(shipped("lift-chain"), "left-chain")
    say(stage, "one point nine percent", "two point three percent")
    assert not any("2.3%. Within limits" in text for text in stage.said)
    body = readings(stage, "right-chain")[-1].body
    assert (body["verdict"], body["high"]) == ("high", "2.0")


def test_limits_do_not_move_up_behind_a_chain_that_is_worn_out() -> None:
    """Left 1.1 %, corrected to 2.6 % and overridden: nothing is logged for the right chain, least of all as within."""
    stage = to_step(shipped("lift-chain"), "left-chain")
    say(stage, "one point one percent", "correct left chain two point six percent")
    assert at(stage) == "left-chain"
    passed(stage)
    assert at(stage) == "right-chain"
    say(stage, "three point one percent")
    assert not readings(stage, "right-chain")
    assert stage.state.mode is not Mode.CONFIRM
    assert any("2.6% is above its limit" in text for text in stage.said), stage.said


@pytest.mark.parametrize(
    ("left", "right", "verdict", "high", "by"),
    [
        ("1.9", "2.3", "high", "2.0", "the step's own 2.0% decides"),
        ("1.1", "1.7", "high", "1.6", "the step's own 2.0% is wider"),
        ("1.1", "1.6", "within", "1.6", "the step's own 2.0% is wider"),
        ("1.5", "2.0", "within", "2.0", "the step's own 2.0% decides"),
    ],
)
def test_the_tighter_limit_counts_and_the_record_says_which(
    left: str, right: str, verdict: str, high: str, by: str
) -> None:
    """By hand: the lesser of 2.0 and left + 0.5."""
    stage = stage_of(job())
    stage.hear(f"{left} percent", typed=True)
    stage.hear("yes")
    stage.forget()
    stage.hear(f"{right} percent", typed=True)
    said = " ".join(stage.said)
    stage.hear("yes")
    body = readings(stage, "right")[-1].body
    assert (body["verdict"], body["high"]) == (verdict, high)
    assert by in body["limits_from"]
    if verdict == "high":
        assert ("comes from the left chain" in said) == (high == "1.6"), said


def test_of_low_limits_the_higher_counts() -> None:
    """By hand: left 1.1 gives 0.6 below, left 0.3 gives the step's own 0.0 and not -0.2."""
    detail = job().steps[1].detail
    assert isinstance(detail, Measure)
    for left, low in (("1.1", "0.6"), ("0.3", "0.0")):
        measured = Measured(values=(("left chain", Decimal(left), "%"),), verdicts=(("left chain", "within"),))
        assert str(limits(detail, measured).low) == low


@pytest.mark.parametrize(
    ("left", "said", "told"),
    [
        ("", ("two point six percent",), "2.6% is above its limit"),
        ('times = 2\nspread = "0.2"', ("point three percent", "one point nine percent"), "lie too far apart"),
        ('gauge = "old"', ("one point one percent",), "taken with a gauge that is out of date"),
    ],
)
def test_a_value_that_is_no_reference_leaves_the_step_open_in_one_sentence(
    left: str, said: tuple[str, ...], told: str
) -> None:
    """Out of order, scattered, or taken with a gauge out of date; overridden each time, which makes it no better."""
    stage = say(stage_of(job(left)), *said)
    passed(stage)
    assert at(stage) == "right"
    say(stage, "one point two percent")
    (sentence,) = stage.said
    assert sentence.startswith("The right chain stays open: it is judged by the left chain, and ")
    assert told in sentence
    assert sentence.endswith("put the left chain right and measure it again, or correct its value.")
    assert sentence.count(". ") == 0
    assert not readings(stage, "right")
    stage.hear("next")
    assert at(stage) == "right"
    folds(stage)


def test_a_value_too_close_to_call_is_no_reference() -> None:
    """ISO 14253-1: 1.95 with U = 0.1 against 2.0 is neither shown within nor outside."""
    gauge = 'id = "good"\nname = "chain gauge"'
    text = JOB.format(left="").replace(gauge, gauge + '\nunit = "%"\nuncertainty = "0.1"')
    stage = say(stage_of(load_text(text, "chains.toml")), "one point nine five percent")
    passed(stage)
    say(stage, "one point five percent")
    assert "too close to its limit" in stage.said[-1]
    assert not readings(stage, "right")


def test_a_corrected_reference_works_again() -> None:
    """The left chain's slip of the tongue is put right from the step that hangs on it."""
    stage = say(stage_of(job()), "two point six percent")
    passed(stage)
    say(stage, "correct left chain one point six percent")
    assert at(stage) == "right"
    say(stage, "one point seven percent")
    assert readings(stage, "right")[-1].body["verdict"] == "within"
    folds(stage)


@pytest.mark.parametrize("again", [False, True])
def test_a_correction_that_spoils_a_reference_reopens_what_hangs_on_it(again: bool) -> None:
    """Left, right and what hangs on the right chain were in order; then the left was read wrongly: all three are open,
    also where the process ended in the middle of that."""
    stage = say(stage_of(job()), "one point one percent", "one point two percent", "one percent")
    assert at(stage) == "oil"
    before = len(stage.facts)
    say(stage, "correct left chain two point six percent")
    if again:
        # Only the value itself reached the disk.
        del stage.facts[before + 1 :]
        assert stage.facts[-1].kind == "measured"
        stage.again("Imre")
        assert at(stage) == "oil"
        stage.hear("next")
        assert any(
            text == "Not yet. The left chain is out of order since a value was corrected." for text in stage.said
        )
    assert at(stage) == "left"
    assert stage.state.job.deviant == {"left", "right", "pair"}
    folds(stage)
    for step in ("left", "right", "pair"):
        assert at(stage) == step
        if step != "left":
            assert "stays open" in stage.said[-1]
        stage.hear("next")
        assert at(stage) == step, "it was left without a guard"
        drop(stage)
        assert at(stage) == step
        passed(stage)
    folds(stage)


def test_with_the_reference_right_again_the_dependents_close_by_themselves() -> None:
    """2.6 was a slip: corrected to 1.2, what was measured before is in order by the limits it gives now."""
    stage = say(stage_of(job()), "one point one percent", "one point two percent", "one percent")
    say(stage, "correct left chain two point six percent", "one point two percent")
    assert not stage.state.job.deviant
    say(stage, "next", "next")
    assert at(stage) == "oil"
    assert len(readings(stage, "right")) == 1


def test_scattered_readings_stay_scattered_whatever_their_limits_become() -> None:
    """The right chain's two readings lie too far apart; another value of the left does not bring them together."""
    text = JOB.format(left="").replace(
        'low_from = "left_chain - 0.5 %"', 'low_from = "left_chain - 0.5 %"\ntimes = 2\nspread = "0.1"'
    )
    stage = say(stage_of(load_text(text, "c.toml")), "one point one percent", "one percent", "one point four percent")
    assert stage.state.job.deviant == {"right"}
    say(stage, "correct left chain one point three percent")
    assert stage.state.job.deviant == {"right"}


def test_the_mean_of_a_reference_that_is_being_corrected_gives_no_limit_until_it_is_recorded() -> None:
    """A kill between the corrected reading and its mean: the mean is made up before anything else goes on."""
    stage = say(stage_of(job("times = 2")), "one percent", "one percent", "one point two percent", "one percent")
    assert at(stage) == "oil"
    before = len(stage.facts)
    say(stage, "correct left chain the first reading four percent")
    cut = before + 1
    assert [f.kind for f in stage.facts[before : cut + 1]] == ["measured", "averaged"]
    del stage.facts[cut:]
    assert fold_all(Job("job-1", stage.procedure, KINDS), stage.facts).measured.unfit("left chain") == "again"
    stage.again("Imre")
    assert next(f for f in stage.facts[cut:] if f.kind == "averaged").body["value"].startswith("2.5")
    stage.hear("next")
    assert at(stage) == "left"


def test_work_begun_anew_leaves_no_reference_from_before() -> None:
    """After a window that ran out everything from its recovery step on is done again: the old left value is none."""
    text = JOB.format(left="").replace('[[step]]\nid = "left"', BEAD + '[[step]]\nid = "left"') + RUNS_OUT
    stage = say(stage_of(load_text(text, "c.toml")), "next", "one percent", "one percent", "one percent")
    say(stage, "next", "next", "start the clock")
    stage.wait(180)
    say(stage, "next")
    assert at(stage) == "bead"
    say(stage, "next")
    passed(stage, "skip step")
    assert at(stage) == "right"
    say(stage, "one percent")
    assert "from before that work was begun anew" in stage.said[-1]


def test_a_step_left_out_with_a_doubted_value_is_not_asked_for_ever() -> None:
    """Skipping is recorded; what hangs on it is open, and once that is skipped too the job goes on."""
    stage = stage_of(job('gauge = "old"'))
    say(stage, "one percent")
    for step in ("left", "right", "pair"):
        assert at(stage) == step
        passed(stage, "skip step")
    assert at(stage) == "oil"
