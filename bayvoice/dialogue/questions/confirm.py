"""Answers to an open question about a value: yes, no, another value, which one; and about a gauge."""

from __future__ import annotations

from bayvoice.dialogue.engine.kind import kind_of
from bayvoice.dialogue.engine.state import GaugeAsked, MeantAsked, ReadingAsked, Target, ValueAsked, mode_of
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import asking, gauges
from bayvoice.dialogue.flow.passing import step_of
from bayvoice.dialogue.flow.walk import ask
from bayvoice.job.readings import IN_DATE, OUT_OF_DATE
from bayvoice.language.intents import Intent


def log(turn: Turn, asked: ValueAsked, *, trusted: bool) -> None:
    """Record a value, as the kind of its step has it."""
    step = step_of(turn.job, asked.target.step)
    kind_of(turn.job, step).log(turn, step, asked, trusted=trusted)


def yes(turn: Turn, intent: Intent) -> None:
    """The value read back is right: record it. To "did you mean", the other value is read back."""
    pending = turn.state.pending
    if isinstance(pending, MeantAsked):
        value = pending.asked
        _take(turn, asking.settle(turn, value.target, pending.other, value.said_unit, value.words))
        return
    assert isinstance(pending, ValueAsked), "a confirmation without a value"
    log(turn, pending, trusted=False)


def no(turn: Turn, intent: Intent) -> None:
    """The value read back is wrong: forget it. To "did you mean": what was said stands and is read back."""
    pending = turn.state.pending
    if isinstance(pending, MeantAsked):
        asking.put(turn, pending.asked)
        return
    name = _target(turn).name
    turn.put(pending=None)
    turn.mode(mode_of(turn.job, turn.step))
    turn.say("value_dropped", name=name)


def correct(turn: Turn, intent: Intent) -> None:
    """Another value instead of the one in question."""
    _take(turn, asking.propose(turn, _target(turn), intent))


def repeat(turn: Turn, intent: Intent) -> None:
    """Put the question once more."""
    asking.again(turn)


def pick(turn: Turn, intent: Intent) -> None:
    """One of the readings of what was said is meant."""
    pending = turn.state.pending
    assert isinstance(pending, ReadingAsked), "a choice without readings"
    at = asking.NTHS.get(intent.slot("which") or "", 0)
    if not 0 < at <= len(pending.readings):
        asking.ask_which(turn)
        return
    said = pending.readings[at - 1]
    _take(turn, asking.settle(turn, pending.target, said, pending.said_unit, pending.words))


def gauge_yes(turn: Turn, intent: Intent) -> None:
    """The gauge's calibration still runs."""
    _gauge(turn, IN_DATE)


def gauge_no(turn: Turn, intent: Intent) -> None:
    """The gauge's calibration has run out."""
    _gauge(turn, OUT_OF_DATE)


def _gauge(turn: Turn, state: str) -> None:
    asked = turn.state.pending
    assert isinstance(asked, GaugeAsked), "an answer about no gauge"
    job = turn.job
    gauge = job.procedure.gauge(asked.gauge)
    assert gauge is not None
    turn.put(pending=None)
    gauges.use(turn, job.procedure.steps[job.procedure.index(asked.step)], gauge, state)
    turn.mode(mode_of(turn.job, turn.step))
    ask(turn, turn.step)


def _take(turn: Turn, asked: ValueAsked | None) -> None:
    if asked is not None:
        log(turn, asked, trusted=True)


def _target(turn: Turn) -> Target:
    pending = turn.state.pending
    if isinstance(pending, MeantAsked):
        return pending.asked.target
    assert isinstance(pending, ValueAsked | ReadingAsked), "an answer about no value"
    return pending.target
