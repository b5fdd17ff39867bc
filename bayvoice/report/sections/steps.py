"""Every step, whether it was done or left out, and the time spent in it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.procedure.model import Step
from bayvoice.report.base.blocks import Block, Head, Table, judged, step_name
from bayvoice.report.base.common import Common, text
from bayvoice.report.base.judging import deviation, reason, who_passed
from bayvoice.report.base.markup import Markup, el
from bayvoice.report.base.model import Deviation, StepLine
from bayvoice.report.base.pictures import EDGE, MIDDLE, WIDTH, svg
from bayvoice.report.base.section import Fold, Found, JobReport, Section
from bayvoice.report.base.words import Clock, one_line, span

SLOW: Final = 1.5
"""A step that takes longer than this share of the time it is given is marked."""

_LEAVING: Final = ("skip", "hold")
"""Guards whose override leaves a step out."""


@dataclass(slots=True)
class Way:
    """`of`: id of a step -> its line, the procedure's own in order, then those it does not have."""

    of: dict[str, StepLine]

    @property
    def lines(self) -> tuple[StepLine, ...]:
        """All of them."""
        return tuple(self.of.values())


def _line(state: Way, step: str) -> StepLine:
    return state.of.get(step) or StepLine(0, step, "", "", None, None, 0, "", "", 0)


def _entered(state: Way, common: Common, fact: Fact) -> None:
    line = _line(state, text(fact.body, "step"))
    entered = fact.wall if line.entered is None else line.entered
    state.of[line.step] = replace(line, entered=entered, visits=line.visits + 1)


def _done(state: Way, common: Common, fact: Fact) -> None:
    line = _line(state, text(fact.body, "step"))
    how, why = text(fact.body, "how"), text(fact.body, "reason")
    state.of[line.step] = replace(line, left=fact.wall, how=how, reason=why, seq=fact.seq)


class Steps(Section[Way]):
    """The way through the procedure."""

    key = "steps"
    title = "Steps"

    def begin(self, common: Common) -> Way:
        """Every step of the procedure, none of them done."""
        lines = (
            StepLine(n, s.id, str(s.kind), s.say, None, None, 0, "", "", 0, takes=s.takes, aside=s.aside)
            for n, s in enumerate(common.procedure.steps if common.procedure else (), 1)
        )
        return Way({line.step: line for line in lines})

    def folds(self) -> Mapping[str, Fold[Way]]:
        """Entered and left."""
        return {"step_entered": _entered, "step_done": _done}

    def end(self, state: Way, common: Common) -> None:
        """The time that was spent in each."""
        for step, seconds in common.spent.items():
            if step in state.of:
                state.of[step] = replace(state.of[step], seconds=int(seconds))

    def void(self, state: Way, steps: frozenset[str]) -> None:
        """They are to be done again."""
        for step in steps & state.of.keys():
            state.of[step] = replace(state.of[step], left=None, how="", reason="", seq=0)

    def deviations(self, found: Found) -> Iterator[Deviation]:
        """Steps that were left out, never done, or left as done without what they ask for."""
        common = found.common
        for line in self.of(found).lines:
            step = common.step(line.step)
            what = one_line(line.say) or one_line(line.step)
            if line.how == "skipped":
                yield from _left_out(found, line, what, step)
            elif line.how and step:
                for section in found.sections:
                    yield from section.missing(found, line, step)
            elif line.how or common.ended is None:
                continue
            elif step and line.visits and any(section.settles(step) for section in found.sections):
                for section in found.sections:
                    yield from section.owed(found, line, step)
            elif not line.aside:
                # Steps of an aside are done only when something led there.
                given = reason(common, "undone", line.step)
                yield deviation(common, "undone", line.step, f"not done: {what}", common.ended_seq, given)

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A row a step; where the procedure gives times, the page draws the time spent against them."""
        lines = [line for line in self.of(report).lines if line.visits or not line.aside]
        rows = tuple(
            (
                step_name(s.number, s.step),
                one_line(s.say) or one_line(s.step),
                one_line(s.kind),
                judged(one_line(s.how) or "open", s.how in ("done", "")),
                "–" if s.entered is None else clock.time(s.entered),
                span(s.seconds) if s.visits else "–",
                "–" if s.takes is None else span(s.takes),
                str(s.visits),
            )
            for s in lines
        )
        heads = ("Step", "What", "Kind", "Result", Head("From"), Head("Time"), Head("Given"), "Visits")

        def cell(row: int, column: int, shown: str) -> Markup | None:
            return pace_picture(lines[row]) if column == len(heads) else None

        slow = sum(1 for line in lines if line.takes and line.seconds > SLOW * line.takes)
        timed = any(line.takes for line in lines)
        extra = f"Against the time given{f' ({slow} slow)' if slow else ''}" if timed else ""
        caption = "Every step with the time spent in it and the time the procedure gives it"
        return (Table(caption, heads, rows, cell, extra=extra),)

    def data(self, report: JobReport) -> Mapping[str, object]:
        """Every step."""
        return {self.key: self.of(report).lines}


def _left_out(found: Found, line: StepLine, what: str, step: Step | None) -> Iterator[Deviation]:
    """A step that was left out, with what it was left out in spite of."""
    common = found.common
    who = next((name for guard in _LEAVING if (name := who_passed(common, guard, line.step))), "")
    reasons = dict.fromkeys(given for guard in _LEAVING if (given := reason(common, guard, line.step)))
    if step and any(section.answers_for(found, step) for section in found.sections):
        return
    clauses = [said for section in found.sections if (said := section.left_out(found, line, step))]
    if who:
        clauses.append(f"passed by {one_line(who)}")
    what = "; ".join((what.rstrip("."), *clauses)) if clauses else what
    yield deviation(common, "skipped", line.step, f"left out: {what}", line.seq, ", ".join(reasons) or line.reason)


def pace_picture(line: StepLine) -> Markup:
    """The time spent in a step as a bar, against the time the procedure gives it; nothing where it gives none."""
    if not line.takes or not line.visits:
        return Markup("")
    # The time given is at the same place in every row; what takes three times as long goes to the edge.
    given = (WIDTH - 2 * EDGE) / 3
    taken = min(given * line.seconds / line.takes, WIDTH - 2 * EDGE)
    look = "pace slow" if line.seconds > SLOW * line.takes else "pace"
    bar = el("rect", x=EDGE, y=MIDDLE - 4, width=round(max(1.0, taken), 1), height=8, class_=look)
    limit = el("path", d=f"M{EDGE + given:.1f} {MIDDLE - 9}V{MIDDLE + 9}", class_="limit")
    pace = f"{line.seconds / line.takes:.1f} of the time given"
    return svg(f"{span(line.seconds)} of {span(line.takes)} given, {pace}", [bar, limit], WIDTH, 2 * MIDDLE)


STEPS: Final = Steps()
