"""Things counted into and out of openings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.procedure.model import Step, Tally
from bayvoice.report.base.blocks import Bad, Block, Table, judged
from bayvoice.report.base.common import Common, text, whole
from bayvoice.report.base.judging import deviation, reason, undone, who_passed
from bayvoice.report.base.model import Deviation, StepLine
from bayvoice.report.base.section import Fold, Found, JobReport, Section
from bayvoice.report.base.words import Clock, one_line
from bayvoice.report.sections.searches import SEARCHES
from bayvoice.report.sections.steps import STEPS


@dataclass(frozen=True, slots=True)
class TallyLine:
    """One thing over one opening: how many went in, came out and are inside. `closed`: the count was closed."""

    opening: str
    thing: str
    went_in: int
    came_out: int
    inside: int
    closed: bool


@dataclass(frozen=True, slots=True)
class Opening:
    """A count. `closed`: it was closed; `step`, `seq`: where it was opened or closed last."""

    closed: bool
    step: str
    seq: int


@dataclass(slots=True)
class Counts:
    """`of`: (opening, thing) -> its line; `openings`: opening -> its count."""

    of: dict[tuple[str, str], TallyLine] = field(default_factory=dict)
    openings: dict[str, Opening] = field(default_factory=dict)

    @property
    def lines(self) -> tuple[TallyLine, ...]:
        """All of them, in the order they were first counted."""
        return tuple(self.of.values())


def _opened(state: Counts, common: Common, fact: Fact) -> None:
    state.openings[text(fact.body, "opening")] = Opening(False, text(fact.body, "step"), fact.seq)


def _counted(state: Counts, common: Common, fact: Fact) -> None:
    body = fact.body
    key = text(body, "opening"), text(body, "thing")
    line, change = state.of.get(key) or TallyLine(*key, 0, 0, 0, False), whole(body, "change") or 0
    went_in, came_out = line.went_in + max(0, change), line.came_out + max(0, -change)
    state.of[key] = replace(line, went_in=went_in, came_out=came_out, inside=whole(body, "inside") or 0)


def _closed(state: Counts, common: Common, fact: Fact) -> None:
    opening = text(fact.body, "opening")
    state.openings[opening] = Opening(True, text(fact.body, "step"), fact.seq)
    for key, line in state.of.items():
        if key[0] == opening:
            state.of[key] = replace(line, closed=True)


class Tallies(Section[Counts]):
    """What went in must come out."""

    key = "tally"
    title = "Opening tally"

    def begin(self, common: Common) -> Counts:
        """None."""
        return Counts()

    def folds(self) -> Mapping[str, Fold[Counts]]:
        """A count is opened, goes on, is closed."""
        return {"tally_opened": _opened, "counted": _counted, "tally_closed": _closed}

    def deviations(self, found: Found) -> Iterator[Deviation]:
        """What was left inside, with who searched for it; counts that were never closed."""
        state, common = self.of(found), found.common
        for opening, count in state.openings.items():
            step, seq = count.step, count.seq
            # Of a count that was passed and never closed it is said at the step that should have closed it.
            skipped = self._skipped(found, opening)
            if skipped and not count.closed:
                step, seq = skipped.step, skipped.seq
            left = [line for line in state.lines if line.opening == opening and line.inside]
            if left and (count.closed or common.ended is not None):
                listed = ", ".join(f"{line.inside} × {one_line(line.thing)}" for line in left)
                what = f"left inside {one_line(opening)}: {listed}"
            elif not count.closed and common.ended is not None:
                what = f"the count of {one_line(opening)} was never closed"
            else:
                continue
            searched = [s for s in SEARCHES.of(found) if s.opening == opening and s.who]
            what += "".join(f"; searched by {one_line(s.who)}{_by_means(s.how)}" for s in searched)
            if left and not searched:
                what += "; nobody is named who searched for it"
            if signed := who_passed(common, "tally", step):
                what += f"; passed by {one_line(signed)}"
            given = reason(common, "tally", step) or (skipped.reason if skipped else "")
            yield deviation(common, "tally", step, what, seq, given)

    def _skipped(self, found: Found, opening: str) -> StepLine | None:
        """The step that should have closed the count and was left out, None where none was."""
        procedure, lines = found.common.procedure, STEPS.of(found).of
        closing = (step.id for step in procedure.steps if _closes(step) == opening) if procedure else ()
        return next((lines[step] for step in closing if lines[step].how == "skipped"), None)

    def missing(self, found: Found, line: StepLine, step: Step) -> Iterator[Deviation]:
        """The count that the step closes."""
        opening = _closes(step)
        if opening is not None and opening not in self.of(found).openings:
            yield undone(found.common, line, f"the count of {one_line(opening)} is not recorded")

    def answers_for(self, found: Found, step: Step) -> bool:
        """A count that was not closed has a sentence of its own."""
        return _closes(step) in self.of(found).openings

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A row a thing."""
        rows = tuple(
            (
                one_line(t.opening),
                one_line(t.thing),
                str(t.went_in),
                str(t.came_out),
                judged(str(t.inside), not t.inside),
                "yes" if t.closed else Bad("no"),
            )
            for t in self.of(report).lines
        )
        heads = ("Opening", "Thing", "In", "Out", "Left inside", "Count closed")
        return (Table("Things counted in and out", heads, rows),)

    def data(self, report: JobReport) -> Mapping[str, object]:
        """Every thing."""
        return {self.key: self.of(report).lines}


def _closes(step: Step) -> str | None:
    """The opening whose count the step closes."""
    return step.detail.opening if isinstance(step.detail, Tally) and step.detail.close else None


def _by_means(how: str) -> str:
    return f" ({one_line(how)})" if how else ""


TALLY: Final = Tallies()
