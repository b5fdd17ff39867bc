"""A technician who wants on: past a step of a job that a willing one has brought there.

What is tried is what people try: next, a no, a value that is out, leaving the step out, allowing it themselves.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from bayvoice.dialogue.engine import events as ev
from bayvoice.dialogue.engine.state import MeantAsked, Mode, ValueAsked
from bayvoice.language.numbers import to_words
from bayvoice.language.units import spoken
from bayvoice.procedure.model import Check, Kind, Measure, Passing, Procedure, Step, Tally, Wait
from tests.stage import Stage
from tests.willing import Plan, plan_of

PEOPLE = ("Imre", "Dalia", "Ruth")
"""Imre works; Ruth, the foreman, never does."""
REASONS = (
    "not needed",
    "already done",
    "foreman's order",
    "maker allows it",
    "tested good",
    "measured empty",
    "nothing applied",
    "no other gauge",
    "old one in good order",
    "person not here",
    "searched and not found",
)
"""Tried one after the other until one fits what is to be passed."""
LONGEST = 1500


def begun(procedure: Procedure) -> Stage:
    """The job at its first step."""
    stage = Stage(procedure, PEOPLE)
    stage.take(ev.Began(stage.at, "Imre", stage.boot))
    return stage


def at(stage: Stage) -> str:
    """Id of the current step, "" after the last."""
    return stage.state.job.current.id if stage.state.job.current else ""


def onward(stage: Stage, plan: Plan, there: Callable[[], bool]) -> Stage:
    """A willing technician until it is `there`, waiting where there is nothing to say."""
    for _ in range(LONGEST):
        if there():
            return stage
        words = plan.words(stage.state, stage.at)
        if words is None:
            stage.wait(60)
        else:
            stage.hear(words)
    raise AssertionError(f"it never came to that: {at(stage)}, {stage.state.mode}; said {stage.said[-2:]}")


def to_step(procedure: Procedure, step: str, plan: Plan | None = None) -> Stage:
    """The job brought to `step` by a willing technician."""
    stage = begun(procedure)
    return onward(stage, plan or plan_of(procedure), lambda: at(stage) == step)


def understood(stage: Stage, words: str) -> bool:
    """Say `words` if the present state has them."""
    if stage.grammars.state(stage.state.mode).match(words.split()) is None:
        return False
    stage.hear(words)
    return True


def left(stage: Stage, step: str) -> bool:
    """Whether `step` was ever left."""
    return any(fact.kind == "step_done" and fact.body["step"] == step for fact in stage.facts)


def overridden(stage: Stage) -> list[tuple[str, str]]:
    """(step, who) of every guard that was passed."""
    return [(f.body["step"], f.body["who"]) for f in stage.facts if f.kind == "overridden"]


def pass_it(stage: Stage, opening: str, by: str) -> None:
    """Ask for the way past by `opening`, say yes, give a reason, and have `by` allow it."""
    drop(stage)
    stage.hear(opening)
    for _ in range(4):
        mode = stage.state.mode
        if mode is Mode.OVERRIDE:
            stage.hear("yes")
        elif mode is Mode.REASON:
            for words in REASONS:
                if stage.state.mode is Mode.REASON:
                    understood(stage, words)
        elif mode is Mode.NAMED:
            stage.hear(f"allowed by {by.lower()}")
            return
        else:
            return


def drop(stage: Stage) -> None:
    """Leave whatever is asked unanswered by a no."""
    for _ in range(3):
        if stage.state.mode in (Mode.OVERRIDE, Mode.REASON, Mode.NAMED):
            stage.hear("no")


def wrong_value(step: Step) -> str:
    """A reading above the limits, as it is said."""
    detail = step.detail
    assert isinstance(detail, Measure)
    assert detail.high is not None
    return f"{to_words(detail.high * 3 // 2 + 1)} {spoken(detail.unit)}"


def attempts(step: Step) -> Iterator[str]:
    """What somebody says who wants on without doing what the step asks."""
    detail = step.detail
    if isinstance(detail, Check):
        yield "no" if detail.want else "yes"
    elif isinstance(detail, Measure):
        yield from [wrong_value(step)] * detail.times
    elif step.kind is Kind.REPLACE:
        yield "no"
    elif step.kind is Kind.HOLD:
        yield "sign imre"
    if step.kind not in (Kind.DO, Kind.FASTEN):
        yield "next"


def insisted(stage: Stage) -> None:
    """What was said as a value stands, however far off it is."""
    if isinstance(stage.state.pending, MeantAsked):
        stage.hear("no")
    if isinstance(stage.state.pending, ValueAsked):
        stage.hear("yes")


def tries(stage: Stage, step: Step) -> None:
    """Imre tries everything to get past `step`; AssertionError once it is left, or a guard is passed, by that.

    A check or a value with a remedy leads there: the attempt ends with it, the step is not left.
    """
    opened = step.detail.opening if isinstance(step.detail, Tally) and step.detail.close else ""
    if opened:
        thing = stage.state.job.left_inside(opened)
        assert thing, f"nothing is inside the {opened}"
    for words in attempts(step):
        if not understood(stage, words):
            continue
        insisted(stage)
        if stage.state.mode in (Mode.OVERRIDE, Mode.REASON, Mode.NAMED):
            drop(stage)
        refused(stage, step)
        if at(stage) != step.id:
            return
    if step.passing is Passing.ALONE and not isinstance(step.detail, Tally):
        stage.hear("skip step")
        drop(stage)
        refused(stage, step)
        return
    for opening in ("skip step", "next"):
        if opening == "next" and step.kind in (Kind.DO, Kind.FASTEN):
            continue
        pass_it(stage, opening, "Imre")
        drop(stage)
        refused(stage, step)


def refused(stage: Stage, step: Step) -> None:
    """The step was not left and nothing was passed."""
    assert not left(stage, step.id), f"{step.id} was left: {stage.said[-2:]}"
    assert not [one for one in overridden(stage) if one[0] == step.id], f"{step.id} was passed: {stage.said[-2:]}"


def waits_for(stage: Stage, step: Step) -> None:
    """The wait of `step` is begun and everything is done at once, without waiting: none of what it gates is entered."""
    detail = step.detail
    assert isinstance(detail, Wait)
    plan, before = plan_of(stage.procedure), len(stage.facts)
    for _ in range(80):
        words = plan.words(stage.state, stage.at)
        if words is None:
            break
        stage.hear(words)
    else:
        raise AssertionError("nothing kept the technician")
    here = at(stage)
    stage.forget()
    stage.hear("next")
    assert any(fact.kind == "refused" for fact in stage.new_facts), stage.said
    entered = {fact.body["step"] for fact in stage.facts[before:] if fact.kind == "step_entered"}
    assert not entered & set(detail.gates), f"{step.id} did not keep {entered & set(detail.gates)}"
    if step.passing is not Passing.ALONE:
        pass_it(stage, "skip step", "Imre")
        drop(stage)
        assert not overridden(stage)
        assert at(stage) == here
