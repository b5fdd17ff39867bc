"""Each procedure that ships is worked to its end by words: through the real grammars, the core and its facts."""

from __future__ import annotations

import pytest

from bayvoice.host.datafiles import procedure_names
from bayvoice.job.facts import Fact
from bayvoice.procedure.model import Procedure
from tests.stage import Stage, shipped
from tests.willing import Plan, plan_of

LONGEST = 1500
"""Utterances and minutes of waiting after which a job that has not ended never will."""


def worked(procedure: Procedure, plan: Plan) -> Stage:
    """The stage on which the whole job was done."""
    from bayvoice.dialogue.engine import events as ev

    stage = Stage(procedure, ("Imre", "Dalia", "Ruth"))
    stage.take(ev.Began(stage.at, "Imre", stage.boot))
    for _ in range(LONGEST):
        if stage.state.job.finished:
            return stage
        words = plan.words(stage.state, stage.at)
        if words is None:
            stage.wait(60)
        else:
            stage.hear(words)
    raise AssertionError(f"not done: {stage.state.job.current} in {stage.state.mode}; said {stage.said[-3:]}")


def bodies(stage: Stage, kind: str) -> list[Fact]:
    return [fact for fact in stage.facts if fact.kind == kind]


@pytest.mark.parametrize("name", procedure_names())
def test_the_whole_job(name: str) -> None:
    """From the first step to the last, every step of the line done and none left out."""
    procedure = shipped(name)
    stage = worked(procedure, plan_of(procedure))
    done = {fact.body["step"] for fact in bodies(stage, "step_done") if fact.body["how"] == "done"}
    assert done >= {procedure.steps[i].id for i in procedure.line}
    assert not bodies(stage, "overridden")
    assert stage.facts[-1].kind == "job_done"


@pytest.mark.parametrize(
    ("name", "aside"),
    [
        ("hub-end-float", "set the nut again"),
        ("lift-chain", "slacken the chains"),
        ("lift-chain", "level the forks"),
        ("lift-chain", "tighten the anchors"),
        ("cab-glass", "treat the rust"),
        ("cab-glass", "seal the leak"),
        ("balancer-phase", "turn on to the mark"),
        ("balancer-phase", "flush the window"),
        ("balancer-phase", "discharge the capacitor"),
    ],
)
def test_off_the_line_and_back(name: str, aside: str) -> None:
    """The remedy or finding leads to its aside, which is done, and the step that sent the job there is asked again."""
    procedure = shipped(name)
    stage = worked(procedure, plan_of(procedure))
    steps = [procedure.steps[i].id for i in procedure.aside(aside)]
    branch = next(fact for fact in bodies(stage, "branched") if fact.body["to"] == steps[0])
    after = [fact.body["step"] for fact in bodies(stage, "step_entered") if fact.seq > branch.seq]
    assert after[: len(steps) + 1] == [*steps, branch.body["step"]]


def test_a_hold_left_open_is_signed_before_the_step_it_guards() -> None:
    """The pin of the hub: looked at while the cap goes on, signed before the wheel hides it."""
    procedure = shipped("hub-end-float")
    stage = worked(procedure, plan_of(procedure))
    (later,) = (fact for fact in bodies(stage, "deferred") if fact.body["step"] == "pin-seen")
    sign = next(fact for fact in bodies(stage, "signed") if fact.body["step"] == "pin-seen")
    wheel = next(fact for fact in bodies(stage, "step_entered") if fact.body["step"] == "wheel-off-back")
    assert later.seq < sign.seq < wheel.seq
