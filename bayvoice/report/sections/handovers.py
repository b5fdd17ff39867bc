"""The job went from one to the other in the middle of a sitting."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.report.base.blocks import Block, Head, Table
from bayvoice.report.base.common import Common, text
from bayvoice.report.base.section import Fold, JobReport, Section
from bayvoice.report.base.worded import told_words
from bayvoice.report.base.words import Clock, one_line


@dataclass(frozen=True, slots=True)
class Handover:
    """The job went from one to the other; `told`: what was said to be open."""

    leaves: str
    takes: str
    told: tuple[str, ...]
    wall: float
    seq: int


def _handed_over(state: list[Handover], common: Common, fact: Fact) -> None:
    leaves, takes, told = text(fact.body, "leaves"), text(fact.body, "takes"), fact.body.get("told")
    lines = tuple(told_words(each) for each in told) if isinstance(told, list) else (text(fact.body, "told"),)
    state.append(Handover(leaves, takes, tuple(line for line in lines if line), fact.wall, fact.seq))


class Handovers(Section[list[Handover]]):
    """Who told whom what."""

    key = "handovers"
    title = "Handed over"

    def begin(self, common: Common) -> list[Handover]:
        """None."""
        return []

    def folds(self) -> Mapping[str, Fold[list[Handover]]]:
        """A change of hands."""
        return {"handed_over": _handed_over}

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A row a change."""
        rows = tuple(
            (
                one_line(h.leaves),
                one_line(h.takes),
                " ".join(one_line(line) for line in h.told) or "nothing was open",
                clock.full(h.wall),
            )
            for h in self.of(report)
        )
        return (Table("Handed over", (Head("From"), Head("To"), "What was told", Head("At")), rows),)

    def data(self, report: JobReport) -> Mapping[str, object]:
        """Every change."""
        return {self.key: tuple(self.of(report))}


HANDOVERS: Final = Handovers()
