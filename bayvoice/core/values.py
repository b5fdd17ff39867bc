"""A value from the moment it is said to its fact: read back with its verdict, confirmed, corrected or dropped."""

from __future__ import annotations

from decimal import Decimal

from bayvoice.core.state import MODE_OF, Mode, ValueAsked
from bayvoice.core.turn import Turn
from bayvoice.core.walk import ask, leave
from bayvoice.core.wording import amount
from bayvoice.errors import BayError
from bayvoice.procedure.model import Measure, Step
from bayvoice.speech import units
from bayvoice.speech.intents import Intent
from bayvoice.trade.verdict import verdict


def record(turn: Turn, intent: Intent) -> None:
    """A value was said in its measuring step (or a named one, for an earlier step)."""
    name = intent.slot("measurement") or intent.slot("name")
    step = turn.step
    if isinstance(step.detail, Measure) and (name is None or name == step.detail.name.lower()):
        last = turn.job.last_reading(step.detail.name)
        propose(turn, step, intent, last.seq if last and last.step == step.id else 0)
        return
    correct(turn, intent)


def correct(turn: Turn, intent: Intent) -> None:
    """A logged value is to be replaced: the named one, else this step's, else the last one logged."""
    name = intent.slot("measurement") or intent.slot("name")
    readings = turn.job.readings
    current = turn.job.current
    if name is not None:
        readings = tuple(r for r in readings if r.name.lower() == name)
    elif current is not None and any(r.step == current.id for r in readings):
        readings = tuple(r for r in readings if r.step == current.id)
    if not readings:
        if current is not None and isinstance(current.detail, Measure) and name in (None, current.detail.name.lower()):
            propose(turn, current, intent, 0)
            return
        turn.say("nothing_to_correct")
        return
    reading = readings[-1]
    step = turn.job.procedure.steps[turn.job.procedure.index(reading.step)]
    propose(turn, step, intent, reading.seq)


def propose(turn: Turn, step: Step, intent: Intent, corrects: int) -> None:
    """Read a value back with its verdict and ask whether it is right; nothing is recorded yet."""
    detail = step.detail
    assert isinstance(detail, Measure)
    if intent.value is None:
        turn.say("say_a_value", name=detail.name, unit=units.spoken(detail.unit, True))
        return
    said_unit = intent.unit or detail.unit
    try:
        value = intent.value if said_unit == detail.unit else _converted(intent.value, said_unit, detail)
    except BayError:
        turn.ring("refused")
        turn.say(
            "wrong_unit", name=detail.name, unit=units.spoken(detail.unit, True), said=units.spoken(said_unit, True)
        )
        return
    found = verdict(value, detail.low, detail.high)
    words = turn.state.heard.words if turn.state.heard else ""
    asked = ValueAsked(step.id, detail.name, value, detail.unit, intent.value, said_unit, found, words, corrects)
    turn.put(pending=asked)
    turn.mode(Mode.CONFIRM)
    read_back(turn, asked)


def _converted(value: Decimal, said_unit: str, detail: Measure) -> Decimal:
    """`value` in the measurement's unit, to two places more than its limits have; BayError if dimensions differ."""
    exact = units.convert(value, said_unit, detail.unit)
    places = max(-int(limit.as_tuple().exponent) for limit in (detail.low, detail.high) if limit is not None) + 2
    step = Decimal(1).scaleb(-max(0, places))
    return exact if exact == exact.quantize(step) else exact.quantize(step)


def read_back(turn: Turn, asked: ValueAsked) -> None:
    """Say a value that waits for its yes."""
    detail = turn.job.procedure.steps[turn.job.procedure.index(asked.step)].detail
    assert isinstance(detail, Measure)
    limit = detail.high if asked.verdict == "high" else detail.low
    turn.say(
        f"read_back_{asked.verdict}",
        name=asked.name,
        value=amount(asked.said_value, asked.said_unit),
        limit="" if limit is None else amount(limit, asked.unit),
    )


def confirm_yes(turn: Turn, intent: Intent) -> None:
    """The value read back is right: record it."""
    asked = _value(turn)
    step = turn.job.procedure.steps[turn.job.procedure.index(asked.step)]
    detail = step.detail
    assert isinstance(detail, Measure)
    turn.fact(
        "measured", step=asked.step, name=asked.name, value=f"{asked.value:f}", unit=asked.unit,
        said_value=f"{asked.said_value:f}", said_unit=asked.said_unit,
        low="" if detail.low is None else f"{detail.low:f}", high="" if detail.high is None else f"{detail.high:f}",
        gauge=detail.gauge, verdict=asked.verdict, corrects=asked.corrects, words=asked.words,
    )  # fmt: skip
    turn.put(pending=None)
    current = turn.step
    turn.mode(MODE_OF[current.kind])
    turn.say("logged_value", name=asked.name, value=amount(asked.value, asked.unit))
    if current.id != asked.step:
        turn.say("back_at_step", number=turn.job.step + 1)
        ask(turn, current)
    elif asked.verdict == "within":
        leave(turn, current)
    else:
        turn.say("value_outside")


def confirm_no(turn: Turn, intent: Intent) -> None:
    """The value read back is wrong: forget it and ask again."""
    asked = _value(turn)
    turn.put(pending=None)
    turn.mode(MODE_OF[turn.step.kind])
    turn.say("value_dropped", name=asked.name)


def confirm_correct(turn: Turn, intent: Intent) -> None:
    """Another value instead of the one read back."""
    asked = _value(turn)
    step = turn.job.procedure.steps[turn.job.procedure.index(asked.step)]
    propose(turn, step, intent, asked.corrects)


def confirm_repeat(turn: Turn, intent: Intent) -> None:
    """Read the value back once more."""
    read_back(turn, _value(turn))


def _value(turn: Turn) -> ValueAsked:
    assert isinstance(turn.state.pending, ValueAsked), "a confirmation without a value"
    return turn.state.pending
