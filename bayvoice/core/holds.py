"""What takes somebody else: a hold point's sign, a colleague's hands."""

from __future__ import annotations

from bayvoice.core.turn import Turn
from bayvoice.core.walk import go_on, leave
from bayvoice.procedure.model import Hold, Together
from bayvoice.speech.intents import Intent


def sign(turn: Turn, intent: Intent) -> None:
    """Someone signs a hold point."""
    step = turn.step
    assert isinstance(step.detail, Hold)
    who = intent.slot("who")
    if who is None:
        turn.say("say_who_signs")
        return
    if who.lower() == turn.job.by.lower():
        turn.ring("refused")
        turn.say("sign_yourself", who=step.detail.who)
        return
    name = next((p for p in turn.state.people if p.lower() == who.lower()), who)
    turn.fact("signed", step=step.id, who=name, role=step.detail.who)
    turn.say("signed", who=name)
    leave(turn, step)


def together_yes(turn: Turn, intent: Intent) -> None:
    """The colleague is there."""
    step = turn.step
    assert isinstance(step.detail, Together)
    if step.id in turn.job.answered:
        go_on(turn)
        return
    turn.fact("helped", step=step.id, people=step.detail.people)
    turn.say("together_ready")
