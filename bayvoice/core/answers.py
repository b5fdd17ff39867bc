"""What an answer does in the step it answers: yes, no, values, counts, signatures."""

from __future__ import annotations

from decimal import Decimal

from bayvoice.core import waits
from bayvoice.core.state import MODE_OF, Mode, OverrideAsked, ValueAsked
from bayvoice.core.turn import Turn
from bayvoice.core.walk import ask, ask_override, enter, finish, go_on, inside_text, leave, read
from bayvoice.core.wording import amount
from bayvoice.errors import BayError
from bayvoice.procedure.model import Check, Hold, Measure, Replace, Step, Together
from bayvoice.speech import units
from bayvoice.speech.intents import Intent
from bayvoice.trade.verdict import verdict


def check_yes(turn: Turn, intent: Intent) -> None:
    """The check's question was answered with yes."""
    _checked(turn, True)


def check_no(turn: Turn, intent: Intent) -> None:
    """The check's question was answered with no."""
    _checked(turn, False)


def _checked(turn: Turn, answer: bool) -> None:
    step = turn.step
    assert isinstance(step.detail, Check)
    turn.fact("checked", step=step.id, ask=step.detail.ask, answer=answer, want=step.detail.want)
    if answer == step.detail.want:
        turn.say("logged_check_yes" if answer else "logged_check_no")
        leave(turn, step)
        return
    turn.ring("refused")
    turn.say("check_not_in_order_yes" if answer else "check_not_in_order_no")


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


def go(turn: Turn, intent: Intent) -> None:
    """Start the wait that is armed."""
    step = turn.step
    if turn.job.wait_of(step.id):
        turn.say("already_running", name=turn.job.wait_of(step.id).name)  # type: ignore[union-attr]
        return
    waits.start(turn, step)


def replaced_yes(turn: Turn, intent: Intent) -> None:
    """The new one-use part is fitted."""
    _replaced(turn, True)


def replaced_no(turn: Turn, intent: Intent) -> None:
    """The new one-use part is not fitted."""
    _replaced(turn, False)


def _replaced(turn: Turn, new: bool) -> None:
    step = turn.step
    assert isinstance(step.detail, Replace)
    part = turn.job.procedure.part(step.detail.part)
    turn.fact("replaced", step=step.id, part=part.id, name=part.name, number=part.number, new=new)
    if new:
        turn.say("logged_part", part=part.name)
        leave(turn, step)
    else:
        turn.ring("refused")
        turn.say("part_not_new", part=part.name)


def count_in(turn: Turn, intent: Intent) -> None:
    """Things go into the open machine."""
    _count(turn, intent, 1)


def count_out(turn: Turn, intent: Intent) -> None:
    """Things come out of the open machine."""
    _count(turn, intent, -1)


def _count(turn: Turn, intent: Intent, sign: int) -> None:
    job, thing = turn.job, intent.slot("thing")
    if not job.openings:
        turn.say("nothing_open")
        return
    if thing is None:
        turn.say("say_a_thing")
        return
    opening = job.openings[-1]
    count = int(intent.slot("count") or "1")
    inside = dict(job.left_inside(opening)).get(thing, 0)
    if sign < 0 and count > inside:
        turn.ring("refused")
        turn.say("count_too_many", thing=thing, n=inside)
        return
    turn.fact(
        "counted", step=turn.step.id, opening=opening, thing=thing, change=sign * count, inside=inside + sign * count
    )
    text = inside_text(turn, opening)
    key = "counted_in" if sign > 0 else "counted_out"
    turn.say(key, thing=thing, n=count)
    turn.say("now_inside" if text else "now_empty", inside=text)


def tally_no(turn: Turn, intent: Intent) -> None:
    """Not everything is out yet."""
    ask(turn, turn.step)


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
    if asked.what == "wait":
        go_on(turn)
    elif asked.what == "skip":
        leave(turn, step, "skipped", asked.reason)
    else:
        leave(turn, step)


def skip(turn: Turn, intent: Intent) -> None:
    """Leave a step out, or pass the wait that has just refused the way on."""
    step = turn.step
    gate = turn.job.wait_of(turn.state.gate) if turn.state.gate else None
    reason = intent.slot("reason") or ""
    if gate is not None:
        ask_override(turn, OverrideAsked("wait", gate.step, gate.name, turn.job.step + 1, reason))
        return
    ask_override(turn, OverrideAsked("skip", step.id, step.say, turn.job.step + 1, reason))


def resume(turn: Turn, intent: Intent) -> None:
    """Take the job up after a pause."""
    turn.fact("resumed")
    if turn.job.finished:
        finish(turn)
        return
    read(turn, turn.step)


def back(turn: Turn, intent: Intent) -> None:
    """Go to the step before; what was recorded stays recorded."""
    job = turn.job
    target = job.step - 1
    if target < 0:
        turn.say("no_step_before")
        return
    enter(turn, target, "back")
