"""Checks and their answers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.procedure.model import Check, Step
from bayvoice.report.base.blocks import Bad, Block, Head, Table, step_name
from bayvoice.report.base.common import Common, text
from bayvoice.report.base.judging import deviation, reason, undone
from bayvoice.report.base.model import Deviation, StepLine
from bayvoice.report.base.section import Fold, Found, JobReport, Section
from bayvoice.report.base.words import Clock, one_line
from bayvoice.report.sections.steps import STEPS


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer to one question."""

    step: str
    number: int
    ask: str
    answer: str
    want: str
    by: str
    wall: float
    seq: int


@dataclass(slots=True)
class Answers:
    """`lines`: every answer; `last`: (step, question) -> the one that counts."""

    lines: list[Answer] = field(default_factory=list)
    last: dict[tuple[str, str], Answer] = field(default_factory=dict)


def _checked(state: Answers, common: Common, fact: Fact) -> None:
    step, number = common.at(fact)
    ask, answer, want = (text(fact.body, key) for key in ("ask", "answer", "want"))
    state.last[step, ask] = Answer(step, number, ask, answer, want, common.by, fact.wall, fact.seq)
    state.lines.append(state.last[step, ask])


class Checks(Section[Answers]):
    """What was answered with yes or no."""

    key = "checks"
    title = "Checks"
    rank = 3

    def begin(self, common: Common) -> Answers:
        """None."""
        return Answers()

    def folds(self) -> Mapping[str, Fold[Answers]]:
        """An answer."""
        return {"checked": _checked}

    def void(self, state: Answers, steps: frozenset[str]) -> None:
        """Questions are asked again."""
        state.last = {key: check for key, check in state.last.items() if key[0] not in steps}

    def deviations(self, found: Found) -> Iterator[Deviation]:
        """Answers that are not in order, unless their step was left out."""
        common, steps = found.common, STEPS.of(found).of
        for check in self.of(found).last.values():
            skipped = check.step in steps and steps[check.step].how == "skipped"
            if check.answer != check.want and not skipped:
                answer, want = one_line(check.answer), one_line(check.want)
                what = f"“{one_line(check.ask)}” was answered {answer}, in order is {want}"
                yield deviation(common, "check", check.step, what, check.seq, reason(common, "check", check.step))

    def missing(self, found: Found, line: StepLine, step: Step) -> Iterator[Deviation]:
        """The answer."""
        if isinstance(step.detail, Check) and (line.step, step.detail.ask) not in self.of(found).last:
            yield undone(found.common, line, "the answer to its question is not recorded", "check")

    def left_out(self, found: Found, line: StepLine, step: Step | None) -> str:
        """What it was left out in spite of."""
        wrong = (c for c in self.of(found).last.values() if c.step == line.step and c.answer != c.want)
        return "; ".join(f"“{one_line(c.ask)}” was answered {one_line(c.answer)}" for c in wrong)

    def remarks(self, report: JobReport, clock: Clock) -> Iterator[str]:
        """Answers that were put right."""
        answers: dict[tuple[str, str], Answer] = {}
        for check in self.of(report).lines:
            before = answers.get((check.step, check.ask))
            if before and before.answer != check.answer and before.answer != before.want:
                yield (
                    f"“{one_line(check.ask)}” was answered {one_line(before.answer)} at {clock.time(before.wall)}, "
                    f"then {one_line(check.answer)} by {one_line(check.by) or 'unknown'} at {clock.time(check.wall)}"
                )
            answers[check.step, check.ask] = check

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A row an answer."""
        rows = tuple(
            (
                step_name(c.number, c.step),
                one_line(c.ask),
                one_line(c.answer),
                "in order" if c.answer == c.want else Bad("not in order"),
                one_line(c.by),
                clock.time(c.wall),
            )
            for c in self.of(report).lines
        )
        heads = ("Step", "Question", "Answer", Head("Verdict"), "By", Head("At"))
        return (Table("Checks and their answers", heads, rows),)

    def data(self, report: JobReport) -> Mapping[str, object]:
        """Every answer."""
        return {self.key: tuple(self.of(report).lines)}


CHECKS: Final = Checks()
