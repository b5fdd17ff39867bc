"""One measurement over many jobs, slow steps, overrides that come again: what a foreman asks at a month's end."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from statistics import median
from typing import Any, Final

from bayvoice.errors import BayError
from bayvoice.job.facts import Fact
from bayvoice.record.chain import wall_text
from bayvoice.report.base.section import JobReport
from bayvoice.report.base.worded import worded
from bayvoice.report.base.words import GUARDS, count, one_line
from bayvoice.report.sections.measurements import MEASUREMENTS, Measurement
from bayvoice.report.sections.steps import SLOW, STEPS
from bayvoice.report.summary import procedure_of, summarise
from bayvoice.trade.statistics import Capability, capability

AGAIN: Final = 2
"""Jobs in which the same guard of the same step was overridden before a report calls that repeated."""

RUN: Final = 8
"""Values in a row on one side of the median that hint at a change (Western Electric Company, "Statistical Quality
Control Handbook", 1956, its fourth test; from memory)."""


@dataclass(frozen=True, slots=True)
class Point:
    """One job's value. `mean_of`: how many readings it is the mean of, 1 for a single one."""

    job: str
    value: Decimal
    verdict: str
    low: str
    high: str
    by: str
    wall: float
    mean_of: int


@dataclass(frozen=True, slots=True)
class Values:
    """A measurement over jobs, in the order of time.

    Attributes:
        name, unit: what was measured, and the unit all points are in.
        points: the values.
        low, high: the limits of the newest one, "" where there is none.
        middle: the median.
        capability: Cp and Cpk, None where they cannot be worked out, see `why_not`.
        remarks: what must be known to read the figures, sentences without a full stop.
    """

    name: str
    unit: str
    points: tuple[Point, ...]
    low: str
    high: str
    middle: Decimal
    capability: Capability | None
    why_not: str
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SlowStep:
    """A step whose median time over `jobs` jobs is well over the `takes` seconds it is given."""

    procedure: str
    step: str
    number: int
    say: str
    takes: int
    middle: int
    longest: int
    jobs: int


@dataclass(frozen=True, slots=True)
class Again:
    """A guard that was overridden in several jobs. `reasons`: each with how often, the most frequent first."""

    procedure: str
    step: str
    number: int
    what: str
    jobs: int
    times: int
    reasons: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True)
class Across:
    """What is found over jobs. `names`: every measurement there is, with the number of jobs that have it."""

    jobs: int
    names: tuple[tuple[str, int], ...]
    values: Values | None
    slow: tuple[SlowStep, ...]
    again: tuple[Again, ...]


def look_across(jobs: Iterable[tuple[str, Sequence[Fact]]], name: str) -> Across:
    """Look over jobs, given in the order they began.

    Args:
        jobs: (name, facts) of each; jobs without facts are passed over.
        name: a measurement's name, "" for none.

    Raises:
        BayError: no job has a measurement of that name.
    """
    reports = [summarise(facts, procedure_of(facts)) for _, facts in jobs if facts]
    names = Counter(m for r in reports for m in {one_line(m.name) for m in MEASUREMENTS.of(r).lines})
    listed = tuple(sorted(names.items(), key=lambda item: (-item[1], item[0])))
    values = _values(reports, name) if name else None
    if name and values is None:
        known = ", ".join(one for one, _ in listed[:20]) or "none"
        raise BayError("no job has such a value", name, f"the values of this record are: {known}")
    return Across(len(reports), listed, values, _slow(reports), _again(reports))


def _values(reports: Sequence[JobReport], name: str) -> Values | None:
    wanted = one_line(name).casefold()
    found = [
        (r, m)
        for r in reports
        for m in MEASUREMENTS.of(r).lines
        if one_line(m.name).casefold() == wanted and _number(m) is not None
    ]
    if not found:
        return None
    found.sort(key=lambda pair: pair[1].standing.wall)
    unit = found[-1][1].unit
    same = [(r, m) for r, m in found if m.unit == unit]
    points = tuple(_point(r, m) for r, m in same)
    newest = same[-1][1]
    remarks = list(_remarks(points, newest, len(found) - len(same), unit))
    able, why_not = _capability(points, newest)
    middle = Decimal(median(point.value for point in points))
    run = _run(points, middle)
    if run >= RUN:
        remarks.append(f"the last {run} values lie on one side of the median, which chance alone rarely does")
    return Values(one_line(newest.name), unit, points, newest.low, newest.high, middle, able, why_not, tuple(remarks))


def _number(m: Measurement) -> Decimal | None:
    try:
        value = Decimal(m.value)
    except InvalidOperation:
        return None
    return value if value.is_finite() and abs(value.adjusted()) < 60 else None


def _point(report: JobReport, m: Measurement) -> Point:
    n = m.average.n if m.average else 1
    return Point(report.header.job, Decimal(m.value), m.verdict, m.low, m.high, m.standing.by, m.standing.wall, n)


def _remarks(points: Sequence[Point], newest: Measurement, other_units: int, unit: str) -> Iterable[str]:
    limits = {(point.low, point.high) for point in points}
    if len(limits) > 1:
        yield f"the limits were not the same in all jobs ({len(limits)} pairs); the figures go by the newest"
    if other_units:
        yield f"{count(other_units, 'value')} in another unit than {unit} left out"
    if any(point.mean_of > 1 for point in points):
        yield "means of repeated readings are among the values; they spread less than single readings"
    if newest.limits_from:
        yield "the limits come from a sum in each job, so one pair of limits stands for none of them exactly"


def _capability(points: Sequence[Point], newest: Measurement) -> tuple[Capability | None, str]:
    try:
        low, high = (Decimal(limit) if limit else None for limit in (newest.low, newest.high))
        return capability([point.value for point in points], low, high), ""
    except (BayError, InvalidOperation, OverflowError, ValueError) as error:
        return None, error.what if isinstance(error, BayError) else "the limits cannot be read"


def _run(points: Sequence[Point], middle: Decimal) -> int:
    """How many of the last values lie on one side of the median; those on it do not count and do not break a run."""
    sides = [point.value > middle for point in points if point.value != middle]
    run = 0
    for side in reversed(sides):
        if side != sides[-1]:
            break
        run += 1
    return run


def _slow(reports: Sequence[JobReport]) -> tuple[SlowStep, ...]:
    spent: dict[tuple[str, str], list[tuple[int, int, int, str]]] = {}
    for r in reports:
        for s in STEPS.of(r).lines:
            if s.takes and s.how == "done" and s.visits == 1:
                spent.setdefault((r.header.procedure, s.step), []).append((s.seconds, s.takes, s.number, s.say))
    found = []
    for (procedure, step), rows in spent.items():
        middle, (_, takes, number, say) = int(median(row[0] for row in rows)), rows[-1]
        if middle > SLOW * takes:
            found.append(SlowStep(procedure, step, number, say, takes, middle, max(row[0] for row in rows), len(rows)))
    return tuple(sorted(found, key=lambda s: -s.middle / s.takes))


def _again(reports: Sequence[JobReport]) -> tuple[Again, ...]:
    seen: dict[tuple[str, str, str], list[tuple[str, str, int]]] = {}
    for r in reports:
        numbers = {s.step: s.number for s in STEPS.of(r).lines}
        for fact in r.facts:
            if fact.kind == "overridden":
                body = worded(fact).body
                step, what, reason = (str(body.get(key) or "") for key in ("step", "what", "reason"))
                row = r.header.job, one_line(reason), numbers.get(step, 0)
                seen.setdefault((r.header.procedure, step, what), []).append(row)
    found = []
    for (procedure, step, what), rows in seen.items():
        jobs = len({job for job, _, _ in rows})
        if jobs >= AGAIN:
            reasons = tuple(Counter(reason or "no reason" for _, reason, _ in rows).most_common(5))
            found.append(Again(procedure, step, rows[-1][2], what, jobs, len(rows), reasons))
    return tuple(sorted(found, key=lambda a: (-a.jobs, a.procedure, a.number)))


def guard_text(what: str) -> str:
    """What it means that this guard was overridden."""
    return GUARDS.get(what, f"the guard “{one_line(what)}” was overridden")


def across_json(across: Across) -> dict[str, Any]:
    """For programs; readings as strings, moments as ISO 8601 UTC."""
    v = across.values
    return {
        "format": 1,
        "jobs": across.jobs,
        "names": [{"name": name, "jobs": jobs} for name, jobs in across.names],
        "values": v
        and {
            "name": v.name,
            "unit": v.unit,
            "low": v.low,
            "high": v.high,
            "median": str(v.middle),
            "points": [
                {
                    "job": p.job,
                    "value": str(p.value),
                    "verdict": p.verdict,
                    "low": p.low,
                    "high": p.high,
                    "by": p.by,
                    "wall": wall_text(p.wall),
                    "mean_of": p.mean_of,
                }
                for p in v.points
            ],
            "capability": v.capability
            and {
                "n": v.capability.count,
                "mean": v.capability.mean,
                "sd": v.capability.sd,
                "cp": v.capability.cp,
                "cpk": v.capability.cpk,
                "cp_range": v.capability.cp_range,
                "cpk_range": v.capability.cpk_range,
                "confidence": v.capability.confidence,
                "conditions": list(v.capability.conditions),
            },
            "why_not": v.why_not,
            "remarks": list(v.remarks),
        },
        "slow_steps": [
            {
                "procedure": s.procedure,
                "step": s.step,
                "number": s.number,
                "given_s": s.takes,
                "median_s": s.middle,
                "longest_s": s.longest,
                "jobs": s.jobs,
            }
            for s in across.slow
        ],
        "overridden_again": [
            {
                "procedure": a.procedure,
                "step": a.step,
                "number": a.number,
                "what": a.what,
                "jobs": a.jobs,
                "times": a.times,
                "reasons": [{"reason": reason, "times": n} for reason, n in a.reasons],
            }
            for a in across.again
        ],
    }
