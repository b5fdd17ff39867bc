"""Guards: a step is left out, a guard is passed, and what follows (`dialogue/questions/override.py` asks for that).

A guard's class (`dialogue/flow/passing.py`) says who may pass it. What is left out stands in the record only once it is
left.
"""

from __future__ import annotations

from dataclasses import replace

from bayvoice.dialogue.engine.asked import OverrideAsked
from bayvoice.dialogue.engine.kind import LEAVING, kind_of
from bayvoice.dialogue.engine.state import Mode, mode_of
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import passing, reasons, route, waits
from bayvoice.dialogue.flow.walk import after_batch, go_on, leave, refuse_for_wait, stopped, way_barred
from bayvoice.language.intents import Intent
from bayvoice.procedure.model import Step


def say_help(turn: Turn) -> None:
    """Say what can be said now."""
    asked = turn.state.pending
    if turn.state.mode is Mode.REASON and isinstance(asked, OverrideAsked):
        turn.say("help_reason", reasons=reasons.sayable(turn, asked))
    else:
        turn.say(passing.help_key(turn.state))


def pass_guard(turn: Turn, asked: OverrideAsked) -> None:
    """Pass the guard, everything that takes having been given, unless nobody may or something else keeps the step."""
    turn.put(pending=None, gate="")
    if passing.nobody_may(turn, asked):
        return
    step = turn.step
    turn.mode(mode_of(turn.job, step))
    if asked.what in LEAVING and _barred(turn, step, asked):
        return
    kind = passing.class_of(turn.job, asked.what, asked.step)
    turn.fact(
        "overridden",
        **{"class": kind.value},
        step=asked.step,
        what=asked.what,
        name=asked.name,
        reason=asked.reason,
        who=asked.who,
        code=asked.code,
        note=asked.note,
    )
    guarded = passing.step_of(turn.job, asked.step)
    if kind_of(turn.job, guarded).after_pass(turn, guarded, asked):
        return
    say_passed(turn, asked)
    if asked.what in ("skip", "hold", "part", "tally"):
        leave(turn, step, "skipped", asked.reason)
    elif asked.what == "batch":
        after_batch(turn, step)
    else:
        go_on(turn)  # another guard may stand in the way still


def say_passed(turn: Turn, asked: OverrideAsked) -> None:
    """Back in the step: say that the guard was passed, and why."""
    turn.mode(mode_of(turn.job, turn.step))
    turn.say("overridden", reason=reasons.words(turn.state.wording, asked.reason))


def _barred(turn: Turn, step: Step, asked: OverrideAsked) -> bool:
    """Whether anything but the guard itself keeps the step from being left; that is said and recorded."""
    if asked.what == "batch" and kind_of(turn.job, step).begins_supplied(turn.job, step):
        return False  # what follows is the step itself, not the next one
    return way_barred(turn, step, _own(turn, step) if asked.what == "skip" else "")


def _own(turn: Turn, step: Step) -> str:
    """The wait that goes with `step` if that is left out: one that was never begun; "" for none."""
    return step.id if kind_of(turn.job, step).window(step) and turn.job.wait_of(step.id) is None else ""


def skip(turn: Turn, intent: Intent) -> None:
    """Leave a step out, or pass the wait that has just refused the way on, or one that ran out and bars it."""
    step, job = turn.step, turn.job
    said = intent.slot("reason") or ""
    if stopped(turn, step):
        return
    bar = waits.bar_of(job, turn.state.gate, turn.at.mono) if turn.state.gate else None
    index = route.onward(job).index
    nxt = job.procedure.steps[index] if index < len(job.procedure.steps) else None
    if bar is None:
        bar = waits.gating(job, nxt, turn.at.mono, _own(turn, step))
        if bar is not None and bar.step != step.id:
            # The step could not be left: first what bars the way is said; that may be passed then.
            refuse_for_wait(turn, bar)
            return
    if bar is not None:
        _ask(turn, OverrideAsked("wait", bar.step, bar.name), said)
        return
    kind = kind_of(job, step)
    if kind.bars_skip(turn, step):
        return
    after = (nxt,) if nxt is not None else ()
    late = next((found[0] for each in (step, *after) if (found := waits.overrun(turn, each))), None)
    if late is not None:
        _ask(turn, OverrideAsked("late", late.step, late.name), said)
        return
    passes = kind.left_out(job, step)
    if passes is None:
        go_on(turn)
    else:
        _ask(turn, passes, said)


def _ask(turn: Turn, asked: OverrideAsked, said: str) -> None:
    """Ask for the yes; a reason that was given with the wish is kept where it fits what is passed."""
    passing.ask_override(turn, replace(asked, reason=reasons.meant(turn, asked, said) if said else ""))
