"""Measurements: what a value said in a step is for, its fact, the mean of repeated ones, and what follows."""

from __future__ import annotations

from typing import Final

from bayvoice.dialogue.engine.state import Target, ValueAsked, mode_of
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import asides, passing
from bayvoice.dialogue.flow.walk import ask, enter, leave
from bayvoice.dialogue.questions import asking
from bayvoice.dialogue.steps import averages, gauges
from bayvoice.errors import BayError
from bayvoice.job.limits import depends, limits, shown, uncertainty_of
from bayvoice.job.readings import Reading
from bayvoice.language.intents import Intent
from bayvoice.language.wording import amount
from bayvoice.procedure.model import Measure, Step

NTHS: Final = {
    word: n
    for n, word in enumerate(
        ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth"), 1
    )
}  # fmt: skip
"""What `which` slots hold -> place."""


def record(turn: Turn, intent: Intent) -> None:
    """A value was said in its measuring step (or a named one, for an earlier step)."""
    name = intent.slot("measurement") or intent.slot("name")
    step = turn.step
    if not isinstance(step.detail, Measure) or (name is not None and name != step.detail.name.lower()):
        correct(turn, intent)
        return
    if step.detail.times == 1:
        last = turn.job.last_reading(step.detail.name)
        _propose(turn, step, intent, last if last and last.step == step.id else None)
    else:
        _propose(turn, step, intent, None)


def correct(turn: Turn, intent: Intent) -> None:
    """A logged value is to be replaced: the named one, else this step's, else the last one logged."""
    name, which = intent.slot("measurement") or intent.slot("name"), intent.slot("which")
    readings = turn.job.readings
    current = turn.job.current
    if name is not None:
        readings = tuple(r for r in readings if r.name.lower() == name)
    elif current is not None and any(r.step == current.id for r in readings):
        readings = tuple(r for r in readings if r.step == current.id)
    if not readings:
        if current is not None and isinstance(current.detail, Measure) and name in (None, current.detail.name.lower()):
            _propose(turn, current, intent, None)
            return
        turn.say("nothing_to_correct")
        return
    reading: Reading | None = readings[-1]
    step = turn.job.procedure.steps[turn.job.procedure.index(readings[-1].step)]
    if readings[-1].of > 1:
        series = {r.nth: r for r in turn.job.measured.series(step.id)}
        wanted = NTHS.get(which, 0) if which else max(series, default=0)
        reading = series.get(wanted)
    if reading is None or (which and reading.of == 1):
        turn.say("no_such_reading", name=readings[-1].name)
        return
    _propose(turn, step, intent, reading)


def _propose(turn: Turn, step: Step, intent: Intent, corrects: Reading | None) -> None:
    if not gauges.ready(turn, step):
        return
    target = target_of(turn, step, corrects)
    asked = asking.propose(turn, target, intent) if target else None
    if asked is not None:
        log(turn, asked, trusted=True)


def target_of(turn: Turn, step: Step, corrects: Reading | None) -> Target | None:
    """What the next value of `step` is for; None, having said why, where its limits can't be worked out."""
    detail = step.detail
    assert isinstance(detail, Measure)
    try:
        found = limits(detail, turn.job.measured)
    except BayError as why:
        turn.ring("refused")
        turn.say("no_limits", name=detail.name, what=why.what, mend=why.mend)
        return None
    gauge = turn.job.procedure.gauge(detail.gauge)
    return Target(
        step.id, detail.name, detail.unit, found.low, found.high, found.come_from,
        uncertainty_of(turn.job.procedure, detail), gauge.title if gauge else detail.gauge,
        corrects.seq if corrects else 0, amount(corrects.value, corrects.unit) if corrects else "",
        corrects.by if corrects else "",
        corrects.nth if corrects else turn.job.measured.next_nth(step.id, detail.times), detail.times,
        low_by=found.low_by, high_by=found.high_by,
    )  # fmt: skip


def log(turn: Turn, asked: ValueAsked, *, trusted: bool) -> None:
    """Record a value that was confirmed, or is trusted, and go on from there."""
    target = asked.target
    step = turn.job.procedure.steps[turn.job.procedure.index(target.step)]
    turn.fact(
        "measured", step=target.step, name=target.name, value=f"{asked.value:f}", unit=target.unit,
        said_value=f"{asked.said_value:f}", said_unit=asked.said_unit,
        low=shown(target.low), high=shown(target.high), gauge=target.gauge, verdict=asked.verdict,
        corrects=target.corrects, words=asked.words, nth=target.nth, of=target.of,
        uncertainty=shown(target.uncertainty), limits_from=target.limits_from, trusted=trusted,
    )  # fmt: skip
    turn.put(pending=None)
    turn.mode(mode_of(turn.job, turn.step))
    name, value = asking.label(turn, target), amount(asked.value, target.unit)
    if trusted:
        turn.say("trusted_value", name=name, value=value)
    else:
        turn.say("logged_value", name=name, value=value)
    verdict = asked.verdict
    if target.of > 1:
        if len(turn.job.measured.series(step.id)) < target.of:
            if turn.step.id == step.id:
                ask(turn, step)
            else:
                _back(turn)
            return
        verdict = averages.average(turn, step)
        if not verdict:
            return
    _follow(turn, step, verdict)


def _follow(turn: Turn, step: Step, verdict: str) -> None:
    """A measurement stands at a new value: leave its step, or say what is wrong, or go back to what depends on it."""
    current = turn.step
    if current.id == step.id:
        if step.id in turn.job.measured.doubted:
            turn.say("value_gauge", onward=passing.past(turn, "gauge", step.id, "onward"))
        if verdict in ("low", "high") and asides.failed(turn, step):
            return
        if verdict != "within":
            key = f"value_{verdict}" if verdict in ("close", "scattered") else "value_outside"
            turn.say(key, onward=passing.past(turn, "measure", step.id, "onward"))
        elif step.id not in turn.job.measured.doubted:
            leave(turn, step)
        return
    wrong = _wrong_before(turn, step)
    if wrong is None:
        _back(turn)
        return
    turn.ring("refused")
    name = wrong.detail.name if isinstance(wrong.detail, Measure) else ""
    turn.say("corrected_outside" if wrong.id == step.id else "corrected_changes", name=name)
    enter(turn, turn.job.procedure.index(wrong.id), "back")


def _wrong_before(turn: Turn, corrected: Step) -> Step | None:
    """The first step before the current one that a correction put out of order: its own, or one judged by it."""
    assert isinstance(corrected.detail, Measure)
    for step in turn.job.procedure.steps[: turn.job.step]:
        detail = step.detail
        concerned = step.id == corrected.id or (isinstance(detail, Measure) and depends(detail, corrected.detail.name))
        if concerned and step.id in turn.job.deviant | turn.job.measured.doubted:
            return step
    return None


def _back(turn: Turn) -> None:
    turn.say("back_at_step", number=turn.job.step + 1)
    ask(turn, turn.step)
