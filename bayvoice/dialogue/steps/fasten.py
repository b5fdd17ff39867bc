"""Fasteners: stage by stage over all of them, or one by one; rounds at the final amount; loosening in reverse."""

from __future__ import annotations

from dataclasses import replace
from typing import ClassVar

from bayvoice.dialogue.engine.asked import OverrideAsked
from bayvoice.dialogue.engine.kind import GOOD, LATER, NOW, Answers, Piece, Shown, StepKind
from bayvoice.dialogue.engine.state import Mode, State, Target, ValueAsked, mode_of
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import asking, guards, passing
from bayvoice.dialogue.flow.walk import leave
from bayvoice.dialogue.steps import measure
from bayvoice.job.facts import Fact, owned
from bayvoice.job.job import Folds, Job, answer
from bayvoice.language.intents import Intent
from bayvoice.language.wording import amount, listed
from bayvoice.procedure.forms.fasten import FastenForm
from bayvoice.procedure.model import Fasten, Stage, Step


def detail_of(step: Step) -> Fasten:
    """The fasteners of a step."""
    assert isinstance(step.detail, Fasten)
    return step.detail


def in_round(job: Job, step: Step) -> bool:
    """Whether the stages are done and the rounds after them are not."""
    detail = detail_of(step)
    if not detail.last_round or step.id in job.answered:
        return False
    return job.stage(step.id) >= len(detail.stages)


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
    if in_round(turn.job, step):
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


def now(job: Job, step: Step, detail: Fasten) -> int:
    """Number of the fastener that is to be done now."""
    return detail.sequence[job.bolting.done(step.id)]


def ask_bolt(turn: Turn, step: Step, detail: Fasten) -> None:
    """Say which fastener is next."""
    place = turn.job.bolting.done(step.id)
    key = "bolt_first" if place == 0 else "bolt_last" if place + 1 == detail.count else "bolt_next"
    turn.say("bolt_only" if detail.count == 1 else key, name=detail.name, number=now(turn.job, step, detail))


def ask_round(turn: Turn, step: Step, detail: Fasten) -> None:
    """Say the round at the final amount, and ask whether any fastener still turned."""
    stage = detail.stages[-1]
    key = "ask_round" if not turn.job.bolting.round(step.id) else "ask_round_again"
    turn.say(key, name=detail.name, to=amount(stage.amount, stage.unit))


def advance(turn: Turn, step: Step, detail: Fasten) -> bool:
    """ "Next" or "done" in a fastening step: the stage, or the present fastener, is done; whether the step is."""
    if in_round(turn.job, step):
        turn.say("lacking_round")
        ask_round(turn, step, detail)
        return False
    if not detail.each:
        return _stage_done(turn, step, detail)
    _fastened(turn, step, detail, turn.job.bolting.done(step.id) + 1, None)
    return after_bolt(turn, step, detail)


def bad_bolt(job: Job, step: Step, detail: Fasten) -> OverrideAsked:
    """The question whether a fastener outside its tolerance may stay so."""
    return OverrideAsked("bolt", step.id, f"{detail.name} {now(job, step, detail)}")


def after_bolt(turn: Turn, step: Step, detail: Fasten) -> bool:
    """One fastener is done: say the next, or close the stage; whether the step is done."""
    if turn.job.bolting.done(step.id) < detail.count:
        ask_bolt(turn, step, detail)
        return False
    return _stage_done(turn, step, detail)


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
        "stage_done",
        step=step.id,
        stage=turn.job.stage(step.id) + 1,
        stages=passes(detail),
        amount=f"{stage.amount:f}" if stage else "",
        unit=stage.unit if stage else "",
        order=list(detail.sequence),
        name=detail.name,
    )


def _fastened(
    turn: Turn, step: Step, detail: Fasten, place: int, asked: ValueAsked | None, trusted: bool = False
) -> None:
    stage = stage_of(turn, step, detail)
    judged = asked is not None and stage is not None and detail.band(stage) is not None
    turn.fact(
        "fastened",
        step=step.id,
        stage=turn.job.stage(step.id) + 1,
        number=detail.sequence[place - 1],
        place=place,
        amount=f"{stage.amount:f}" if stage else "",
        unit=stage.unit if stage else "",
        achieved=f"{asked.said_value:f}" if asked else "",
        achieved_unit=asked.said_unit if asked else "",
        verdict=asked.verdict if asked is not None and judged else "",
        trusted=trusted,
    )


def value(turn: Turn, intent: Intent) -> None:
    """What the present fastener reached; or a measurement by its name."""
    if intent.slot("name"):
        measure.record(turn, intent)
    else:
        _take(turn, propose(turn, intent))


def correct(turn: Turn, intent: Intent) -> None:
    """Another value for the fastener before; or for a measurement by its name."""
    if intent.slot("name"):
        measure.correct(turn, intent)
    else:
        _take(turn, propose(turn, intent, back=1))


def _take(turn: Turn, asked: ValueAsked | None) -> None:
    if asked is not None:
        FASTEN.log(turn, turn.step, asked, trusted=True)


def propose(turn: Turn, intent: Intent, back: int = 0) -> ValueAsked | None:
    """What a fastener reached was said: the present one, or the one `back` before it, whose value is replaced.

    Returns:
        The value where it may be logged at once, as `asking.propose`.
    """
    step = turn.step
    detail = detail_of(step)
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


def turned(turn: Turn, intent: Intent) -> None:
    """Some fastener turned in the round: another one."""
    _round(turn, True)


def still(turn: Turn, intent: Intent) -> None:
    """No fastener turned any more."""
    _round(turn, False)


def _round(turn: Turn, moved: bool) -> None:
    """A round at the final amount was made."""
    step = turn.step
    detail = detail_of(step)
    turn.fact("round_done", step=step.id, round=turn.job.bolting.round(step.id) + 1, turned=moved)
    if moved:
        ask_round(turn, step, detail)
        return
    turn.mode(mode_of(turn.job, step))
    turn.say("round_still", name=detail.name)
    leave(turn, step)


def _fold_fastened(job: Job, fact: Fact) -> Job:
    """A fastener of the present stage is done, unless it is outside its tolerance."""
    b = fact.body
    step, good = b["step"], b["verdict"] in ("", "within")
    deviant = job.deviant - {step} if good else job.deviant | {step}
    return replace(job, deviant=deviant, bolting=job.bolting.place(step, b["place"] if good else b["place"] - 1))


def _fold_stage(job: Job, fact: Fact) -> Job:
    """All fasteners of a stage are done."""
    step, stage = fact.body["step"], fact.body["stage"]
    job = replace(
        job,
        stages=(*((s, n) for s, n in job.stages if s != step), (step, stage)),
        bolting=job.bolting.place(step, 0),
    )
    last_round = detail_of(job.procedure.steps[job.procedure.index(step)]).last_round
    return answer(job, step, True) if stage >= fact.body["stages"] and not last_round else job


def _fold_round(job: Job, fact: Fact) -> Job:
    """A round after the last stage was made; the one in which nothing turned answers the step."""
    step = fact.body["step"]
    job = replace(job, bolting=job.bolting.turned(step, fact.body["round"]))
    return job if fact.body["turned"] else answer(job, step, True)


class FastenKind(FastenForm, StepKind):
    """Fasteners of one joint."""

    facts = owned("stage_done", "fastened", "round_done")
    folds: ClassVar[Folds] = {"fastened": _fold_fastened, "stage_done": _fold_stage, "round_done": _fold_round}
    answers: ClassVar[Answers] = {
        Mode.FASTEN: {},
        Mode.BOLT: {"record": value, "correct": correct},
        Mode.CHECK: {"yes": turned, "no": still},
    }

    def mode(self, job: Job, step: Step) -> str:
        """Stage by stage, one by one, or the question of a round."""
        return Mode.CHECK if in_round(job, step) else Mode.BOLT if detail_of(step).each else Mode.FASTEN

    def ask(self, turn: Turn, step: Step) -> None:
        """The stage, the next fastener, or the round."""
        ask_fasten(turn, step, detail_of(step))

    def complete(self, turn: Turn, step: Step, here: bool) -> None:
        """Close a stage whose last fastener was the last thing recorded."""
        detail = detail_of(step)
        if here and detail.each and turn.job.bolting.done(step.id) >= detail.count:
            _record_stage(turn, step, detail)

    def guard(self, job: Job, step: Step) -> OverrideAsked | None:
        """A fastener outside its tolerance."""
        bad = step.id in job.deviant and step.id not in job.answered
        return bad_bolt(job, step, detail_of(step)) if bad else None

    def advance(self, turn: Turn, step: Step) -> bool:
        """The stage, or the present fastener, is done."""
        if step.id in turn.job.answered:
            return super().advance(turn, step)
        return advance(turn, step, detail_of(step))

    def after_pass(self, turn: Turn, step: Step, asked: OverrideAsked) -> bool:
        """The fastener stays outside its tolerance: the next one."""
        if asked.what != "bolt":
            return False
        guards.say_passed(turn, asked)
        if after_bolt(turn, step, detail_of(step)):
            leave(turn, step)
        return True

    def passed(self, job: Job, fact: Fact) -> Job | None:
        """The fastener counts as done."""
        if fact.body["what"] != "bolt":
            return None
        step = fact.body["step"]
        job = replace(job, excused=job.excused | {("bolt", step)}, deviant=job.deviant - {step})
        return replace(job, bolting=job.bolting.place(step, job.bolting.done(step) + 1))

    def log(self, turn: Turn, step: Step, asked: ValueAsked, *, trusted: bool) -> None:
        """Record what a fastener reached, and go on to the next."""
        detail = detail_of(step)
        _fastened(turn, step, detail, asked.target.place, asked, trusted)
        turn.put(pending=None)
        turn.mode(mode_of(turn.job, step))
        turn.say("logged_value", name=asked.name, value=amount(asked.said_value, asked.said_unit))
        if asked.verdict != "within":
            turn.ring("refused")
            onward = passing.past(turn, "bolt", step.id, "onward")
            turn.say(f"bolt_{asked.verdict}", name=asked.name, onward=onward)
        elif after_bolt(turn, step, detail):
            leave(turn, step)

    def marks(self, job: Job, step: Step) -> tuple[tuple[int, str], ...]:
        """All are "now" where they are not gone through one by one, and in a round after the last stage."""
        detail, done = detail_of(step), job.bolting.done(step.id)
        if step.id in job.answered:
            return tuple((number, "done") for number in detail.sequence)
        if in_round(job, step) or not detail.each:
            return tuple((number, "now") for number in detail.sequence)
        return tuple(
            (number, "done" if at < done else "now" if at == done else "to come")
            for at, number in enumerate(detail.sequence)
        )

    def order(self, step: Step) -> tuple[int, ...]:
        """As tightened."""
        return detail_of(step).order

    def large(self, state: State, step: Step) -> str:
        """What is done to which fastener now, short enough for letters that are read from afar."""
        detail, job = detail_of(step), state.job
        if state.mode not in (Mode.FASTEN, Mode.BOLT) or step.id in job.answered:
            return ""
        done = job.stage(step.id)
        stage = detail.stages[done] if done < len(detail.stages) else None
        so_much = "" if stage is None else ("+ " if stage.unit == "deg" else "") + amount(stage.amount, stage.unit)
        now_ = [number for number, being in job.bolts(step.id) if being == "now"]
        which = f"{detail.name} {now_[0]}" if detail.each and len(now_) == 1 else ""
        return ": ".join(part for part in (which, so_much) if part)

    def lines(self, state: State, step: Step) -> tuple[Shown, ...]:
        """Passes as done, now, to come; then the order."""
        detail, done = detail_of(step), state.job.stage(step.id)
        found: list[Shown] = []
        if detail.stages:
            pieces = []
            for at, stage in enumerate(detail.stages):
                so_much = ("a further " if stage.unit == "deg" else "") + amount(stage.amount, stage.unit)
                mark, word = (GOOD, "done") if at < done else (NOW, "NOW") if at == done else (LATER, "then")
                pieces += [Piece("   ")] if at else []
                pieces.append(Piece(f"{word} {so_much}", mark))
            found.append(tuple(pieces))
        order = "  ".join(str(n) for n in detail.sequence)
        verb = "loosen" if detail.undo else "order"
        one = f"1 {detail.name}"
        found.append((Piece(f"{verb}, {detail.count} {detail.name}s:  {order}" if detail.count > 1 else one),))
        return tuple(found)


FASTEN = FastenKind()
