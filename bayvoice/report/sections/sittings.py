"""Who worked on the job, and when."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.report.base.blocks import Block, Head, Table
from bayvoice.report.base.common import Common, text
from bayvoice.report.base.section import Fold, Found, JobReport, Section
from bayvoice.report.base.words import Clock, one_line
from bayvoice.report.sections.gaps import AFTERWARDS, GAPS


@dataclass(frozen=True, slots=True)
class Sitting:
    """`left` None: it ended without a farewell (power cut, kill), or goes on; `last`: its last fact; `hands`: everybody
    who was at the job in it, in order."""

    by: str
    product: str
    began: float
    last: float
    left: float | None
    why: str
    hands: tuple[str, ...] = ()


def _began(state: list[Sitting], common: Common, fact: Fact) -> None:
    product, by = text(fact.body, "product"), common.by
    state.append(Sitting(by, product, fact.wall, fact.wall, None, "", (by,)))


def _left(state: list[Sitting], common: Common, fact: Fact) -> None:
    if state:
        state[-1] = replace(state[-1], left=fact.wall, why=text(fact.body, "why"))


def _handed_over(state: list[Sitting], common: Common, fact: Fact) -> None:
    takes = text(fact.body, "takes")
    if takes and state and takes not in state[-1].hands[-1:]:
        state[-1] = replace(state[-1], hands=(*state[-1].hands, takes))


class Sittings(Section[list[Sitting]]):
    """Stretches of work, from taking the job up to leaving it."""

    key = "sittings"
    title = "People"
    rank = 7

    def begin(self, common: Common) -> list[Sitting]:
        """None."""
        return []

    def folds(self) -> Mapping[str, Fold[list[Sitting]]]:
        """Begun, left, handed over within."""
        return {"sitting_began": _began, "sitting_left": _left, "handed_over": _handed_over}

    def before(self, found: Found, fact: Fact) -> None:
        """A sitting lasts until its last fact."""
        state = self.of(found)
        if state and fact.kind not in (*AFTERWARDS, "sitting_began"):
            state[-1] = replace(state[-1], last=fact.wall)

    def remarks(self, report: JobReport, clock: Clock) -> Iterator[str]:
        """Sittings that broke off for a moment only, which is no gap."""
        told, sittings = {gap.began for gap in GAPS.of(report).lines}, self.of(report)
        for sitting, after in pairwise(sittings):
            if sitting.left is None and sitting.last not in told:
                who = one_line((sitting.hands or (sitting.by,))[-1])
                last, began = clock.time(sitting.last), clock.time(after.began)
                yield f"the sitting of {who} broke off after {last} and was taken up at {began}"

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A row a sitting."""
        rows, sittings = [], self.of(report)
        for i, s in enumerate(sittings, 1):
            if s.left is not None:
                ending = one_line(s.why)
            elif i < len(sittings):
                ending = "broke off"
            else:
                ending = "not recorded, it may go on" if report.header.state == "open" else "job finished"
            end = clock.full(s.last if s.left is None else s.left)
            hands = ", then ".join(one_line(name) or "nobody named" for name in s.hands or (s.by,))
            rows.append((hands, clock.full(s.began), end, ending, one_line(s.product)))
        heads = ("By", Head("From"), Head("To"), "How it ended", "Program")
        return (Table("Who worked on the job, and when", heads, tuple(rows)),)

    def data(self, report: JobReport) -> Mapping[str, object]:
        """Every sitting."""
        return {self.key: tuple(self.of(report))}


SITTINGS: Final = Sittings()
