"""What was found on the way, and where the job left its line."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.report.base.blocks import Block, Head, Table, step_name
from bayvoice.report.base.common import Common, text, whole
from bayvoice.report.base.judging import deviation, reason
from bayvoice.report.base.model import Deviation
from bayvoice.report.base.section import Fold, Found, JobReport, Section
from bayvoice.report.base.words import Clock, one_line
from bayvoice.report.sections.signatures import SIGNATURES

WHYS: Final = {"finding": "found", "check": "an answer was not in order", "measure": "a value was not in order"}
"""Why the job left its line -> in words."""


@dataclass(frozen=True, slots=True)
class Branch:
    """A finding (`what`), and where the job went from there or why else it left the line.

    `why`: "finding", "check", "measure"; `to`: the step it went to, "" for none; `turn` of `turns` allowed.
    """

    step: str
    number: int
    what: str
    why: str
    to: str
    to_number: int
    turn: int
    turns: int
    by: str
    wall: float
    seq: int


def _found(state: list[Branch], common: Common, fact: Fact) -> None:
    (step, number), what, to = common.at(fact), text(fact.body, "what"), text(fact.body, "to")
    place = common.number(to)
    state.append(Branch(step, number, what, "finding", to, place, 0, 0, common.by, fact.wall, fact.seq))


def _branched(state: list[Branch], common: Common, fact: Fact) -> None:
    (step, number), body, to = common.at(fact), fact.body, text(fact.body, "to")
    turn, turns, why = whole(body, "turn") or 0, whole(body, "turns") or 0, text(body, "why")
    last, place = state[-1] if state else None, common.number(to)
    if last and last.why == "finding" == why and last.step == step and not last.turn:
        # The finding that led there is a fact of its own: one line for both.
        state[-1] = replace(last, to=to, to_number=place, turn=turn, turns=turns)
        return
    state.append(Branch(step, number, "", why, to, place, turn, turns, common.by, fact.wall, fact.seq))


class Branches(Section[list[Branch]]):
    """Findings and asides."""

    key = "branches"
    title = "Found on the way"

    def begin(self, common: Common) -> list[Branch]:
        """None."""
        return []

    def folds(self) -> Mapping[str, Fold[list[Branch]]]:
        """A finding; a way taken."""
        return {"found": _found, "branched": _branched}

    def deviations(self, found: Found) -> Iterator[Deviation]:
        """What the technician found, with where it led or who let the job go on."""
        common, signatures = found.common, SIGNATURES.of(found).lines
        for branch in self.of(found):
            if branch.why == "finding":
                led = f", which led to step {branch.to_number}" if branch.to_number else ""
                given = reason(common, "finding", branch.step)
                sign = next((s for s in signatures if s.step == branch.step and s.seq > branch.seq), None)
                signed = f"; {one_line(sign.who)} signed that the job goes on" if sign and not branch.to else ""
                what = f"found: {one_line(branch.what)}{led}{signed}"
                yield deviation(common, "finding", branch.step, what, branch.seq, given)

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A row a finding or a way taken."""
        rows = tuple(
            (
                step_name(b.number, b.step),
                ": ".join(piece for piece in (WHYS.get(b.why, one_line(b.why)), one_line(b.what)) if piece),
                f"step {step_name(b.to_number, b.to)}" if b.to else "–",
                f"{b.turn} of {b.turns}" if b.turns else "–",
                one_line(b.by),
                clock.time(b.wall),
            )
            for b in self.of(report)
        )
        heads = ("Step", "Why", "Went to", Head("Time"), "By", Head("At"))
        return (Table("Findings, and where the job left its line", heads, rows),)

    def data(self, report: JobReport) -> Mapping[str, object]:
        """All of them."""
        return {self.key: tuple(self.of(report))}


BRANCHES: Final = Branches()
