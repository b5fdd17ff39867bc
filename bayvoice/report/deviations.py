"""What in a job is not as its procedure wants it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from bayvoice.core.effects import Fact
from bayvoice.procedure.model import Fasten, Hold
from bayvoice.report.folding import Gathered, text
from bayvoice.report.model import Deviation, StepLine, WaitRun
from bayvoice.report.words import TONES, limits, one_line, quantity, span

ORDER: Final = (
    "override", "value", "skipped", "undone", "check", "wait", "alert", "unsigned", "part", "fasten", "tally",
    "trouble", "procedure",
)  # fmt: skip
"""Kinds of deviation, the order in which a report lists them."""


def find(gathered: Gathered, facts: Sequence[Fact]) -> tuple[Deviation, ...]:
    """All deviations, each once: an override that explains another deviation gives that one its reason."""
    found = [
        *_values(gathered),
        *_steps(gathered),
        *_checks(gathered),
        *_waits(gathered),
        *_parts(gathered),
        *_tallies(gathered, facts),
        *_alerts(gathered, facts),
        *_troubles(gathered, facts),
        *_procedure(gathered, facts),
    ]
    # Only now: what is left over explains nothing else.
    found += _other_overrides(gathered)
    return tuple(sorted(found, key=lambda d: (ORDER.index(d.kind), d.seq)))


def _deviation(gathered: Gathered, kind: str, step: str, what: str, seq: int, reason: str = "") -> Deviation:
    by, wall = gathered.by_of.get(seq, ""), gathered.wall_of.get(seq, 0.0)
    return Deviation(kind, step, gathered.number(step), what, reason, by, wall, seq)


def _reason(gathered: Gathered, guard: str, step: str) -> str:
    """The reason the last override of that guard was given, which from here on is spoken for."""
    found = ""
    for passed in gathered.overrides:
        if text(passed.fact.body, "what") == guard and text(passed.fact.body, "step") == step:
            passed.used = True
            found = text(passed.fact.body, "reason")
    return found


def _values(gathered: Gathered) -> Iterator[Deviation]:
    for m in gathered.measurements.values():
        reading = m.standing
        if reading.verdict != "within":
            side = {"low": "below", "high": "above"}.get(reading.verdict, "outside")
            what = f"{one_line(m.name)} is {quantity(reading.value, m.unit)}, {side} {limits(m.low, m.high, m.unit)}"
            yield _deviation(gathered, "value", m.step, what, reading.seq, _reason(gathered, "measure", m.step))


def _steps(gathered: Gathered) -> Iterator[Deviation]:
    details = {step.id: step.detail for step in gathered.procedure.steps} if gathered.procedure else {}
    for line in gathered.steps.values():
        detail = details.get(line.step)
        what = one_line(line.say) or one_line(line.step)
        if line.how == "skipped":
            reason = _reason(gathered, "skip", line.step) or line.reason
            unsigned = "; nobody signed" if isinstance(detail, Hold) else ""
            yield _deviation(gathered, "skipped", line.step, f"left out: {what}{unsigned}", line.seq, reason)
        elif not line.how:
            if gathered.ended is not None:
                yield _deviation(gathered, "undone", line.step, f"not done: {what}", gathered.ended_seq)
        elif isinstance(detail, Hold):
            yield from _signature(gathered, line, detail)
        elif isinstance(detail, Fasten):
            wanted, last = max(1, len(detail.stages)), gathered.stage_of.get(line.step)
            passes = last.stage if last else 0
            if passes < wanted:
                what = f"{one_line(detail.name)}: {passes} of {wanted} passes recorded"
                yield _deviation(gathered, "fasten", line.step, what, line.seq)


def _signature(gathered: Gathered, line: StepLine, hold: Hold) -> Iterator[Deviation]:
    sign = gathered.signature_of.get(line.step)
    if sign is None:
        yield _deviation(gathered, "unsigned", line.step, f"nobody signed for {one_line(hold.look)}", line.seq)
    elif sign.who.casefold().strip() in {sitting.by.casefold().strip() for sitting in gathered.sittings}:
        what = f"{one_line(sign.who)}, who worked on this job, signed in place of the {one_line(hold.who)}"
        yield _deviation(gathered, "unsigned", line.step, what, sign.seq)


def _checks(gathered: Gathered) -> Iterator[Deviation]:
    for check in gathered.check_of.values():
        if check.answer != check.want:
            what = f"“{one_line(check.ask)}” was answered {one_line(check.answer)}, in order is {one_line(check.want)}"
            reason = _reason(gathered, "check", check.step)
            yield _deviation(gathered, "check", check.step, what, check.seq, reason)


def _waits(gathered: Gathered) -> Iterator[Deviation]:
    for at, run in enumerate(gathered.waits):
        what = _wait_fault(run, gathered.ended is not None)
        if what:
            again = any(later.step == run.step for later in gathered.waits[at + 1 :])
            what = f"{one_line(run.name)} {what}" + ("; it was done again" if again else "")
            yield _deviation(gathered, "wait", run.step, what, run.seq, _reason(gathered, "wait", run.step))


def _wait_fault(run: WaitRun, job_done: bool) -> str:
    took = "" if run.seconds is None else f" after {span(run.seconds)}"
    if run.verdict == "early" and run.at_least is not None and run.seconds is not None:
        return f"was ended{took}, {span(run.at_least - run.seconds)} before its {span(run.at_least)}"
    if run.verdict == "late" and run.at_most is not None and run.seconds is not None:
        return f"was ended{took}, {span(run.seconds - run.at_most)} past its {span(run.at_most)}"
    if run.verdict in ("early", "late", "dropped"):
        return f"was {'' if run.verdict == 'dropped' else 'ended '}{run.verdict}{took}"
    if not run.verdict and run.over is not None:
        limit = "its limit" if run.at_most is None else f"its {span(run.at_most)}"
        return f"passed {limit} and its end is not recorded"
    if not run.verdict and job_done:
        return "was started and its end is not recorded"
    return ""


def _parts(gathered: Gathered) -> Iterator[Deviation]:
    for part in gathered.part_of.values():
        if not part.new:
            number = f" ({one_line(part.part_number)})" if part.part_number else ""
            yield _deviation(gathered, "part", part.step, f"no new {one_line(part.name)}{number} was fitted", part.seq)


def _tallies(gathered: Gathered, facts: Sequence[Fact]) -> Iterator[Deviation]:
    for opening, closed in gathered.openings.items():
        last = next(f for f in reversed(facts) if f.kind.startswith("tally_") and text(f.body, "opening") == opening)
        step = text(last.body, "step")
        left = [line for line in gathered.tally.values() if line.opening == opening and line.inside]
        if left and (closed or gathered.ended is not None):
            listed = ", ".join(f"{line.inside} × {one_line(line.thing)}" for line in left)
            what = f"left inside {one_line(opening)}: {listed}"
        elif not closed and gathered.ended is not None:
            what = f"the count of {one_line(opening)} was never closed"
        else:
            continue
        yield _deviation(gathered, "tally", step, what, last.seq, _reason(gathered, "tally", step))


def _alerts(gathered: Gathered, facts: Sequence[Fact]) -> Iterator[Deviation]:
    for fact in facts:
        if fact.kind == "alert_unanswered":
            tone = text(fact.body, "tone")
            meaning = TONES.get(tone, one_line(tone))
            what = f"the alert for {one_line(text(fact.body, 'name'))} ({meaning}) was not answered"
            yield _deviation(gathered, "alert", text(fact.body, "step"), what, fact.seq)


def _troubles(gathered: Gathered, facts: Sequence[Fact]) -> Iterator[Deviation]:
    troubles: dict[tuple[str, str], list[Fact]] = {}
    for fact in facts:
        if fact.kind == "trouble":
            troubles.setdefault((text(fact.body, "part"), text(fact.body, "what")), []).append(fact)
    for (part, what), times in troubles.items():
        often = f" ({len(times)} times)" if len(times) > 1 else ""
        yield _deviation(gathered, "trouble", "", f"{one_line(part)}: {one_line(what)}{often}", times[0].seq)


def _procedure(gathered: Gathered, facts: Sequence[Fact]) -> Iterator[Deviation]:
    for fact in facts:
        if fact.kind == "procedure_changed":
            what = "the procedure's file was changed during the job, which kept to the version it began with"
            yield _deviation(gathered, "procedure", "", what, fact.seq, _reason(gathered, "procedure", ""))


def _other_overrides(gathered: Gathered) -> Iterator[Deviation]:
    for passed in gathered.overrides:
        if not passed.used:
            body = passed.fact.body
            what = f"the guard “{one_line(text(body, 'what'))}” was overridden: {one_line(text(body, 'name'))}"
            yield _deviation(gathered, "override", text(body, "step"), what, passed.fact.seq, text(body, "reason"))
