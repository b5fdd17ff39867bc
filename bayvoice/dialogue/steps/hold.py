"""A hold point: somebody else looks and signs, now or later."""

from __future__ import annotations

from typing import ClassVar

from bayvoice.dialogue.engine.asked import OverrideAsked
from bayvoice.dialogue.engine.kind import Answers, Owed, Piece, Shown, Sign, StepKind
from bayvoice.dialogue.engine.state import Mode, State
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow.signing import sign
from bayvoice.dialogue.flow.walk import go_along, leave, way_barred
from bayvoice.job.job import Job
from bayvoice.language.intents import Intent
from bayvoice.procedure.forms.hold import HoldForm
from bayvoice.procedure.model import Hold, Step


def detail_of(step: Step) -> Hold:
    """Who looks at what."""
    assert isinstance(step.detail, Hold)
    return step.detail


def later(turn: Turn, intent: Intent) -> None:
    """Leave a hold open, where the procedure allows it, and go on."""
    step = turn.step
    detail = detail_of(step)
    if step.id in turn.job.answered:
        leave(turn, step)
        return
    if not detail.until:
        turn.ring("refused")
        turn.say("hold_not_later", who=detail.who)
        return
    until = turn.job.procedure.index(detail.until)
    owing = any(not one.aside for one in turn.job.detours[-1:])
    if owing:
        # The job came back for it: it cannot be left open any longer.
        turn.ring("refused")
        turn.say("hold_now", who=detail.who)
        return
    if way_barred(turn, step):
        return
    turn.fact("deferred", step=step.id, what="hold")
    turn.say("hold_later", number=until + 1)
    go_along(turn)


def _met(job: Job, step: Step) -> bool:
    return step.id in job.answered and step.id not in job.deviant


class HoldKind(HoldForm, StepKind):
    """Another person's look."""

    answers: ClassVar[Answers] = {Mode.HOLD: {"sign": sign, "later": later}}
    signed = True

    def mode(self, job: Job, step: Step) -> str:
        """A sign, or later."""
        return Mode.HOLD

    def ask(self, turn: Turn, step: Step) -> None:
        """Who is to look at what."""
        detail = detail_of(step)
        done = step.id in turn.job.answered
        turn.say("ask_hold_done" if done else "ask_hold", look=detail.look, who=detail.who)

    def left_out(self, job: Job, step: Step) -> OverrideAsked | None:
        """Nobody looks."""
        return super().left_out(job, step) if _met(job, step) else OverrideAsked("hold", step.id, detail_of(step).look)

    def role(self, step: Step) -> str:
        """Whose look it is."""
        return detail_of(step).who

    def sign(self, job: Job, step: Step) -> Sign | None:
        """The hold itself."""
        detail = detail_of(step)
        return None if step.id in job.answered else Sign("hold", detail.who, detail.look)

    def owed(self, job: Job, step: Step) -> Owed | None:
        """The sign."""
        return None if _met(job, step) else Owed("hold", step.id, detail_of(step).look)

    def owed_until(self, step: Step) -> str:
        """As the file has it."""
        return detail_of(step).until

    def needs(self, state: State, step: Step) -> tuple[str, ...]:
        """The person."""
        return (state.wording.text("need_sign", who=detail_of(step).who),)

    def lines(self, state: State, step: Step) -> tuple[Shown, ...]:
        """Who looks at what."""
        detail = detail_of(step)
        return ((Piece(f"hold point: the {detail.who} looks at {detail.look}"),),)


HOLD = HoldKind()
