"""What is not as the procedure wants it, from all sections, the worst first."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from bayvoice.record.chain import wall_text
from bayvoice.report.base.blocks import Block, Point, Points, step_name
from bayvoice.report.base.model import Deviation
from bayvoice.report.base.section import JobReport, View
from bayvoice.report.base.words import LEVELS, Clock, one_line, sentence


class Deviations(View):
    """The list a foreman reads first."""

    key = "deviations"
    title = "Deviations, the worst first"

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A list a level; the numbers go on from level to level."""
        lists, first = [], 1
        for level in dict.fromkeys(d.level for d in report.deviations):
            points = tuple(_point(d, clock) for d in report.deviations if d.level == level)
            lists.append(Points(points, LEVELS.get(level, level), first))
            first += len(points)
        return lists

    def data(self, report: JobReport) -> Mapping[str, object]:
        """All of them."""
        return {self.key: report.deviations}

    def records(self, report: JobReport) -> Iterator[Mapping[str, str]]:
        """A row a deviation; ``seq`` is the fact that shows it."""
        for d in report.deviations:
            yield {
                "seq": str(d.seq),
                "time_utc": wall_text(d.wall),
                "kind": "deviation",
                "by": d.by,
                "step": d.step,
                "step_number": str(d.number or ""),
                "verdict": d.level,
                "text": d.text,
                "reason": d.reason,
            }


def _point(d: Deviation, clock: Clock) -> Point:
    what = sentence(d.text if d.step else d.text[:1].upper() + d.text[1:])
    where = f"Step {step_name(d.number, d.step)}:" if d.step else ""
    given = f"Reason given: {sentence(one_line(d.reason))}" if d.reason else ""
    return Point(what, where, given, f"{f'{one_line(d.by)}, ' if d.by else ''}{clock.time(d.wall)}")


DEVIATIONS: Final = Deviations()
