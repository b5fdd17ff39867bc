"""Fasteners: stage by stage over all of them, or one by one; rounds at the final amount; loosening in reverse."""

from __future__ import annotations

from bayvoice.dialogue.engine.asked import OverrideAsked
from bayvoice.dialogue.engine.state import Target, ValueAsked, mode_of
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import passing
from bayvoice.dialogue.questions import asking
from bayvoice.language.intents import Intent
from bayvoice.language.wording import amount, listed
from bayvoice.procedure.model import Fasten, Stage, Step


def passes(detail: Fasten) -> int:
    """How many times all fasteners are gone through, the last rounds aside."""
    return max(1, len(detail.stages))


def stage_of(turn: Turn, step: Step, detail: Fasten) -> Stage | None:
    """The stage that is to be done now, None for loosening and for tightening without a figure."""
    done = turn.job.stage(step.id)
    return detail.stages[done] if done < len(detail.stages) else None


def ask_fasten(turn: Turn, step: Step, detail: Fasten) -> None:
    """Say what is to be done now: the stage with its order, or the next fastener, or the last round."""
    done = turn.job.stage(step.id)
    if turn.job.in_round(step.id):
        ask_round(turn, step, detail)
        return
    if done >= passes(detail):
        turn.say("ask_fasten_done", name=detail.name)
        return
    if detail.each:
        if not turn.job.bolting.done(step.id):
            _say_stage(turn, detail, done, "")
        ask_bolt(turn, step, detail)
        return
    order = listed(tuple(str(n) for n in detail.sequence))
    if not detail.stages:
        key = "ask_undo" if detail.undo else "ask_plain"
        turn.say(key, count=detail.count, name=detail.name, order=order)
        return
    first = turn.state.wording.text("order", order=order) if done == 0 else turn.state.wording.text("same_order")
    _say_stage(turn, detail, done, first)


def _say_stage(turn: Turn, detail: Fasten, done: int, order: str) -> None:
    if not detail.stages:
        turn.say("each_undo" if detail.undo else "each_plain", count=detail.count, name=detail.name)
        return
    stage = detail.stages[done]
    fields = {"stage": done + 1, "stages": len(detail.stages), "to": amount(stage.amount, stage.unit), "order": order}
    total = detail.turned(done + 1)
    if stage.unit != "deg":
        key = "ask_torque"
    else:
        key = "ask_angle" if total == stage.amount else "ask_angle_total"
        fields["total"] = amount(total, "deg")
    turn.say(key if order else f"{key}_each", **fields)


def now(turn: Turn, step: Step, detail: Fasten) -> int:
    """Number of the fastener that is to be done now."""
    return detail.sequence[turn.job.bolting.done(step.id)]


def ask_bolt(turn: Turn, step: Step, detail: Fasten) -> None:
    """Say which fastener is next."""
    place = turn.job.bolting.done(step.id)
    key = "bolt_first" if place == 0 else "bolt_last" if place + 1 == detail.count else "bolt_next"
    turn.say("bolt_only" if detail.count == 1 else key, name=detail.name, number=now(turn, step, detail))


def ask_round(turn: Turn, step: Step, detail: Fasten) -> None:
    """Say the round at the final amount, and ask whether any fastener still turned."""
    stage = detail.stages[-1]
    key = "ask_round" if not turn.job.bolting.round(step.id) else "ask_round_again"
    turn.say(key, name=detail.name, to=amount(stage.amount, stage.unit))


def advance(turn: Turn, step: Step, detail: Fasten) -> bool:
    """ "Next" or "done" in a fastening step: the stage, or the present fastener, is done; whether the step is."""
    if turn.job.in_round(step.id):
        turn.say("lacking_round")
        ask_round(turn, step, detail)
        return False
    if not detail.each:
        return _stage_done(turn, step, detail)
    _fastened(turn, step, detail, turn.job.bolting.done(step.id) + 1, None)
    return after_bolt(turn, step, detail)


def bad_bolt(turn: Turn, step: Step, detail: Fasten) -> OverrideAsked:
    """The question whether a fastener outside its tolerance may stay so."""
    name = f"{detail.name} {now(turn, step, detail)}"
    return OverrideAsked("bolt", step.id, name)


def after_bolt(turn: Turn, step: Step, detail: Fasten) -> bool:
    """One fastener is done: say the next, or close the stage; whether the step is done."""
    if turn.job.bolting.done(step.id) < detail.count:
        ask_bolt(turn, step, detail)
        return False
    return _stage_done(turn, step, detail)


def complete(turn: Turn, step: Step) -> None:
    """After a break: close a stage whose last fastener was the last thing recorded."""
    detail = step.detail
    if isinstance(detail, Fasten) and detail.each and turn.job.bolting.done(step.id) >= detail.count:
        _record_stage(turn, step, detail)


def _stage_done(turn: Turn, step: Step, detail: Fasten) -> bool:
    _record_stage(turn, step, detail)
    if step.id in turn.job.answered:
        return True
    turn.mode(mode_of(turn.job, step))
    ask_fasten(turn, step, detail)
    return False


def _record_stage(turn: Turn, step: Step, detail: Fasten) -> None:
    stage = stage_of(turn, step, detail)
    turn.fact(
        "stage_done", step=step.id, stage=turn.job.stage(step.id) + 1, stages=passes(detail),
        amount=f"{stage.amount:f}" if stage else "", unit=stage.unit if stage else "", order=list(detail.sequence),
        name=detail.name,
    )  # fmt: skip


def _fastened(
    turn: Turn, step: Step, detail: Fasten, place: int, asked: ValueAsked | None, trusted: bool = False
) -> None:
    stage = stage_of(turn, step, detail)
    judged = asked is not None and stage is not None and detail.band(stage) is not None
    turn.fact(
        "fastened", step=step.id, stage=turn.job.stage(step.id) + 1, number=detail.sequence[place - 1], place=place,
        amount=f"{stage.amount:f}" if stage else "", unit=stage.unit if stage else "",
        achieved=f"{asked.said_value:f}" if asked else "", achieved_unit=asked.said_unit if asked else "",
        verdict=asked.verdict if asked is not None and judged else "", trusted=trusted,
    )  # fmt: skip


def propose(turn: Turn, intent: Intent, back: int = 0) -> ValueAsked | None:
    """What a fastener reached was said: the present one, or the one `back` before it, whose value is replaced.

    Returns:
        The value where it may be logged at once, as `asking.propose`.
    """
    step = turn.step
    detail = step.detail
    assert isinstance(detail, Fasten)
    place = turn.job.bolting.done(step.id) + 1 - back
    if not place:
        turn.say("nothing_to_correct")
        return None
    stage = stage_of(turn, step, detail)
    if stage is None or place > detail.count:
        turn.say("no_value_here", name=detail.name)
        return None
    low, high = detail.band(stage) or (None, None)
    name = f"{detail.name} {detail.sequence[place - 1]}"
    return asking.propose(turn, Target(step.id, name, stage.unit, low, high, place=place), intent)


def log(turn: Turn, asked: ValueAsked, *, trusted: bool) -> bool:
    """Record what a fastener reached; whether the step is done."""
    step = turn.step
    detail = step.detail
    assert isinstance(detail, Fasten)
    _fastened(turn, step, detail, asked.target.place, asked, trusted)
    turn.put(pending=None)
    turn.mode(mode_of(turn.job, step))
    turn.say("logged_value", name=asked.name, value=amount(asked.said_value, asked.said_unit))
    if asked.verdict != "within":
        turn.ring("refused")
        onward = passing.past(turn, "bolt", step.id, "onward")
        turn.say(f"bolt_{asked.verdict}", name=asked.name, onward=onward)
        return False
    return after_bolt(turn, step, detail)


def round_answer(turn: Turn, step: Step, detail: Fasten, turned: bool) -> bool:
    """A round at the final amount was made; whether the step is done because nothing turned any more."""
    turn.fact("round_done", step=step.id, round=turn.job.bolting.round(step.id) + 1, turned=turned)
    if turned:
        ask_round(turn, step, detail)
        return False
    turn.mode(mode_of(turn.job, step))
    turn.say("round_still", name=detail.name)
    return True
