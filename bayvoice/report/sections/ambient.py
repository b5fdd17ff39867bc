"""Surroundings that waits were worked out from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.report.base.blocks import Block, Head, Table, step_name
from bayvoice.report.base.common import Common, text
from bayvoice.report.base.section import Fold, JobReport, Section
from bayvoice.report.base.words import Clock, one_line, quantity


@dataclass(frozen=True, slots=True)
class Ambient:
    """A value of the surroundings. `source`: "spoken", "typed", "command line"."""

    step: str
    number: int
    name: str
    value: str
    unit: str
    source: str
    by: str
    wall: float
    seq: int


def _ambient(state: list[Ambient], common: Common, fact: Fact) -> None:
    name, value, unit, source = (text(fact.body, key) for key in ("name", "value", "unit", "source"))
    state.append(Ambient(*common.at(fact), name, value, unit, source, common.by, fact.wall, fact.seq))


class Surroundings(Section[list[Ambient]]):
    """Temperature, humidity, depth."""

    key = "ambient"
    title = "Surroundings"

    def begin(self, common: Common) -> list[Ambient]:
        """None."""
        return []

    def folds(self) -> Mapping[str, Fold[list[Ambient]]]:
        """A value."""
        return {"ambient": _ambient}

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A row a value."""
        rows = tuple(
            (
                step_name(a.number, a.step),
                one_line(a.name),
                quantity(a.value, a.unit),
                one_line(a.source),
                clock.time(a.wall),
            )
            for a in self.of(report)
        )
        caption = "Surroundings that waits were worked out from"
        return (Table(caption, ("Step", "What", Head("Value"), Head("Given"), Head("At")), rows),)

    def data(self, report: JobReport) -> Mapping[str, object]:
        """Every value."""
        return {self.key: tuple(self.of(report))}


AMBIENT: Final = Surroundings()
