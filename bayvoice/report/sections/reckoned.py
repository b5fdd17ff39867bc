"""Sums that were asked for by voice."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.report.base.blocks import Block, Head, Table, step_name
from bayvoice.report.base.common import Common, text
from bayvoice.report.base.section import Fold, JobReport, Section
from bayvoice.report.base.words import Clock, one_line


@dataclass(frozen=True, slots=True)
class Reckoned:
    """A sum asked for by voice. Nothing is judged by it."""

    step: str
    number: int
    what: str
    given: str
    result: str
    by: str
    wall: float
    seq: int


def _reckoned(state: list[Reckoned], common: Common, fact: Fact) -> None:
    what, given, result = (text(fact.body, key) for key in ("what", "given", "result"))
    state.append(Reckoned(*common.at(fact), what, given, result, common.by, fact.wall, fact.seq))


class Sums(Section[list[Reckoned]]):
    """What was reckoned for the technician."""

    key = "reckoned"
    title = "Sums asked for"

    def begin(self, common: Common) -> list[Reckoned]:
        """None."""
        return []

    def folds(self) -> Mapping[str, Fold[list[Reckoned]]]:
        """A sum."""
        return {"reckoned": _reckoned}

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A row a sum."""
        rows = tuple(
            (step_name(r.number, r.step), one_line(r.what), one_line(r.given), one_line(r.result), clock.time(r.wall))
            for r in self.of(report)
        )
        caption = "Sums asked for; nothing is judged by them"
        return (Table(caption, ("Step", "What", Head("Given"), "Result", Head("At")), rows),)

    def data(self, report: JobReport) -> Mapping[str, object]:
        """Every sum."""
        return {self.key: tuple(self.of(report))}


RECKONED: Final = Sums()
