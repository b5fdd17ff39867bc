"""Particulars: what kinds of step put down without judging it (`StepKind.particulars`), running hours for instance."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from bayvoice.dialogue.engine.kind import StepKind
from bayvoice.dialogue.steps import KINDS
from bayvoice.job.facts import Fact
from bayvoice.procedure.model import Step
from bayvoice.report.base.blocks import Block, Head, Table, step_name
from bayvoice.report.base.common import Common, text
from bayvoice.report.base.judging import undone
from bayvoice.report.base.model import Deviation, StepLine
from bayvoice.report.base.section import Fold, Found, JobReport, Section
from bayvoice.report.base.words import Clock, one_line


@dataclass(frozen=True, slots=True)
class Particular:
    """One entry: `name` was put down as `value`."""

    step: str
    number: int
    name: str
    value: str
    by: str
    wall: float
    seq: int


@dataclass(slots=True)
class Entries:
    """`lines`: every entry; `last`: step -> the one that counts."""

    lines: list[Particular] = field(default_factory=list)
    last: dict[str, Particular] = field(default_factory=dict)


def _taking(fact_keys: Sequence[str], printed: Callable[[Mapping[str, str]], str]) -> Fold[Entries]:
    def put_down(state: Entries, common: Common, fact: Fact) -> None:
        step, number = common.at(fact)
        value = printed({key: text(fact.body, key) for key in fact_keys})
        name = text(fact.body, "name")
        state.last[step] = Particular(step, number, name, value, common.by, fact.wall, fact.seq)
        state.lines.append(state.last[step])

    return put_down


class Particulars(Section[Entries]):
    """What nothing is judged by."""

    key = "particulars"
    title = "Particulars"
    rank = 4

    def begin(self, common: Common) -> Entries:
        """None."""
        return Entries()

    def folds(self) -> Mapping[str, Fold[Entries]]:
        """An entry."""
        kinds = [kind for kind in KINDS.values() if isinstance(kind, StepKind)]
        return {
            fact: _taking(kind.facts[fact], printed) for kind in kinds for fact, printed in kind.particulars.items()
        }

    def void(self, state: Entries, steps: frozenset[str]) -> None:
        """They are put down again."""
        for step in steps:
            state.last.pop(step, None)

    def missing(self, found: Found, line: StepLine, step: Step) -> Iterator[Deviation]:
        """The entry."""
        kind = KINDS[step.kind]
        name = kind.particular(step) if isinstance(kind, StepKind) else ""
        if name and line.step not in self.of(found).last:
            yield undone(found.common, line, f"no {one_line(name)} is recorded")

    def remarks(self, report: JobReport, clock: Clock) -> Iterator[str]:
        """Entries that were put right."""
        before: dict[str, Particular] = {}
        for one in self.of(report).lines:
            old = before.get(one.step)
            if old is not None and old.value != one.value:
                yield (
                    f"{one_line(one.name)} was put down as {one_line(old.value)} at {clock.time(old.wall)}, "
                    f"then as {one_line(one.value)} by {one_line(one.by) or 'unknown'} at {clock.time(one.wall)}"
                )
            before[one.step] = one

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A row an entry; what a later one replaced says so."""
        last = self.of(report).last
        rows = tuple(
            (
                step_name(one.number, one.step),
                one_line(one.name),
                one_line(one.value),
                "yes" if last.get(one.step) is one else "replaced",
                one_line(one.by),
                clock.time(one.wall),
            )
            for one in self.of(report).lines
        )
        return (Table("What was put down", ("Step", "What", "Put down", "Stands", "By", Head("At")), rows),)

    def data(self, report: JobReport) -> Mapping[str, object]:
        """Every entry."""
        return {self.key: tuple(self.of(report).lines)}


PARTICULARS: Final = Particulars()
