"""Openings that were searched, and what was found in them that does not belong there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.report.base.blocks import Block, Head, Table
from bayvoice.report.base.common import Common, text
from bayvoice.report.base.judging import deviation
from bayvoice.report.base.model import Deviation
from bayvoice.report.base.section import Fold, Found, JobReport, Section
from bayvoice.report.base.words import Clock, one_line


@dataclass(frozen=True, slots=True)
class Search:
    """Somebody searched an opening before its count was passed, or a foreign part (`thing`) was found in it."""

    step: str
    number: int
    opening: str
    who: str
    how: str
    thing: str
    wall: float
    seq: int


def _searched(state: list[Search], common: Common, fact: Fact) -> None:
    opening, who, how, thing = (text(fact.body, key) for key in ("opening", "who", "how", "thing"))
    state.append(Search(*common.at(fact), opening, who, how, thing, fact.wall, fact.seq))


class Searches(Section[list[Search]]):
    """Who looked into what."""

    key = "searches"
    title = "Searched"

    def begin(self, common: Common) -> list[Search]:
        """None."""
        return []

    def folds(self) -> Mapping[str, Fold[list[Search]]]:
        """A search; a foreign part."""
        return {"searched": _searched, "foreign_part": _searched}

    def deviations(self, found: Found) -> Iterator[Deviation]:
        """Foreign parts."""
        for s in self.of(found):
            if s.thing and not s.who:
                what = f"a foreign part was found in {one_line(s.opening)}: {one_line(s.thing)}"
                yield deviation(found.common, "finding", s.step, what, s.seq)

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A row a search or a foreign part."""
        rows = tuple(
            (
                one_line(s.opening),
                f"foreign part: {one_line(s.thing)}" if s.thing else "searched",
                one_line(s.who) or "–",
                one_line(s.how) or "–",
                clock.time(s.wall),
            )
            for s in self.of(report)
        )
        caption = "Searches, and what was found that does not belong there"
        return (Table(caption, ("Opening", "What", "By", "How", Head("At")), rows),)

    def data(self, report: JobReport) -> Mapping[str, object]:
        """All of them."""
        return {self.key: tuple(self.of(report))}


SEARCHES: Final = Searches()
