"""Repeated readings and their mean."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from bayvoice.report.base.blocks import Block, Head, Table, judged, step_name
from bayvoice.report.base.section import JobReport, View
from bayvoice.report.base.words import VERDICTS, Clock, one_line, quantity
from bayvoice.report.sections.measurements import MEASUREMENTS


class Repeated(View):
    """Measurements that are judged by the mean of several readings."""

    key = "repeated"
    title = "Repeated readings"

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A row a mean."""
        rows = []
        for m in MEASUREMENTS.of(report).lines:
            if (a := m.average) is None:
                continue
            spread = quantity(a.spread, m.unit) + (f" of {quantity(a.spread_limit, m.unit)}" if a.spread_limit else "")
            row = (
                step_name(m.number, m.step),
                one_line(m.name),
                ", ".join(one_line(r.value) for r in m.readings),
                quantity(a.value, m.unit),
                spread,
                quantity(a.deviation, m.unit) if a.deviation else "–",
                judged(VERDICTS.get(a.verdict, one_line(a.verdict)), a.verdict == "within"),
            )
            rows.append(row)
        heads = ("Step", "Measurement", "Readings", Head("Mean"), "Spread", "Standard deviation", Head("Verdict"))
        return (Table("Repeated readings and their mean, which is what is judged", heads, tuple(rows)),)


REPEATED: Final = Repeated()
