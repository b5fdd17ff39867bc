"""What is no deviation and worth a look all the same: put right, left for later, begun anew, trusted, handed over."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from bayvoice.report.base.blocks import Block, Point, Points
from bayvoice.report.base.section import JobReport, View
from bayvoice.report.base.words import Clock, sentence


class Remarks(View):
    """The remarks of all sections."""

    key = "remarks"
    title = "Also look at"

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """One list."""
        ranked = sorted(report.sections, key=lambda section: section.rank)
        said = [line for section in ranked for line in section.remarks(report, clock)]
        points = tuple(Point(sentence(line[:1].upper() + line[1:])) for line in said)
        return (Points(points),) if points else ()


REMARKS: Final = Remarks()
