"""What in a job is not as its procedure wants it. Each thing once: an override that explains it gives it its reason."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.procedure.model import Check, Detail, Fasten, Hold, Measure, Replace, Step, Tally, Together, Wait
from bayvoice.report import deviations_more as more
from bayvoice.report.gathered import Gathered, text
from bayvoice.report.lines import Measurement, StepLine, WaitRun
from bayvoice.report.model import Deviation
from bayvoice.report.reasons import deviation, reason, who_passed
from bayvoice.report.words import GUARDS, SIDES, limits, one_line, quantity, span, uncertain, window

LEVELS: Final = {
    "left inside": ("tally",),
    "guard passed": (
        "unsigned", "undone", "skipped", "override", "finding", "part", "gauge", "batch",
    ),
    "value": ("value", "close", "check", "fasten"),
    "wait": ("wait", "alert"),
    "other": ("procedure", "gap", "trouble"),
}  # fmt: skip
"""How grave a deviation is, the worst first, with the kinds of each level."""

ORDER: Final = tuple(kind for kinds in LEVELS.values() for kind in kinds)
"""Kinds of deviation, the order in which a report lists them."""

LEVEL_OF: Final = {kind: level for level, kinds in LEVELS.items() for kind in kinds}


_LEAVING: Final = ("skip", "hold")
"""Guards whose override leaves a step out."""


def find(gathered: Gathered, facts: Sequence[Fact]) -> tuple[Deviation, ...]:
    """All deviations, the worst first: in the order of `ORDER` and of the facts that show them."""
    found = [one for look in _LOOKS for one in look(gathered)]
    found += [*more.troubles(gathered, facts), *more.procedure(gathered, facts)]
    # Only now: what is left over explains nothing else.
    found += _other_overrides(gathered)
    levelled = (replace(one, level=LEVEL_OF[one.kind]) for one in found)
    return tuple(sorted(levelled, key=lambda d: (ORDER.index(d.kind), d.seq)))


def _values(gathered: Gathered) -> Iterator[Deviation]:
    for m in gathered.measurements.values():
        if m.verdict == "within":
            continue
        kind = "close" if m.verdict == "close" else "value"
        said = reason(gathered, "measure", m.step)
        yield deviation(gathered, kind, m.step, value_fault(m), m.seq, said)


def value_fault(m: Measurement) -> str:
    """``gear backlash is 0.26 mm, above 0.10 to 0.20 mm``."""
    name, value = one_line(m.name), quantity(m.value, m.unit)
    mean = f"the mean of {m.average.n} readings, " if m.average else ""
    if m.verdict == "close":
        return f"{name} is {value}, {mean}too close to a limit to call{uncertain(m.uncertainty, m.unit)}: " + limits(
            m.low, m.high, m.unit
        )
    if m.verdict == "scattered" and m.average:
        apart, allowed = quantity(m.average.spread, m.unit), quantity(m.average.spread_limit, m.unit)
        return f"the readings of {name} are {apart} apart, allowed are {allowed}"
    return f"{name} is {value}, {mean}{SIDES.get(m.verdict, 'outside')} {limits(m.low, m.high, m.unit)}"


def _steps(gathered: Gathered) -> Iterator[Deviation]:
    steps = {step.id: step for step in gathered.procedure.steps} if gathered.procedure else {}
    for line in gathered.steps.values():
        step = steps.get(line.step)
        what = one_line(line.say) or one_line(line.step)
        if line.how == "skipped":
            yield from _left_out(gathered, line, what, step)
        elif not line.how:
            # Steps of an aside are done only when something led there.
            if step and isinstance(step.detail, Hold) and line.visits and gathered.ended is not None:
                yield from more.signature(gathered, replace(line, seq=gathered.ended_seq), step.detail)
            elif gathered.ended is not None and not line.aside:
                given = reason(gathered, "undone", line.step)
                yield deviation(gathered, "undone", line.step, f"not done: {what}", gathered.ended_seq, given)
        elif step:
            yield from _done(gathered, line, step)


def _left_out(gathered: Gathered, line: StepLine, what: str, step: Step | None) -> Iterator[Deviation]:
    """A step that was left out, with what it was left out in spite of; a count has a sentence of its own."""
    who = next((name for guard in _LEAVING if (name := who_passed(gathered, guard, line.step))), "")
    given = (
        ", ".join(dict.fromkeys(r for guard in _LEAVING if (r := reason(gathered, guard, line.step)))) or line.reason
    )
    if step and isinstance(step.detail, Tally) and step.detail.close and step.detail.opening in gathered.openings:
        return
    unsigned = "; nobody signed" if step and isinstance(step.detail, Hold) else ""
    asked = "".join(
        f"; “{one_line(c.ask)}” was answered {one_line(c.answer)}"
        for c in gathered.check_of.values()
        if c.step == line.step and c.answer != c.want
    )
    more_of_it = unsigned + asked + (f"; passed by {one_line(who)}" if who else "")
    what = what.rstrip(".") + more_of_it if more_of_it else what
    yield deviation(gathered, "skipped", line.step, f"left out: {what}", line.seq, given)


def _done(gathered: Gathered, line: StepLine, step: Step) -> Iterator[Deviation]:
    """A step that was left as done, and whether what it asks for is in the record."""
    detail = step.detail
    if isinstance(detail, Hold):
        yield from more.signature(gathered, line, detail)
    elif isinstance(detail, Fasten):
        wanted, last = max(1, len(detail.stages)), gathered.stage_of.get(line.step)
        passes = last.stage if last else 0
        if passes < wanted:
            what = f"{one_line(detail.name)}: {passes} of {wanted} passes recorded"
            yield deviation(gathered, "fasten", line.step, what, line.seq)
    elif isinstance(detail, Replace) and line.step not in gathered.part_of:
        given = reason(gathered, "part", line.step)
        name = next((p.name for p in gathered.procedure.parts if p.id == detail.part), detail.part) if (
            gathered.procedure
        ) else detail.part  # fmt: skip
        yield deviation(gathered, "part", line.step, f"no new {one_line(name)} is recorded", line.seq, given)
    elif lacks := _lacks(gathered, line.step, detail):
        guard = "measure" if isinstance(detail, Measure) else "check" if isinstance(detail, Check) else "undone"
        given = reason(gathered, guard, line.step) or line.reason
        yield deviation(gathered, "undone", line.step, f"left as done, and {lacks}", line.seq, given)


def _lacks(gathered: Gathered, step: str, detail: Detail) -> str:
    """What a step that was left as done asks for and nothing in the record shows, "" where nothing is missing."""
    if isinstance(detail, Measure) and (step, detail.name) not in gathered.measurements:
        return f"no value of {one_line(detail.name)} is recorded"
    if isinstance(detail, Measure) and detail.times > 1 and gathered.measurements[step, detail.name].average is None:
        return f"the mean of {detail.times} readings of {one_line(detail.name)} is not recorded"
    if isinstance(detail, Check) and (step, detail.ask) not in gathered.check_of:
        return "the answer to its question is not recorded"
    if isinstance(detail, Wait) and all(run.step != step for run in gathered.waits):
        return f"the wait {one_line(detail.name)} was never begun"
    if isinstance(detail, Tally) and detail.close and detail.opening not in gathered.openings:
        return f"the count of {one_line(detail.opening)} is not recorded"
    if isinstance(detail, Together) and all(one.step != step for one in gathered.helped):
        return "nobody is recorded as helping"
    return ""


def _checks(gathered: Gathered) -> Iterator[Deviation]:
    for check in gathered.check_of.values():
        skipped = gathered.steps[check.step].how == "skipped" if check.step in gathered.steps else False
        if check.answer != check.want and not skipped:
            what = f"“{one_line(check.ask)}” was answered {one_line(check.answer)}, in order is {one_line(check.want)}"
            yield deviation(gathered, "check", check.step, what, check.seq, reason(gathered, "check", check.step))
    for helped in gathered.helped:
        if helped.result == "no":
            what = "the common move was not in order, and nothing says that it was repeated"
            yield deviation(gathered, "check", helped.step, what, helped.seq)


def _waits(gathered: Gathered) -> Iterator[Deviation]:
    for at, run in enumerate(gathered.waits):
        again = any(later.step == run.step for later in gathered.waits[at + 1 :])
        for change in run.changes:
            what = f"the window of {one_line(run.name)} was changed to {window(change.at_least, change.at_most)}"
            yield deviation(gathered, "wait", run.step, what, change.seq, change.reason)
        if what := wait_fault(run, gathered.ended is not None):
            late = run.verdict == "late" or run.over is not None
            guard = "cancel" if run.verdict == "cancelled" else "late" if late else "wait"
            given = reason(gathered, guard, run.step) or run.reason
            what = f"{one_line(run.name)} {what}" + ("; it was done again" if again else "")
            yield deviation(gathered, "wait", run.step, what, run.seq, given)


def wait_fault(run: WaitRun, job_done: bool) -> str:
    """What is wrong with a wait, to follow its name; "" where nothing is."""
    took = "" if run.seconds is None else f" after {span(run.seconds)}"
    if run.verdict == "early" and run.at_least is not None and run.seconds is not None:
        return f"was ended{took}, {span(run.at_least - run.seconds)} before its {span(run.at_least)}"
    if run.verdict == "late" and run.at_most is not None and run.seconds is not None:
        return f"was ended{took}, {span(run.seconds - run.at_most)} past its {span(run.at_most)}"
    if run.verdict in ("early", "late"):
        return f"was ended {run.verdict}{took}"
    if run.verdict in ("dropped", "cancelled"):
        return f"was {run.verdict}{took}"
    if not run.verdict and run.over is not None:
        limit = "its limit" if run.at_most is None else f"its {span(run.at_most)}"
        return f"passed {limit} and its end is not recorded"
    if not run.verdict and job_done:
        return "was started and its end is not recorded"
    return ""


def _other_overrides(gathered: Gathered) -> Iterator[Deviation]:
    for passed in gathered.overrides:
        if not passed.used:
            body = passed.fact.body
            guard, name, who = (one_line(text(body, key)) for key in ("what", "name", "who"))
            what = f"{GUARDS.get(guard, f'the guard “{guard}” was overridden')}: {name}" + (
                f", by {who}" if who else ""
            )
            yield deviation(gathered, "override", text(body, "step"), what, passed.fact.seq, text(body, "reason"))


_LOOKS: Final[tuple[Callable[[Gathered], Iterator[Deviation]], ...]] = (
    _values, _steps, _checks, _waits, more.parts, more.supplies, more.bolts, more.tallies, more.alerts, more.gauges,
    more.findings, more.gaps,
)  # fmt: skip
