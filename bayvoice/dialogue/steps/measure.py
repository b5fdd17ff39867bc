"""Measurements: what a value said in a step is for, its fact, the mean of repeated ones, and what follows."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import ClassVar

from bayvoice.dialogue.engine.asked import OverrideAsked
from bayvoice.dialogue.engine.kind import BAD, Answers, Owed, Piece, Row, Shown, Sign, StepKind
from bayvoice.dialogue.engine.state import Mode, State, Target, ValueAsked, mode_of
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import asides, asking, gauges, passing, reasons
from bayvoice.dialogue.flow.walk import ask, enter, leave
from bayvoice.errors import BayError
from bayvoice.job.facts import Fact, owned
from bayvoice.job.job import Folds, Job, answer
from bayvoice.job.limits import depends, limit_fields, limits, limits_key, limits_text, shown, uncertainty_of
from bayvoice.job.readings import OUT_OF_DATE, Reading
from bayvoice.language import units
from bayvoice.language.intents import Intent
from bayvoice.language.wording import amount
from bayvoice.procedure.forms.measure import MeasureForm
from bayvoice.procedure.model import FOREMAN, Gauge, Measure, Step
from bayvoice.trade.statistics import summary
from bayvoice.trade.verdict import judge


def detail_of(step: Step) -> Measure:
    """What is measured."""
    assert isinstance(step.detail, Measure)
    return step.detail


def gauge_of(job: Job, step: Step) -> Gauge | None:
    """The gauge a measuring step names, where the procedure describes it."""
    return job.procedure.gauge(detail_of(step).gauge)


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
        wanted = asking.NTHS.get(which, 0) if which else max(series, default=0)
        reading = series.get(wanted)
    if reading is None or (which and reading.of == 1):
        turn.say("no_such_reading", name=readings[-1].name)
        return
    _propose(turn, step, intent, reading)


def _propose(turn: Turn, step: Step, intent: Intent, corrects: Reading | None) -> None:
    if not gauges.ready(turn, step, gauge_of(turn.job, step)):
        return
    target = target_of(turn, step, corrects)
    asked = asking.propose(turn, target, intent) if target else None
    if asked is not None:
        log(turn, step, asked, trusted=True)


def target_of(turn: Turn, step: Step, corrects: Reading | None) -> Target | None:
    """What the next value of `step` is for; None, having said why, where its limits can't be worked out."""
    detail = detail_of(step)
    try:
        found = limits(detail, turn.job.measured)
    except BayError as why:
        turn.ring("refused")
        turn.say("no_limits", name=detail.name, what=why.what, mend=why.mend)
        return None
    gauge = gauge_of(turn.job, step)
    return Target(
        step.id,
        detail.name,
        detail.unit,
        found.low,
        found.high,
        found.come_from,
        uncertainty_of(turn.job.procedure, detail),
        gauge.title if gauge else detail.gauge,
        corrects.seq if corrects else 0,
        amount(corrects.value, corrects.unit) if corrects else "",
        corrects.by if corrects else "",
        corrects.nth if corrects else turn.job.measured.next_nth(step.id, detail.times),
        detail.times,
        low_by=found.low_by,
        high_by=found.high_by,
    )


def log(turn: Turn, step: Step, asked: ValueAsked, *, trusted: bool) -> None:
    """Record a value that was confirmed, or is trusted, and go on from there."""
    target = asked.target
    turn.fact(
        "measured",
        step=target.step,
        name=target.name,
        value=f"{asked.value:f}",
        unit=target.unit,
        said_value=f"{asked.said_value:f}",
        said_unit=asked.said_unit,
        low=shown(target.low),
        high=shown(target.high),
        gauge=target.gauge,
        verdict=asked.verdict,
        corrects=target.corrects,
        words=asked.words,
        nth=target.nth,
        of=target.of,
        uncertainty=shown(target.uncertainty),
        limits_from=target.limits_from,
        trusted=trusted,
    )
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
        verdict = average(turn, step)
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
    name = detail_of(corrected).name
    for step in turn.job.procedure.steps[: turn.job.step]:
        detail = step.detail
        concerned = step.id == corrected.id or (isinstance(detail, Measure) and depends(detail, name))
        if concerned and step.id in turn.job.deviant | turn.job.measured.doubted:
            return step
    return None


def _back(turn: Turn) -> None:
    turn.say("back_at_step", number=turn.job.step + 1)
    ask(turn, turn.step)


def average(turn: Turn, step: Step) -> str:
    """Record the mean of a complete series and say it.

    Returns:
        Its verdict, "" where its limits can't be worked out: that is said, nothing is recorded, and the step is open.
    """
    detail = detail_of(step)
    series = turn.job.measured.series(step.id)
    found = summary([r.value for r in series])
    # Two places more than the readings tell every mean of up to a hundred from its neighbours.
    fine = Decimal(1).scaleb(-(found.places + 2))
    mean = found.mean if found.mean == found.mean.quantize(fine) else found.mean.quantize(fine)
    uncertainty = uncertainty_of(turn.job.procedure, detail)
    scattered = detail.spread is not None and found.spread > detail.spread
    try:
        edges = limits(detail, turn.job.measured)
    except BayError as why:
        turn.say("no_limits", name=detail.name, what=why.what, mend=why.mend)
        return ""
    verdict = "scattered" if scattered else judge(mean, edges.low, edges.high, uncertainty)
    deviation = found.sd if found.sd is not None else Decimal(0)
    turn.fact(
        "averaged",
        step=step.id,
        name=detail.name,
        value=f"{mean:f}",
        unit=detail.unit,
        n=len(series),
        spread=f"{found.spread:f}",
        deviation=f"{deviation.quantize(fine):f}",
        spread_limit=shown(detail.spread),
        low=shown(edges.low),
        high=shown(edges.high),
        uncertainty=shown(uncertainty),
        verdict=verdict,
    )
    turn.say("averaged", name=detail.name, value=amount(mean, detail.unit), spread=amount(found.spread, detail.unit))
    return verdict


def _fold_measured(job: Job, fact: Fact) -> Job:
    """A value is logged: a single one answers its step, repeated ones are judged by their mean."""
    b = fact.body
    reading = Reading(
        fact.seq,
        b["step"],
        b["name"],
        Decimal(b["value"]),
        b["unit"],
        b["verdict"],
        b["nth"],
        b["of"],
        b["corrects"],
        job.by,
        fact.wall,
    )
    job = replace(job, measured=job.measured.read(reading, _gauge_id(job, reading.step)))
    if reading.of > 1:
        # The mean decides; until it is recorded, what hangs on the one before is open.
        return _rejudged(job, reading.name) if job.measured.value(reading.name) else job
    return _rejudged(answer(job, reading.step, reading.verdict == "within"), reading.name)


def _fold_averaged(job: Job, fact: Fact) -> Job:
    """The mean of repeated readings answers their step."""
    b = fact.body
    stands = Decimal(b["value"]), b["unit"], b["verdict"], job.measured.series(b["step"])
    job = replace(job, measured=job.measured.averaged(b["step"]).stands(b["name"], *stands))
    return _rejudged(answer(job, b["step"], b["verdict"] == "within"), b["name"])


def _rejudged(job: Job, name: str) -> Job:
    """`name` stands at another value: answers whose limits come from it are judged by the limits it gives now, or are
    open where it gives none; then those that hang on these."""
    changed = {name}
    for step in job.procedure.steps:
        detail = step.detail
        if not isinstance(detail, Measure) or step.id not in job.answered or not job.measured.value(detail.name):
            continue
        if not any(depends(detail, each) for each in changed):
            continue
        verdict = _verdict(job, detail)
        job = answer(job, step.id, verdict == "within")
        job = replace(job, measured=job.measured.judged(detail.name, verdict))
        changed.add(detail.name)
    return job


def _verdict(job: Job, detail: Measure) -> str:
    """What is to be said now of the value that `detail` stands at."""
    stands, before = job.measured.value(detail.name), job.measured.verdict(detail.name)
    if stands is None or before in ("scattered", "again"):
        return before  # no limit mends these
    try:
        found = limits(detail, job.measured)
        return judge(stands[0], found.low, found.high, uncertainty_of(job.procedure, detail))
    except BayError:
        return "open"


def _fold_gauge(job: Job, fact: Fact) -> Job:
    """A gauge is used for the first time in this sitting."""
    gauge = _gauge_id(job, fact.body["step"])
    return replace(job, measured=job.measured.gauge_used(gauge, fact.body["state"]))


def _gauge_id(job: Job, step_id: str) -> str:
    return detail_of(job.procedure.steps[job.procedure.index(step_id)]).gauge


class MeasureKind(MeasureForm, StepKind):
    """A value, or the mean of several, within limits."""

    facts = owned("measured", "averaged", "gauge_used")
    folds: ClassVar[Folds] = {"measured": _fold_measured, "averaged": _fold_averaged, "gauge_used": _fold_gauge}
    answers: ClassVar[Answers] = {Mode.MEASURE: {"record": record}}
    steers: ClassVar[Row] = {"correct": correct}
    asked_again = True

    def mode(self, job: Job, step: Step) -> str:
        """A value."""
        return Mode.MEASURE

    def ready(self, turn: Turn, step: Step) -> bool:
        """The gauge is looked at before its first use in a sitting."""
        return gauges.ready(turn, step, gauge_of(turn.job, step))

    def ask(self, turn: Turn, step: Step) -> None:
        """Which value is wanted and between which limits; of a series which reading."""
        detail = detail_of(step)
        nth = turn.job.measured.next_nth(step.id, detail.times)
        if nth > 1:
            turn.say("ask_reading", nth=asking.ordinal(turn, nth).capitalize(), of=detail.times)
            return
        try:
            found = limits(detail, turn.job.measured)
        except BayError as why:
            turn.say("no_limits", name=detail.name, what=why.what, mend=why.mend)
            return
        turn.say(f"ask_measure_{limits_key(found)}", name=detail.name, **limit_fields(found, detail.unit))
        if detail.times > 1:
            turn.say("ask_series", of=detail.times, nth=asking.ordinal(turn, 1).capitalize())

    def complete(self, turn: Turn, step: Step, here: bool) -> None:
        """The mean of a series whose last reading was the last thing recorded, also where it was being corrected from
        another step."""
        times = detail_of(step).times
        if times > 1 and turn.job.measured.unmeant(step.id, times):
            average(turn, step)

    def lacking(self, job: Job, step: Step) -> str:
        """The rest of a series, or what any step lacks."""
        return "lacking_series" if _in_series(job, step) else super().lacking(job, step)

    def guard(self, job: Job, step: Step) -> OverrideAsked | None:
        """A gauge out of date, or a value that is not in order; neither in the middle of a series."""
        if _in_series(job, step):
            return None
        if step.id in job.deviant:
            return OverrideAsked("measure", step.id, step.say)
        gauge = gauge_of(job, step)
        doubted = step.id in job.measured.doubted
        return OverrideAsked("gauge", step.id, gauge.title if gauge else "") if doubted else None

    def passed(self, job: Job, fact: Fact) -> Job | None:
        """An out-of-date gauge is to count, in every step that measures with it."""
        if fact.body["what"] != "gauge":
            return None
        step = fact.body["step"]
        gauge = _gauge_id(job, step)
        its = {s.id for s in job.procedure.steps if isinstance(s.detail, Measure) and s.detail.gauge == gauge}
        job = replace(job, excused=job.excused | {("gauge", step)})
        return replace(job, measured=job.measured.gauge_passed(gauge, frozenset(its)))

    def log(self, turn: Turn, step: Step, asked: ValueAsked, *, trusted: bool) -> None:
        """Record it and go on from there."""
        log(turn, step, asked, trusted=trusted)

    def reasons(self, job: Job, step: Step, what: str) -> tuple[str, ...]:
        """Others where the value is not shown to be outside, only not shown to be within."""
        last = next((r for r in reversed(job.readings) if r.step == step.id), None)
        unclear = last is not None and (last.verdict == "close" or last.of > 1)
        return reasons.OF["close"] if what == "measure" and unclear else ()

    def sign(self, job: Job, step: Step) -> Sign | None:
        """The foreman may let go on what is not in order."""
        return Sign("measure", FOREMAN, step.say) if step.id in job.deviant else None

    def reopened(self, job: Job, step: Step) -> Owed | None:
        """A correction has put it out of order: its own, or that of a value its limits come from."""
        doubted = step.id in job.measured.doubted and ("skip", step.id) not in job.excused
        return Owed("value", step.id, detail_of(step).name) if doubted or step.id in job.deviant else None

    def needs(self, state: State, step: Step) -> tuple[str, ...]:
        """The gauge."""
        gauge = detail_of(step).gauge
        return (gauge,) if gauge else ()

    def expects(self, state: State, step: Step) -> str:
        """A value of its unit within its limits; of a series which reading."""
        detail, text = detail_of(step), state.wording.text
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

    def lines(self, state: State, step: Step) -> tuple[Shown, ...]:
        """What is measured, between which limits and where they come from, with what; then the readings of a series."""
        job, detail, gauge = state.job, detail_of(step), gauge_of(state.job, step)
        name = gauge.title if gauge else detail.gauge
        found: list[Shown] = []
        try:
            edges = limits(detail, job.measured)
        except BayError as why:
            found.append((Piece(f"{detail.name}: {why.what}; {why.mend}", BAD),))
        else:
            first = Piece(f"{detail.name}: {limits_text(edges, detail.unit)}{f', with {name}' if name else ''}")
            gone = bool(name) and job.measured.gauge_state(detail.gauge) == OUT_OF_DATE
            found.append((first, Piece(" "), Piece("OUT OF DATE", BAD)) if gone else (first,))
            if edges.come_from:
                found.append((Piece(edges.come_from),))
        if detail.times > 1:
            taken = ", ".join(amount(reading.value, reading.unit) for reading in job.measured.series(step.id))
            number = len(job.measured.series(step.id))
            found.append((Piece(f"{number} of {detail.times} readings{': ' if taken else ''}{taken}"),))
        return tuple(found)


def _in_series(job: Job, step: Step) -> bool:
    return 0 < len(job.measured.series(step.id)) < detail_of(step).times


MEASURE = MeasureKind()
