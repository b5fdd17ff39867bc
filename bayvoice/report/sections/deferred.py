"""What was left open for later."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.report.base.blocks import step_name
from bayvoice.report.base.common import Common, text
from bayvoice.report.base.section import Fold, JobReport, Section
from bayvoice.report.base.words import Clock, one_line


@dataclass(frozen=True, slots=True)
class Later:
    """Something left open for later. `what`: "hold" or "parts"; `settled`: when it was done after all."""

    step: str
    number: int
    what: str
    settled: float | None
    by: str
    wall: float
    seq: int


def _deferred(state: list[Later], common: Common, fact: Fact) -> None:
    state.append(Later(*common.at(fact), text(fact.body, "what"), None, common.by, fact.wall, fact.seq))


def _signed(state: list[Later], common: Common, fact: Fact) -> None:
    """A signature settles its hold."""
    step = text(fact.body, "step")
    for i, one in enumerate(state):
        if one.what == "hold" and one.step == step and one.settled is None:
            state[i] = replace(one, settled=fact.wall)


class Deferred(Section[list[Later]]):
    """A hold point, or the list of parts."""

    key = "deferred"
    title = "Left for later"
    rank = 4

    def begin(self, common: Common) -> list[Later]:
        """None."""
        return []

    def folds(self) -> Mapping[str, Fold[list[Later]]]:
        """Left open, and done after all."""
        return {"deferred": _deferred, "signed": _signed}

    def remarks(self, report: JobReport, clock: Clock) -> Iterator[str]:
        """Each, with when it was signed."""
        named = {"hold": "a hold point", "parts": "the list of parts"}
        for d in self.of(report):
            where = f" (step {step_name(d.number, d.step)})" if d.step else ""
            settled = "" if d.settled is None else f" and signed at {clock.time(d.settled)}"
            yield f"{named.get(d.what) or one_line(d.what)}{where} was left for later at {clock.time(d.wall)}{settled}"

    def data(self, report: JobReport) -> Mapping[str, object]:
        """All of them."""
        return {self.key: tuple(self.of(report))}


DEFERRED: Final = Deferred()
