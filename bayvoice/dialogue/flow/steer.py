"""Words that steer the talk rather than answer a step: repeat, where, time, pause, help, stop."""

from __future__ import annotations

from bayvoice.dialogue.engine.kind import kind_of
from bayvoice.dialogue.engine.state import Mode, State, ValueAsked, mode_of
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import guards, handover, route, waits
from bayvoice.dialogue.flow.walk import ask, enter, read
from bayvoice.language.intents import Intent
from bayvoice.language.wording import listed


def repeat(turn: Turn, intent: Intent) -> None:
    """Say the current step once more."""
    read(turn, turn.step)


def back(turn: Turn, intent: Intent) -> None:
    """Go to the step before; what was recorded stays recorded."""
    way = route.backward(turn.job)
    if way is None:
        turn.say("no_step_before")
        return
    enter(turn, way.index, way.again)


def where(turn: Turn, intent: Intent) -> None:
    """Say how far the job is, what was done last, what is open, and what is expected."""
    job = turn.job
    turn.say("where", number=job.step + 1, of=len(job.procedure.steps), title=job.procedure.title)
    for line in handover.told(turn, here=False):
        turn.say_text(line.text)
    step = turn.step
    turn.say_text(step.say)
    if turn.state.mode is not Mode.PAUSED:
        ask(turn, step)


def stop(turn: Turn, intent: Intent) -> None:
    """Be quiet. Silence itself is the answer; speech and alerts were ended before this handler ran."""


def time(turn: Turn, intent: Intent) -> None:
    """Say how long each wait still must and may go on."""
    lines = waits.describe(turn, then=True)
    if not lines:
        turn.say("no_wait")
    for line in lines:
        turn.say_text(line.text)
    held = any(wait.short(turn.at.mono) > 0 for wait in turn.job.waits)
    free = waits.meanwhile(turn) if held else None
    if free is not None:
        turn.say("meanwhile", number=turn.job.step + 2, say=free.say)


def pause(turn: Turn, intent: Intent) -> None:
    """Stop listening for anything but resume and a few questions; waits go on."""
    turn.fact("paused")
    turn.put(pending=None)
    turn.mode(Mode.PAUSED)
    turn.say("paused_waits" if turn.job.waits else "paused", waits=listed(tuple(w.name for w in turn.job.waits)))


def help_(turn: Turn, intent: Intent) -> None:
    """Say what can be said now."""
    guards.say_help(turn)


def expects(state: State) -> str:
    """The one thing expected now, as the screen shows it."""
    text = state.wording.text
    step = state.job.current
    if state.mode is Mode.CONFIRM and isinstance(state.pending, ValueAsked):
        return text("expect_confirm")
    if step is not None and state.mode == mode_of(state.job, step):
        expected = kind_of(state.job, step).expects(state, step)
        if expected:
            return expected
    return text(f"expect_{state.mode}")
