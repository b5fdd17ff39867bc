"""One-use parts that were replaced."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.procedure.model import Replace, Step
from bayvoice.report.base.blocks import Bad, Block, Head, Table, step_name
from bayvoice.report.base.common import Common, text
from bayvoice.report.base.judging import deviation, reason
from bayvoice.report.base.model import Deviation, StepLine
from bayvoice.report.base.section import Fold, Found, JobReport, Section
from bayvoice.report.base.words import Clock, one_line


@dataclass(frozen=True, slots=True)
class PartFitted:
    """One answer to whether a new part was fitted."""

    step: str
    number: int
    name: str
    part_number: str
    new: bool
    by: str
    wall: float
    seq: int


@dataclass(slots=True)
class Fitted:
    """`lines`: every answer; `last`: step -> the one that counts."""

    lines: list[PartFitted] = field(default_factory=list)
    last: dict[str, PartFitted] = field(default_factory=dict)


def _replaced(state: Fitted, common: Common, fact: Fact) -> None:
    (step, number), body = common.at(fact), fact.body
    name, code, new = text(body, "name"), text(body, "number"), body.get("new") is True
    state.last[step] = PartFitted(step, number, name, code, new, common.by, fact.wall, fact.seq)
    state.lines.append(state.last[step])


class Parts(Section[Fitted]):
    """What is used once and fitted new."""

    key = "parts"
    title = "Parts replaced"

    def begin(self, common: Common) -> Fitted:
        """None."""
        return Fitted()

    def folds(self) -> Mapping[str, Fold[Fitted]]:
        """A part."""
        return {"replaced": _replaced}

    def void(self, state: Fitted, steps: frozenset[str]) -> None:
        """Parts are used once: new ones again."""
        for step in steps:
            state.last.pop(step, None)

    def deviations(self, found: Found) -> Iterator[Deviation]:
        """Parts that were not fitted new."""
        for part in self.of(found).last.values():
            if not part.new:
                code = f" ({one_line(part.part_number)})" if part.part_number else ""
                what = f"no new {one_line(part.name)}{code} was fitted"
                given = reason(found.common, "part", part.step)
                yield deviation(found.common, "part", part.step, what, part.seq, given)

    def missing(self, found: Found, line: StepLine, step: Step) -> Iterator[Deviation]:
        """The new part."""
        if isinstance(step.detail, Replace) and line.step not in self.of(found).last:
            part, procedure = step.detail.part, found.common.procedure
            name = next((p.name for p in procedure.parts if p.id == part), part) if procedure else part
            given = reason(found.common, "part", line.step)
            what = f"no new {one_line(name)} is recorded"
            yield deviation(found.common, "part", line.step, what, line.seq, given)

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A row an answer."""
        rows = tuple(
            (
                step_name(p.number, p.step),
                one_line(p.name),
                one_line(p.part_number),
                "new" if p.new else Bad("not new"),
                one_line(p.by),
                clock.time(p.wall),
            )
            for p in self.of(report).lines
        )
        return (Table("One-use parts", ("Step", "Part", "Number", "Fitted", "By", Head("At")), rows),)

    def data(self, report: JobReport) -> Mapping[str, object]:
        """Every answer."""
        return {self.key: tuple(self.of(report).lines)}


PARTS: Final = Parts()
