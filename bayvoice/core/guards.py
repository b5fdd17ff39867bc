"""Passing a guard: the question, the yes, the reason, and what follows."""

from __future__ import annotations

from bayvoice.core import waits
from bayvoice.core.state import MODE_OF, Mode, OverrideAsked
from bayvoice.core.turn import Turn
from bayvoice.core.walk import ask, ask_override, go_on, leave
from bayvoice.speech.intents import Intent


def override_yes(turn: Turn, intent: Intent) -> None:
    """The guard is to be passed; a reason is still wanted."""
    asked = _override(turn)
    if asked.reason:
        _pass_guard(turn, asked)
        return
    turn.mode(Mode.REASON)
    turn.say("ask_reason")


def override_no(turn: Turn, intent: Intent) -> None:
    """The guard stays."""
    turn.put(pending=None)
    turn.mode(MODE_OF[turn.step.kind])
    turn.say("override_dropped")
    ask(turn, turn.step)


def override_repeat(turn: Turn, intent: Intent) -> None:
    """Ask once more."""
    asked = _override(turn)
    turn.say(f"override_{asked.what}", name=asked.name)


def reason_given(turn: Turn, intent: Intent) -> None:
    """The reason completes an override."""
    asked = _override(turn)
    reason = intent.slot("reason")
    if reason is None:
        turn.say("ask_reason")
        return
    _pass_guard(turn, OverrideAsked(asked.what, asked.step, asked.name, asked.target, reason))


def reason_repeat(turn: Turn, intent: Intent) -> None:
    """Ask for the reason once more."""
    turn.say("ask_reason")


def _override(turn: Turn) -> OverrideAsked:
    assert isinstance(turn.state.pending, OverrideAsked), "an override without a question"
    return turn.state.pending


def _pass_guard(turn: Turn, asked: OverrideAsked) -> None:
    turn.put(pending=None, gate="")
    turn.fact("overridden", step=asked.step, what=asked.what, name=asked.name, reason=asked.reason)
    step = turn.step
    turn.mode(MODE_OF[step.kind])
    turn.say("overridden", reason=asked.reason)
    if asked.what in ("wait", "late"):
        go_on(turn)
    elif asked.what == "skip":
        leave(turn, step, "skipped", asked.reason)
    else:
        leave(turn, step)


def skip(turn: Turn, intent: Intent) -> None:
    """Leave a step out, or pass the wait that has just refused the way on, or one that ran out and bars it."""
    step = turn.step
    gate = turn.job.wait_of(turn.state.gate) if turn.state.gate else None
    reason = intent.slot("reason") or ""
    if gate is not None:
        ask_override(turn, OverrideAsked("wait", gate.step, gate.name, turn.job.step + 1, reason))
        return
    nxt = turn.job.procedure.steps[turn.job.step + 1 :][:1]
    late = next((found[0] for each in (step, *nxt) if (found := waits.overrun(turn, each))), None)
    if late is not None:
        ask_override(turn, OverrideAsked("late", late.step, late.name, turn.job.step + 1, reason))
        return
    ask_override(turn, OverrideAsked("skip", step.id, step.say, turn.job.step + 1, reason))
