"""The gauges that values were taken with, and until when they are calibrated."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.report.base.blocks import Block, Head, Table, judged, step_name
from bayvoice.report.base.common import Common, text
from bayvoice.report.base.judging import deviation, reason
from bayvoice.report.base.model import Deviation
from bayvoice.report.base.section import Fold, Found, JobReport, Section
from bayvoice.report.base.words import Clock, one_line, quantity


@dataclass(frozen=True, slots=True)
class GaugeUsed:
    """The gauge of a step. `state`: "in date", "out of date", "not known"; `due`: last day of its calibration."""

    step: str
    number: int
    gauge: str
    gauge_number: str
    due: str
    uncertainty: str
    unit: str
    state: str
    by: str
    wall: float
    seq: int


@dataclass(slots=True)
class Used:
    """`lines`: every use; `last`: step -> its last one."""

    lines: list[GaugeUsed] = field(default_factory=list)
    last: dict[str, GaugeUsed] = field(default_factory=dict)


def _gauge_used(state: Used, common: Common, fact: Fact) -> None:
    (step, number), body = common.at(fact), fact.body
    gauge = GaugeUsed(
        step=step,
        number=number,
        gauge=text(body, "gauge"),
        gauge_number=text(body, "number"),
        due=text(body, "due"),
        uncertainty=text(body, "uncertainty"),
        unit=text(body, "unit"),
        state=text(body, "state"),
        by=common.by,
        wall=fact.wall,
        seq=fact.seq,
    )
    state.lines.append(gauge)
    state.last[step] = gauge


class Gauges(Section[Used]):
    """What values were taken with."""

    key = "gauges"
    title = "Gauges"
    rank = 1

    def begin(self, common: Common) -> Used:
        """None."""
        return Used()

    def folds(self) -> Mapping[str, Fold[Used]]:
        """A gauge that was named before a value."""
        return {"gauge_used": _gauge_used}

    def deviations(self, found: Found) -> Iterator[Deviation]:
        """Gauges that were out of date when a value was taken with them."""
        for gauge in self.of(found).last.values():
            if gauge.state == "out of date":
                name = ", ".join(one_line(piece) for piece in (gauge.gauge, gauge.gauge_number) if piece)
                since = f" since {one_line(gauge.due)}" if gauge.due else ""
                what = f"the calibration of {name} was out of date{since}"
                given = reason(found.common, "gauge", gauge.step)
                yield deviation(found.common, "gauge", gauge.step, what, gauge.seq, given)

    def remarks(self, report: JobReport, clock: Clock) -> Iterator[str]:
        """Gauges nobody knows the date of."""
        for g in self.of(report).lines:
            if g.state == "not known":
                yield f"until when {one_line(g.gauge)} is calibrated is not known (step {g.number or g.step})"

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A row a use."""
        rows = tuple(
            (
                step_name(g.number, g.step),
                one_line(g.gauge),
                one_line(g.gauge_number) or "–",
                f"±{quantity(g.uncertainty, g.unit)}" if g.uncertainty else "not known",
                one_line(g.due) or "not known",
                judged(one_line(g.state), g.state == "in date"),
                clock.time(g.wall),
            )
            for g in self.of(report).lines
        )
        heads = (
            "Step",
            Head("Gauge", "gauge"),
            "Number",
            "Uncertainty (k = 2)",
            "Calibrated until",
            "State",
            Head("At"),
        )
        return (Table("Gauges that values were taken with", heads, rows),)

    def data(self, report: JobReport) -> Mapping[str, object]:
        """Every use."""
        return {self.key: tuple(self.of(report).lines)}


GAUGES: Final = Gauges()
