"""Measured values against their limits, with what they replaced and the readings they are the mean of."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.procedure.model import Measure, Step
from bayvoice.report.base.blocks import Block, Head, Table, judged, step_name
from bayvoice.report.base.common import Body, Common, text, whole
from bayvoice.report.base.judging import deviation, reason, undone
from bayvoice.report.base.markup import Markup, el, join
from bayvoice.report.base.model import Deviation, StepLine
from bayvoice.report.base.pictures import MARKS, against, number
from bayvoice.report.base.section import Fold, Found, JobReport, Section
from bayvoice.report.base.words import SIDES, VERDICTS, Clock, limits, one_line, quantity, uncertain
from bayvoice.report.sections.gauges import GAUGES


@dataclass(frozen=True, slots=True)
class Reading:
    """One logged value.

    Attributes:
        verdict: "within", "low", "high", or "close": too close to a limit for the gauge to tell.
        said_value, said_unit: as it was spoken, before conversion.
        nth, of: it is reading `nth` of a set of `of`.
        uncertainty: expanded uncertainty the verdict reckons with, "" where none is known.
        trusted: logged without being read back.
    """

    seq: int
    value: str
    unit: str
    said_value: str
    said_unit: str
    verdict: str
    by: str
    wall: float
    nth: int = 1
    of: int = 1
    uncertainty: str = ""
    trusted: bool = False


@dataclass(frozen=True, slots=True)
class Average:
    """The mean of repeated readings, which the step is judged by. `verdict` "scattered": they are too far apart."""

    value: str
    n: int
    spread: str
    deviation: str
    spread_limit: str
    uncertainty: str
    verdict: str
    by: str
    wall: float
    seq: int


@dataclass(frozen=True, slots=True)
class Earlier:
    """A reading that no longer stands, with who replaced it and when."""

    reading: Reading
    by: str
    wall: float


@dataclass(frozen=True, slots=True)
class Measurement:
    """One measurement of one step.

    Attributes:
        low, high: inclusive limits, "" where there is none.
        limits_from: the sum they came from, with the values used, "" for none.
        gauge: as it is named in the record.
        standing: the reading that counts; with an average, the last one.
        readings: all readings that stand, one unless they are repeated.
        average: what it is judged by, where readings are repeated.
        earlier: readings that were replaced.
    """

    step: str
    number: int
    name: str
    unit: str
    low: str
    high: str
    gauge: str
    standing: Reading
    earlier: tuple[Earlier, ...]
    readings: tuple[Reading, ...] = ()
    average: Average | None = None
    limits_from: str = ""

    @property
    def value(self) -> str:
        """What is judged."""
        return self.average.value if self.average else self.standing.value

    @property
    def verdict(self) -> str:
        """The verdict that counts."""
        return self.average.verdict if self.average else self.standing.verdict

    @property
    def uncertainty(self) -> str:
        """The expanded uncertainty the verdict reckons with."""
        return self.average.uncertainty if self.average else self.standing.uncertainty

    @property
    def seq(self) -> int:
        """The fact that counts."""
        return self.average.seq if self.average else self.standing.seq


@dataclass(slots=True)
class Measured:
    """`of`: (step, name) -> its measurement."""

    of: dict[tuple[str, str], Measurement] = field(default_factory=dict)

    @property
    def lines(self) -> tuple[Measurement, ...]:
        """All of them, in the order they were first taken."""
        return tuple(self.of.values())


def _measured(state: Measured, common: Common, fact: Fact) -> None:
    (step, number), body, name = common.at(fact), fact.body, text(fact.body, "name")
    reading = Reading(
        seq=fact.seq,
        value=text(body, "value"),
        unit=text(body, "unit"),
        said_value=text(body, "said_value"),
        said_unit=text(body, "said_unit"),
        verdict=text(body, "verdict"),
        by=common.by,
        wall=fact.wall,
        nth=whole(body, "nth") or 1,
        of=whole(body, "of") or 1,
        uncertainty=text(body, "uncertainty"),
        trusted=body.get("trusted") is True,
    )
    before = state.of.get((step, name))
    readings, gone = _standing(before, reading, whole(body, "corrects") or 0)
    state.of[step, name] = Measurement(
        step=step,
        number=number,
        name=name,
        unit=reading.unit,
        low=text(body, "low"),
        high=text(body, "high"),
        gauge=_gauge(common, body),
        standing=reading,
        earlier=(*(before.earlier if before else ()), *(Earlier(old, common.by, fact.wall) for old in gone)),
        readings=readings,
        limits_from=text(body, "limits_from"),
    )


def _gauge(common: Common, body: Body) -> str:
    """The gauge by its name: the fact may hold the procedure's own id of it."""
    named = text(body, "gauge")
    known = common.procedure.gauge(named) if common.procedure else None
    return known.title if known else named


def _standing(
    before: Measurement | None, reading: Reading, corrects: int
) -> tuple[tuple[Reading, ...], tuple[Reading, ...]]:
    """The readings that stand with the new one, and those that no longer do."""
    old = before.readings if before else ()
    if any(r.seq == corrects for r in old) and reading.of > 1:
        gone = tuple(r for r in old if r.seq == corrects)
    elif reading.of > 1:
        gone = tuple(r for r in old if r.nth >= reading.nth)
    else:
        gone = old
    kept = sorted((*(r for r in old if r not in gone), reading), key=lambda r: r.nth)
    return tuple(kept), gone


def _averaged(state: Measured, common: Common, fact: Fact) -> None:
    body, key = fact.body, (text(fact.body, "step"), text(fact.body, "name"))
    average = Average(
        value=text(body, "value"),
        n=whole(body, "n") or 0,
        spread=text(body, "spread"),
        deviation=text(body, "deviation"),
        spread_limit=text(body, "spread_limit"),
        uncertainty=text(body, "uncertainty"),
        verdict=text(body, "verdict"),
        by=common.by,
        wall=fact.wall,
        seq=fact.seq,
    )
    if before := state.of.get(key):
        state.of[key] = replace(before, average=average, low=text(body, "low"), high=text(body, "high"))


class Measurements(Section[Measured]):
    """What was measured."""

    key = "measurements"
    title = "Measurements"
    rank = 0

    def begin(self, common: Common) -> Measured:
        """No values."""
        return Measured()

    def folds(self) -> Mapping[str, Fold[Measured]]:
        """Readings, and the mean of repeated ones."""
        return {"measured": _measured, "averaged": _averaged}

    def deviations(self, found: Found) -> Iterator[Deviation]:
        """Values outside their limits, too close to call, or too far apart."""
        for m in self.of(found).lines:
            if m.verdict == "within":
                continue
            kind = "close" if m.verdict == "close" else "value"
            said = reason(found.common, "measure", m.step)
            yield deviation(found.common, kind, m.step, value_fault(m), m.seq, said)

    def missing(self, found: Found, line: StepLine, step: Step) -> Iterator[Deviation]:
        """The value, or the mean of several."""
        if isinstance(step.detail, Measure):
            wanted = step.detail
            taken, name = self.of(found).of.get((line.step, wanted.name)), one_line(wanted.name)
            if taken is None:
                yield undone(found.common, line, f"no value of {name} is recorded", "measure")
            elif wanted.times > 1 and taken.average is None:
                lacks = f"the mean of {wanted.times} readings of {name} is not recorded"
                yield undone(found.common, line, lacks, "measure")

    def remarks(self, report: JobReport, clock: Clock) -> Iterator[str]:
        """Values that were put right, and those that were not read back."""
        lines = self.of(report).lines
        for m in lines:
            for old in m.earlier:
                value = value_text(m, old.reading.value, old.reading.verdict)
                by = one_line(old.by) or "unknown"
                yield f"{one_line(m.name)} was {value}, replaced by {by} at {clock.time(old.wall)}"
        for m in lines:
            if any(r.trusted for r in m.readings):
                yield f"{one_line(m.name)} was logged without being read back"

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A row a measurement; the page draws it against its limits and shows what it replaced."""
        lines, gauges = self.of(report).lines, GAUGES.of(report).last
        rows = []
        for m in lines:
            used = gauges.get(m.step)
            gauge = " ".join(one_line(piece) for piece in (used.gauge, used.gauge_number) if piece) if used else ""
            late = ", out of date" if used and used.state == "out of date" else ""
            row = (
                step_name(m.number, m.step),
                one_line(m.name),
                quantity(m.value, m.unit),
                limits(m.low, m.high, m.unit),
                judged(VERDICTS.get(m.verdict, "not judged"), m.verdict == "within"),
                (gauge or one_line(m.gauge)) + late,
                one_line(m.standing.by),
                clock.time(m.standing.wall),
            )
            rows.append(row)
        heads = (
            "Step",
            "Measurement",
            Head("Value"),
            Head("Limits"),
            Head("Verdict"),
            Head("Gauge", "gauge"),
            "By",
            Head("At"),
        )

        def cell(row: int, column: int, shown: str) -> Markup | None:
            if column == heads.index("Value"):
                return _value(lines[row], shown, clock)
            if column == heads.index("Limits"):
                return _limits(lines[row], shown)
            return limit_picture(lines[row]) if column == len(heads) else None

        caption = "Measured values against their limits"
        return (Table(caption, heads, tuple(rows), cell, extra="Against the limits"),)

    def data(self, report: JobReport) -> Mapping[str, object]:
        """Every measurement."""
        return {self.key: self.of(report).lines}


def value_fault(m: Measurement) -> str:
    """``gear backlash is 0.26 mm, above 0.10 to 0.20 mm``."""
    name, value = one_line(m.name), quantity(m.value, m.unit)
    mean = f"the mean of {m.average.n} readings, " if m.average else ""
    allowed = limits(m.low, m.high, m.unit)
    if m.verdict == "close":
        guard = uncertain(m.uncertainty, m.unit)
        return f"{name} is {value}, {mean}too close to a limit to call{guard}: {allowed}"
    if m.verdict == "scattered" and m.average:
        apart, most = quantity(m.average.spread, m.unit), quantity(m.average.spread_limit, m.unit)
        return f"the readings of {name} are {apart} apart, allowed are {most}"
    return f"{name} is {value}, {mean}{SIDES.get(m.verdict, 'outside')} {allowed}"


def value_text(m: Measurement, value: str, verdict: str) -> str:
    """``0.26 mm (above the limits)``."""
    side = f"{SIDES.get(verdict, verdict)} the limits" if verdict in (*SIDES, "within") else VERDICTS.get(verdict, "")
    return f"{quantity(value, m.unit)} ({side or 'not judged'})"


def _value(m: Measurement, shown: str, clock: Clock) -> Markup:
    """The standing value; below it what it replaced, struck, with who did so and when."""
    struck = [
        join(
            el("s", quantity(old.reading.value, m.unit)),
            el("small", f"until {clock.time(old.wall)}, by {one_line(old.by) or 'unknown'}"),
        )
        for old in m.earlier
    ]
    said = m.standing
    spoken = Markup("")
    if m.average:
        spoken = el("small", f"mean of {m.average.n}")
    elif said.said_unit and said.said_unit != said.unit:
        spoken = el("small", f"said as {quantity(said.said_value, said.said_unit)}")
    return join(el("strong", shown), spoken, *struck)


def _limits(m: Measurement, shown: str) -> Markup | None:
    """The limits with where they came from and what the gauge leaves uncertain."""
    source = el("small", f"from {one_line(m.limits_from)}") if m.limits_from else Markup("")
    guard = el("small", f"judged{uncertain(m.uncertainty, m.unit)}") if m.uncertainty else Markup("")
    return join(shown, source, guard) if source or guard else None


def limit_picture(m: Measurement) -> Markup:
    """The value of `m` on a line with its limits, repeated readings as ticks; nothing where it cannot be drawn."""
    value, low, high = number(m.value), number(m.low), number(m.high)
    ends = [end for end in (low, high) if end is not None]
    if value is None or not ends or (m.low and low is None) or (m.high and high is None):
        return Markup("")
    # The limits keep the same place in every picture of a column, unless the value lies far out.
    width = (max(ends) - min(ends)) or abs(ends[0]) or 1.0
    singles = [n for r in m.readings if m.average and (n := number(r.value)) is not None]
    left = min(min(ends) - width * 0.6, *(n - width * 0.1 for n in (value, *singles)))
    right = max(max(ends) + width * 0.6, *(n + width * 0.1 for n in (value, *singles)))
    said = f"{value_text(m, m.value, m.verdict)}, limits {limits(m.low, m.high, m.unit)}"
    if m.average:
        said += f", mean of {len(m.readings)} readings"
    label, kind = f"{one_line(m.name)}: {said}", MARKS.get(m.verdict, "misses")
    guard = number(m.uncertainty) or 0.0
    return against(label, left, right, low, high, value, kind, guard=guard, ticks=singles)


MEASUREMENTS: Final = Measurements()
