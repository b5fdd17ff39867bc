"""Short answers to a step: yes and no, go; and the way back to where the job was."""

from __future__ import annotations

from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import asides, passing, route
from bayvoice.dialogue.flow.walk import enter, leave
from bayvoice.dialogue.steps.fastening import round_answer
from bayvoice.language.intents import Intent
from bayvoice.procedure.model import Check, Fasten, Replace


def check_yes(turn: Turn, intent: Intent) -> None:
    """The check's question was answered with yes."""
    _checked(turn, True)


def check_no(turn: Turn, intent: Intent) -> None:
    """The check's question was answered with no."""
    _checked(turn, False)


def _checked(turn: Turn, answer: bool) -> None:
    step = turn.step
    if isinstance(step.detail, Fasten):
        if round_answer(turn, step, step.detail, answer):
            leave(turn, step)
        return
    assert isinstance(step.detail, Check)
    turn.fact("checked", step=step.id, ask=step.detail.ask, answer=answer, want=step.detail.want)
    if answer == step.detail.want:
        turn.say("logged_check_yes" if answer else "logged_check_no")
        leave(turn, step)
        return
    turn.ring("refused")
    turn.say("logged_check_yes" if answer else "logged_check_no")
    if not asides.failed(turn, step):
        turn.say("check_not_in_order", onward=passing.past(turn, "check", step.id, "onward"))


def replaced_yes(turn: Turn, intent: Intent) -> None:
    """The new one-use part is fitted."""
    _replaced(turn, True)


def replaced_no(turn: Turn, intent: Intent) -> None:
    """The new one-use part is not fitted."""
    _replaced(turn, False)


def _replaced(turn: Turn, new: bool) -> None:
    step = turn.step
    assert isinstance(step.detail, Replace)
    part = turn.job.procedure.part(step.detail.part)
    turn.fact("replaced", step=step.id, part=part.id, name=part.name, number=part.number, new=new)
    if new:
        turn.say("logged_part", part=part.name)
        leave(turn, step)
    else:
        turn.ring("refused")
        turn.say("part_not_new", part=part.name)


def back(turn: Turn, intent: Intent) -> None:
    """Go to the step before; what was recorded stays recorded."""
    way = route.backward(turn.job)
    if way is None:
        turn.say("no_step_before")
        return
    enter(turn, way.index, way.again)
