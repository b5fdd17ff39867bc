"""Hold points: who looked and signed for a step."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.procedure.model import Hold, Step
from bayvoice.report.base.blocks import Block, Head, Table, code_text, step_name
from bayvoice.report.base.common import Common, text
from bayvoice.report.base.judging import deviation, reason
from bayvoice.report.base.model import Deviation, StepLine
from bayvoice.report.base.section import Fold, Found, JobReport, Section
from bayvoice.report.base.worded import signed_words
from bayvoice.report.base.words import Clock, one_line
from bayvoice.report.sections.deferred import DEFERRED


@dataclass(frozen=True, slots=True)
class Signature:
    """`how`: "spoken", "typed" or "key"; `code`: "right" where a code was asked for and given."""

    step: str
    number: int
    look: str
    who: str
    role: str
    wall: float
    seq: int
    how: str = ""
    code: str = ""


@dataclass(slots=True)
class Signed:
    """`lines`: every signature; `last`: step -> the one that counts."""

    lines: list[Signature] = field(default_factory=list)
    last: dict[str, Signature] = field(default_factory=dict)


def _signed(state: Signed, common: Common, fact: Fact) -> None:
    (step, number), body, known = common.at(fact), fact.body, common.step(text(fact.body, "step"))
    look = known.detail.look if known and isinstance(known.detail, Hold) else ""
    who, role, how, code = (text(body, key) for key in ("who", "role", "how", "code"))
    state.last[step] = Signature(step, number, look, who, role, fact.wall, fact.seq, how, code)
    state.lines.append(state.last[step])


class Signatures(Section[Signed]):
    """Who signed for what."""

    key = "signatures"
    title = "Steps signed"
    rank = 2

    def begin(self, common: Common) -> Signed:
        """None."""
        return Signed()

    def folds(self) -> Mapping[str, Fold[Signed]]:
        """A signature."""
        return {"signed": _signed}

    def void(self, state: Signed, steps: frozenset[str]) -> None:
        """What is done again is looked at again."""
        for step in steps:
            state.last.pop(step, None)

    def missing(self, found: Found, line: StepLine, step: Step) -> Iterator[Deviation]:
        """A signature, of somebody who did not work on the job."""
        if not isinstance(step.detail, Hold):
            return
        hold, common, sign = step.detail, found.common, self.of(found).last.get(line.step)
        if sign is None:
            later = any(d.what == "hold" and d.step == line.step for d in DEFERRED.of(found))
            what = f"nobody signed for {one_line(hold.look)}" + (", which was left for later" if later else "")
            yield deviation(common, "unsigned", line.step, what, line.seq, reason(common, "hold", line.step))
        elif sign.who.casefold().strip() in {by.casefold().strip() for by in common.workers()}:
            what = f"{one_line(sign.who)}, who worked on this job, signed in place of the {one_line(hold.who)}"
            yield deviation(common, "unsigned", line.step, what, sign.seq)

    def owed(self, found: Found, line: StepLine, step: Step) -> Iterator[Deviation]:
        """A hold may be left open; when the job is done it must be signed."""
        yield from self.missing(found, replace(line, seq=found.common.ended_seq), step)

    def settles(self, step: Step) -> bool:
        """Such a step is never just undone: it is signed or not."""
        return isinstance(step.detail, Hold)

    def left_out(self, found: Found, line: StepLine, step: Step | None) -> str:
        """That nobody looked."""
        return "nobody signed" if step and isinstance(step.detail, Hold) else ""

    def explains_silence(self, found: Found, step: Step | None) -> bool:
        """At a hold point one waits for somebody."""
        return step is not None and isinstance(step.detail, Hold)

    def remarks(self, report: JobReport, clock: Clock) -> Iterator[str]:
        """Signatures that anybody could have given."""
        steps: dict[tuple[str, str], list[str]] = {}
        for sign in self.of(report).lines:
            if sign.code != "right":
                place = step_name(sign.number, sign.step)
                steps.setdefault((one_line(sign.who), code_text(sign.code)), []).append(place)
        for (who, why), places in steps.items():
            yield f"the signature of {who or 'somebody'} at step {', '.join(places)} is only a name: {why}"

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A row a signature."""
        rows = tuple(
            (
                step_name(s.number, s.step),
                one_line(s.look) or "–",
                one_line(s.who),
                one_line(s.role),
                f"{signed_words(one_line(s.how)) or '–'}, {code_text(s.code)}",
                clock.time(s.wall),
            )
            for s in self.of(report).lines
        )
        caption = "Signatures of steps; whether the job is signed off stands at the top"
        return (Table(caption, ("Step", "Looked at", "Signed by", "As", "How", Head("At")), rows),)

    def data(self, report: JobReport) -> Mapping[str, object]:
        """Every signature."""
        return {self.key: tuple(self.of(report).lines)}


SIGNATURES: Final = Signatures()
