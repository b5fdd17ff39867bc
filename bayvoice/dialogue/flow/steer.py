"""Words that steer the talk rather than answer a step: repeat, where, time, pause, help, stop."""

from __future__ import annotations

from bayvoice.dialogue.engine.state import Mode, State, ValueAsked
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import guards, handover, route
from bayvoice.dialogue.flow.walk import ask, read
from bayvoice.dialogue.steps import waits
from bayvoice.errors import BayError
from bayvoice.job.limits import limit_fields, limits, limits_key
from bayvoice.language import units
from bayvoice.language.intents import Intent
from bayvoice.language.wording import listed
from bayvoice.procedure.model import Measure, Step


def repeat(turn: Turn, intent: Intent) -> None:
    """Say the current step once more."""
    read(turn, turn.step)


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


def where_finished(turn: Turn, intent: Intent) -> None:
    """The job is done; say so."""
    turn.say("finished", title=turn.job.procedure.title)


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
    if state.mode is Mode.MEASURE and step is not None and isinstance(step.detail, Measure):
        return _expects_value(state, step, step.detail)
    if state.mode is Mode.WAIT and step is not None and step.id in state.job.answered:
        nxt = route.onward(state.job).index
        steps = state.job.procedure.steps
        barred = waits.gating(state.job, steps[nxt] if nxt < len(steps) else None, state.now)
        return text("expect_wait_barred" if barred else "expect_wait_running")
    return text(f"expect_{state.mode.value}")


def _expects_value(state: State, step: Step, detail: Measure) -> str:
    text = state.wording.text
    try:
        found = limits(detail, state.job.measured)
    except BayError as why:
        return why.mend
    unit = units.spoken(detail.unit, True)
    said = text(f"expect_measure_{limits_key(found)}", unit=unit, **limit_fields(found, detail.unit))
    if detail.times == 1:
        return said
    nth = state.job.measured.next_nth(step.id, detail.times)
    return text("expect_reading", nth=text(f"ordinal_{nth}"), of=detail.times, said=said)
