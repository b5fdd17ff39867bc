"""Off the line and back: the remedy of a check or a value that is not in order, and what a finding asks for."""

from __future__ import annotations

from bayvoice.dialogue.engine.kind import kind_of
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import counts, passing
from bayvoice.dialogue.flow.walk import ask, enter
from bayvoice.language.intents import Intent
from bayvoice.procedure.model import Finding, Passing, Step

FOREIGN = "foreign part"
"""What is said of a thing found inside that nobody counted in."""


def tried(turn: Turn, step: str) -> int:
    """How often the remedy of `step` was gone through."""
    return dict(turn.job.turns).get(step, 0)


def exhausted(turn: Turn, step: Step) -> bool:
    """Whether `step` has a remedy and it may not be tried again."""
    remedy, tries = kind_of(turn.job, step).remedy(step)
    return bool(remedy) and (tried(turn, step.id) >= tries or _inside(turn, remedy))


def _inside(turn: Turn, aside: str) -> bool:
    return any(detour.aside == aside for detour in turn.job.detours)


def failed(turn: Turn, step: Step) -> bool:
    """The answer of `step` is not in order: go to its remedy, if it has one. False where there is nothing to go to."""
    kind = kind_of(turn.job, step)
    remedy, tries = kind.remedy(step)
    if not remedy:
        return False
    if exhausted(turn, step):
        onward = passing.past(turn, kind.word, step.id, "onward")
        turn.say("tries_over", tries=tried(turn, step.id), onward=onward)
        return True
    count = tried(turn, step.id) + 1
    turn.say("branch_try", turn=count, turns=tries)
    _branch(turn, step, remedy, kind.word, count, tries)
    return True


def _branch(turn: Turn, step: Step, aside: str, why: str, count: int, of: int) -> None:
    procedure = turn.job.procedure
    first = procedure.aside(aside)[0]
    turn.fact("branched", step=step.id, to=procedure.steps[first].id, why=why, turn=count, turns=of)
    enter(turn, first, "aside")


def found(turn: Turn, intent: Intent) -> None:
    """The technician has found something: it branches, or stops the step, as the procedure says."""
    what = intent.slot("what") or ""
    step = turn.step
    if what.lower() == FOREIGN:
        counts.foreign(turn, intent.slot("text") or "")
        return
    finding = next((f for f in turn.job.procedure.findings if f.say.lower() == what.lower()), None)
    if finding is None:
        turn.say("say_a_finding")
        return
    if finding.steps and step.id not in finding.steps:
        turn.say("found_elsewhere", what=finding.say)
        return
    _deal(turn, step, finding)


def _deal(turn: Turn, step: Step, finding: Finding) -> None:
    procedure = turn.job.procedure
    leads = finding.to and not _inside(turn, finding.to)
    to = procedure.steps[procedure.aside(finding.to)[0]].id if leads else ""
    turn.fact("found", step=step.id, what=finding.say, to=to)
    turn.ring("refused")
    if leads:
        turn.say("found_branch", what=finding.say)
        _branch(turn, step, finding.to, "finding", 1, 1)
        return
    nobody = passing.finding_class(turn.job, step.id) is Passing.NOBODY
    turn.say("found_stop_nobody" if nobody else "found_stop", what=finding.say)
    ask(turn, step)
