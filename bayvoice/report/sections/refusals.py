"""Times the way on was refused."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.report.base.blocks import Block, Head, Table, step_name
from bayvoice.report.base.common import Common, text, whole
from bayvoice.report.base.section import Fold, JobReport, Section
from bayvoice.report.base.words import REFUSED, Clock, one_line, span


@dataclass(frozen=True, slots=True)
class Refusal:
    """The way on was asked for and refused: `missing` of what `of` says, "seconds", "things", "tries", "" for none."""

    step: str
    number: int
    what: str
    name: str
    missing: int
    by: str
    wall: float
    seq: int
    of: str = ""


def _refused(state: list[Refusal], common: Common, fact: Fact) -> None:
    what, name, of = (text(fact.body, key) for key in ("what", "name", "of"))
    missing = whole(fact.body, "n") or 0
    state.append(Refusal(*common.at(fact), what, name, missing, common.by, fact.wall, fact.seq, of))


class Refusals(Section[list[Refusal]]):
    """What stood in the way."""

    key = "refusals"
    title = "Refused"

    def begin(self, common: Common) -> list[Refusal]:
        """None."""
        return []

    def folds(self) -> Mapping[str, Fold[list[Refusal]]]:
        """A refusal."""
        return {"refused": _refused}

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A row a refusal."""
        rows = tuple(
            (step_name(r.number, r.step), one_line(r.name), _missing(r), one_line(r.by), clock.time(r.wall))
            for r in self.of(report)
        )
        heads = ("Step", "Because of", "What was missing", "By", Head("At"))
        return (Table("Times the way on was refused", heads, rows),)

    def data(self, report: JobReport) -> Mapping[str, object]:
        """Every refusal."""
        return {self.key: tuple(self.of(report))}


def _missing(r: Refusal) -> str:
    if r.what == "wait":
        return f"{span(r.missing)} missing"
    if r.what == "tally":
        return f"{r.missing} left inside"
    counted = f", {span(r.missing)}" if r.of == "seconds" else f", {r.missing} in a row" if r.of == "tries" else ""
    return f"{REFUSED.get(r.what, one_line(r.what))}{counted}"


REFUSALS: Final = Refusals()
