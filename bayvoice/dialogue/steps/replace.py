"""A one-use part that must be fitted new."""

from __future__ import annotations

from typing import ClassVar

from bayvoice.dialogue.engine.asked import OverrideAsked
from bayvoice.dialogue.engine.kind import GOOD, LATER, Answers, Owed, Piece, Shown, StepKind
from bayvoice.dialogue.engine.state import Mode, State
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow.walk import leave
from bayvoice.job.facts import Fact, owned
from bayvoice.job.job import Folds, Job, answer
from bayvoice.language.intents import Intent
from bayvoice.procedure.forms.replace import ReplaceForm
from bayvoice.procedure.model import Part, Replace, Step


def part_of(job: Job, step: Step) -> Part:
    """The part that is fitted new."""
    assert isinstance(step.detail, Replace)
    return job.procedure.part(step.detail.part)


def yes(turn: Turn, intent: Intent) -> None:
    """The new one-use part is fitted."""
    _replaced(turn, True)


def no(turn: Turn, intent: Intent) -> None:
    """The new one-use part is not fitted."""
    _replaced(turn, False)


def _replaced(turn: Turn, new: bool) -> None:
    step = turn.step
    part = part_of(turn.job, step)
    turn.fact("replaced", step=step.id, part=part.id, name=part.name, number=part.number, new=new)
    if new:
        turn.say("logged_part", part=part.name)
        leave(turn, step)
    else:
        turn.ring("refused")
        turn.say("part_not_new", part=part.name)


def _fold(job: Job, fact: Fact) -> Job:
    return answer(job, fact.body["step"], bool(fact.body["new"]))


def _met(job: Job, step: Step) -> bool:
    return step.id in job.answered and step.id not in job.deviant


class ReplaceKind(ReplaceForm, StepKind):
    """The job does not end with the old part in."""

    facts = owned("replaced")
    folds: ClassVar[Folds] = {"replaced": _fold}
    answers: ClassVar[Answers] = {Mode.REPLACE: {"yes": yes, "no": no}}

    def mode(self, job: Job, step: Step) -> str:
        """Yes or no."""
        return Mode.REPLACE

    def ask(self, turn: Turn, step: Step) -> None:
        """Which part."""
        part = part_of(turn.job, step)
        turn.say("ask_replace", part=part.name, number=part.number)

    def left_out(self, job: Job, step: Step) -> OverrideAsked | None:
        """The old part stays in."""
        if _met(job, step):
            return super().left_out(job, step)
        return OverrideAsked("part", step.id, part_of(job, step).name)

    def owed(self, job: Job, step: Step) -> Owed | None:
        """The new part."""
        return None if _met(job, step) else Owed("part", step.id, part_of(job, step).name)

    def needs(self, state: State, step: Step) -> tuple[str, ...]:
        """The part."""
        return (part_of(state.job, step).name,)

    def lines(self, state: State, step: Step) -> tuple[Shown, ...]:
        """The part with its number, and whether it is fitted."""
        part = part_of(state.job, step)
        number = f", number {part.number}" if part.number else ""
        fitted = Piece("fitted", GOOD) if _met(state.job, step) else Piece("not recorded", LATER)
        return (Piece(f"one-use part: {part.name}{number}"),), (fitted,)


REPLACE = ReplaceKind()
