"""A question answered yes or no."""

from __future__ import annotations

from typing import ClassVar

from bayvoice.dialogue.engine.asked import OverrideAsked
from bayvoice.dialogue.engine.kind import BAD, Answers, Piece, Shown, Sign, StepKind
from bayvoice.dialogue.engine.state import Mode, State
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import asides, passing
from bayvoice.dialogue.flow.walk import leave
from bayvoice.job.facts import Fact, owned
from bayvoice.job.job import Folds, Job, answer
from bayvoice.language.intents import Intent
from bayvoice.procedure.forms.check import CheckForm
from bayvoice.procedure.model import FOREMAN, Check, Step


def detail_of(step: Step) -> Check:
    """What a check asks."""
    assert isinstance(step.detail, Check)
    return step.detail


def yes(turn: Turn, intent: Intent) -> None:
    """The check's question was answered with yes."""
    _checked(turn, True)


def no(turn: Turn, intent: Intent) -> None:
    """The check's question was answered with no."""
    _checked(turn, False)


def _checked(turn: Turn, answered: bool) -> None:
    step = turn.step
    detail = detail_of(step)
    turn.fact("checked", step=step.id, ask=detail.ask, answer=answered, want=detail.want)
    in_order = answered == detail.want
    if not in_order:
        turn.ring("refused")
    turn.say("logged_check_yes" if answered else "logged_check_no")
    if in_order:
        leave(turn, step)
    elif not asides.failed(turn, step):
        turn.say("check_not_in_order", onward=passing.past(turn, "check", step.id, "onward"))


def _fold(job: Job, fact: Fact) -> Job:
    return answer(job, fact.body["step"], fact.body["answer"] == fact.body["want"])


class CheckKind(CheckForm, StepKind):
    """A question; what is not in order leads to its remedy, or is passed."""

    facts = owned("checked")
    folds: ClassVar[Folds] = {"checked": _fold}
    answers: ClassVar[Answers] = {Mode.CHECK: {"yes": yes, "no": no}}
    asked_again = True

    def mode(self, job: Job, step: Step) -> str:
        """Yes or no."""
        return Mode.CHECK

    def ask(self, turn: Turn, step: Step) -> None:
        """The question itself."""
        turn.say("ask_check", ask=detail_of(step).ask)

    def guard(self, job: Job, step: Step) -> OverrideAsked | None:
        """An answer that is not in order."""
        return OverrideAsked("check", step.id, step.say) if step.id in job.deviant else None

    def sign(self, job: Job, step: Step) -> Sign | None:
        """The foreman may let go on what is not in order."""
        return Sign("check", FOREMAN, step.say) if step.id in job.deviant else None

    def lines(self, state: State, step: Step) -> tuple[Shown, ...]:
        """The question, and which answer would be in order."""
        detail = detail_of(step)
        wanted = "yes" if detail.want else "no"
        deviant = ((Piece(f"not in order: {wanted} is wanted", BAD),),) if step.id in state.job.deviant else ()
        return ((Piece(detail.ask),), *deviant)


CHECK = CheckKind()
