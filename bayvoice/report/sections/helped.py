"""Steps that were done together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.procedure.model import Step, Together
from bayvoice.report.base.blocks import Block, Head, Table, step_name
from bayvoice.report.base.common import Common, text, whole
from bayvoice.report.base.judging import deviation, undone
from bayvoice.report.base.model import Deviation, StepLine
from bayvoice.report.base.section import Fold, Found, JobReport, Section
from bayvoice.report.base.words import Clock, count, one_line


@dataclass(frozen=True, slots=True)
class Helped:
    """People who took part in a step; `result` of the common move, "" where none was asked."""

    step: str
    number: int
    people: int
    result: str
    by: str
    wall: float
    seq: int


def _helped(state: list[Helped], common: Common, fact: Fact) -> None:
    people = whole(fact.body, "people") or 0
    state.append(Helped(*common.at(fact), people, "", common.by, fact.wall, fact.seq))


def _moved(state: list[Helped], common: Common, fact: Fact) -> None:
    step, result = text(fact.body, "step"), text(fact.body, "result")
    for i in reversed(range(len(state))):
        if state[i].step == step:
            state[i] = replace(state[i], result=result, seq=fact.seq)
            return
    state.append(Helped(*common.at(fact), 0, result, common.by, fact.wall, fact.seq))


class Shared(Section[list[Helped]]):
    """Who helped, and whether the common move was in order."""

    key = "helped"
    title = "Done together"

    def begin(self, common: Common) -> list[Helped]:
        """None."""
        return []

    def folds(self) -> Mapping[str, Fold[list[Helped]]]:
        """Somebody helps; the common move is answered for."""
        return {"helped": _helped, "moved_together": _moved}

    def deviations(self, found: Found) -> Iterator[Deviation]:
        """Moves that were not in order."""
        for helped in self.of(found):
            if helped.result == "no":
                what = "the common move was not in order, and nothing says that it was repeated"
                yield deviation(found.common, "check", helped.step, what, helped.seq)

    def missing(self, found: Found, line: StepLine, step: Step) -> Iterator[Deviation]:
        """Somebody who helps."""
        if isinstance(step.detail, Together) and all(one.step != line.step for one in self.of(found)):
            yield undone(found.common, line, "nobody is recorded as helping")

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A row a step."""
        results = {"yes": "in order", "no": "not in order"}
        rows = tuple(
            (
                step_name(h.number, h.step),
                count(h.people, "person", "people") if h.people else "–",
                results.get(h.result, one_line(h.result)) or "–",
                clock.time(h.wall),
            )
            for h in self.of(report)
        )
        return (Table("Steps done together", ("Step", "Hands", "Common move", Head("At")), rows),)

    def data(self, report: JobReport) -> Mapping[str, object]:
        """All of them."""
        return {self.key: tuple(self.of(report))}


HELPED: Final = Shared()
