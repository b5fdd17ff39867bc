"""Passing a guard: the question, the yes, the reason, the name where one is wanted, and what follows."""

from __future__ import annotations

from dataclasses import replace

from bayvoice.core import counts, holds, route, waiting, waits
from bayvoice.core.fastening import after_bolt
from bayvoice.core.state import Mode, OverrideAsked, mode_of
from bayvoice.core.turn import Turn
from bayvoice.core.walk import after_batch, ask, ask_override, go_on, leave, stopped
from bayvoice.procedure.model import Fasten, Hold, Replace
from bayvoice.speech.intents import Intent


def override_yes(turn: Turn, intent: Intent) -> None:
    """The guard is to be passed; a reason is still wanted."""
    asked = _override(turn)
    if asked.reason:
        _reasoned(turn, asked)
        return
    turn.mode(Mode.REASON)
    turn.say("ask_reason")


def override_no(turn: Turn, intent: Intent) -> None:
    """The guard stays."""
    turn.put(pending=None)
    turn.mode(mode_of(turn.job, turn.step))
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
    _reasoned(turn, replace(asked, reason=reason))


def reason_repeat(turn: Turn, intent: Intent) -> None:
    """Ask for the reason once more."""
    turn.say("ask_reason")


def named(turn: Turn, intent: Intent) -> None:
    """The name completes the override of a hold."""
    asked = holds.named(turn, intent)
    if asked is not None:
        _pass_guard(turn, asked)


def named_repeat(turn: Turn, intent: Intent) -> None:
    """Ask for the name once more."""
    turn.say("ask_who")


def _override(turn: Turn) -> OverrideAsked:
    assert isinstance(turn.state.pending, OverrideAsked), "an override without a question"
    return turn.state.pending


def _reasoned(turn: Turn, asked: OverrideAsked) -> None:
    if asked.what == "hold" and not asked.who:
        holds.ask_who(turn, asked)
        return
    _pass_guard(turn, asked)


def _pass_guard(turn: Turn, asked: OverrideAsked) -> None:
    turn.put(pending=None, gate="")
    if asked.what == "cancel":
        waiting.cancelled(turn, asked)
        return
    turn.fact(
        "overridden", step=asked.step, what=asked.what, name=asked.name, reason=asked.reason, who=asked.who
    )  # fmt: skip
    step = turn.step
    turn.mode(mode_of(turn.job, step))
    turn.say("overridden", reason=asked.reason)
    if asked.what in ("wait", "late"):
        go_on(turn)
    elif asked.what in ("skip", "hold", "part", "tally"):
        leave(turn, step, "skipped", asked.reason)
    elif asked.what == "bolt" and isinstance(step.detail, Fasten):
        if after_bolt(turn, step, step.detail):
            leave(turn, step)
    elif asked.what in ("check", "measure", "gauge"):
        go_on(turn)  # another guard may stand in the way still
    elif asked.what == "batch":
        after_batch(turn, step)
    else:
        leave(turn, step)


def skip(turn: Turn, intent: Intent) -> None:
    """Leave a step out, or pass the wait that has just refused the way on, or one that ran out and bars it."""
    step, job = turn.step, turn.job
    gate = job.wait_of(turn.state.gate) if turn.state.gate else None
    reason = intent.slot("reason") or ""
    if gate is not None and gate.short(turn.at.mono) > 0:
        ask_override(turn, OverrideAsked("wait", gate.step, gate.name, job.step + 1, reason))
        return
    if stopped(turn, step):
        return
    opening = counts.closing(turn)
    if opening:
        counts.not_left_out(turn, opening)
        return
    nxt = job.procedure.steps[route.onward(job).index :][:1]
    late = next((found[0] for each in (step, *nxt) if (found := waits.overrun(turn, each))), None)
    if late is not None:
        ask_override(turn, OverrideAsked("late", late.step, late.name, job.step + 1, reason))
        return
    what, name = "skip", step.say
    met = step.id in job.answered and step.id not in job.deviant
    if isinstance(step.detail, Hold) and not met:
        what, name = "hold", step.detail.look
    elif isinstance(step.detail, Replace) and not met:
        what, name = "part", job.procedure.part(step.detail.part).name
    ask_override(turn, OverrideAsked(what, step.id, name, job.step + 1, reason))
