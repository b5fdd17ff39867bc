"""The facts of a job gathered into the lines of a report, without judging them.

Lenient on purpose: bodies may be older than this version or damaged, and a report must still come out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from bayvoice.core.effects import Fact
from bayvoice.procedure.model import Hold, Procedure
from bayvoice.report.model import (
    Check,
    Earlier,
    Measurement,
    Note,
    PartFitted,
    Reading,
    Refusal,
    Signature,
    Sitting,
    StageDone,
    StepLine,
    TallyLine,
    WaitRun,
)


def text(body: dict[str, Any], key: str) -> str:
    """The string under `key`; booleans as yes and no, what is absent as ""."""
    value = body.get(key)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else str(value)


def whole(body: dict[str, Any], key: str) -> int | None:
    """The integer under `key`, None where there is none."""
    value = body.get(key)
    return value if isinstance(value, int) and not isinstance(value, bool) else None


@dataclass(slots=True)
class Passed:
    """An override, and whether another deviation has taken its reason."""

    fact: Fact
    used: bool = False


@dataclass(slots=True)
class Gathered:
    """The lines of a report as they are gathered, fact by fact."""

    procedure: Procedure | None
    by: str = ""
    current: str = ""
    steps: dict[str, StepLine] = field(default_factory=dict)
    sittings: list[Sitting] = field(default_factory=list)
    measurements: dict[tuple[str, str], Measurement] = field(default_factory=dict)
    checks: list[Check] = field(default_factory=list)
    check_of: dict[tuple[str, str], Check] = field(default_factory=dict)
    stages: list[StageDone] = field(default_factory=list)
    stage_of: dict[str, StageDone] = field(default_factory=dict)
    waits: list[WaitRun] = field(default_factory=list)
    refusals: list[Refusal] = field(default_factory=list)
    parts: list[PartFitted] = field(default_factory=list)
    part_of: dict[str, PartFitted] = field(default_factory=dict)
    tally: dict[tuple[str, str], TallyLine] = field(default_factory=dict)
    openings: dict[str, bool] = field(default_factory=dict)
    signatures: list[Signature] = field(default_factory=list)
    signature_of: dict[str, Signature] = field(default_factory=dict)
    notes: list[Note] = field(default_factory=list)
    overrides: list[Passed] = field(default_factory=list)
    by_of: dict[int, str] = field(default_factory=dict)
    wall_of: dict[int, float] = field(default_factory=dict)
    spent: dict[str, float] = field(default_factory=dict)
    worked: float = 0.0
    active: bool = False
    ended: float | None = None
    ended_seq: int = 0

    def __post_init__(self) -> None:
        for number, step in enumerate(self.procedure.steps if self.procedure else (), 1):
            self.steps[step.id] = StepLine(number, step.id, step.kind.value, step.say, None, None, 0, "", "", 0)

    def number(self, step: str) -> int:
        """The step's place in the procedure from 1, 0 where it has none."""
        return self.steps[step].number if step in self.steps else 0

    def take(self, facts: Sequence[Fact]) -> None:
        """Gather all facts of the job, once, in order."""
        last = facts[0].wall if facts else 0.0
        for fact in facts:
            if self.active and fact.kind != "sitting_began":
                passed = max(0.0, fact.wall - last)
                self.worked += passed
                self.spent[self.current] = self.spent.get(self.current, 0.0) + passed
            last = fact.wall
            if fact.kind == "sitting_began":
                self.by = text(fact.body, "by")
            self.by_of[fact.seq], self.wall_of[fact.seq] = self.by, fact.wall
            handler = getattr(self, f"_{fact.kind}", None) if fact.kind in _TAKEN else None
            if handler is not None:
                handler(fact, fact.body)
            if self.sittings:
                self.sittings[-1] = replace(self.sittings[-1], last=fact.wall)
        for step, seconds in self.spent.items():
            if step in self.steps:
                self.steps[step] = replace(self.steps[step], seconds=int(seconds))

    def _sitting_began(self, fact: Fact, body: dict[str, Any]) -> None:
        self.active = True
        self.sittings.append(Sitting(self.by, text(body, "product"), fact.wall, fact.wall, None, ""))

    def _sitting_left(self, fact: Fact, body: dict[str, Any]) -> None:
        self.active = False
        if self.sittings:
            self.sittings[-1] = replace(self.sittings[-1], left=fact.wall, why=text(body, "why"))

    def _paused(self, fact: Fact, body: dict[str, Any]) -> None:
        self.active = False

    def _resumed(self, fact: Fact, body: dict[str, Any]) -> None:
        self.active = True

    def _job_done(self, fact: Fact, body: dict[str, Any]) -> None:
        self.ended, self.ended_seq = fact.wall, fact.seq
        self.current = ""

    def _line(self, step: str) -> StepLine:
        return self.steps.get(step) or StepLine(0, step, "", "", None, None, 0, "", "", 0)

    def _step_entered(self, fact: Fact, body: dict[str, Any]) -> None:
        step = self.current = text(body, "step")
        if text(body, "again") == "recovery":
            self._undo_from(self.number(step))
        line = self._line(step)
        entered = fact.wall if line.entered is None else line.entered
        self.steps[step] = replace(line, entered=entered, visits=line.visits + 1)

    def _undo_from(self, number: int) -> None:
        """A recovery step makes what came after it be done again; the lines stay, what they prove does not."""
        for step, line in self.steps.items():
            if number and line.number >= number:
                self.steps[step] = replace(line, left=None, how="", reason="", seq=0)
                for proof in (self.stage_of, self.part_of, self.signature_of):
                    proof.pop(step, None)
                self.check_of = {key: check for key, check in self.check_of.items() if key[0] != step}

    def _step_done(self, fact: Fact, body: dict[str, Any]) -> None:
        line = self._line(text(body, "step"))
        self.steps[line.step] = replace(
            line, left=fact.wall, how=text(body, "how"), reason=text(body, "reason"), seq=fact.seq
        )

    def _checked(self, fact: Fact, body: dict[str, Any]) -> None:
        step, ask = text(body, "step"), text(body, "ask")
        answer, want = text(body, "answer"), text(body, "want")
        check = Check(step, self.number(step), ask, answer, want, self.by, fact.wall, fact.seq)
        self.checks.append(check)
        self.check_of[step, ask] = check

    def _measured(self, fact: Fact, body: dict[str, Any]) -> None:
        step, name = text(body, "step"), text(body, "name")
        said, spoken_unit = text(body, "said_value"), text(body, "said_unit")
        reading = Reading(
            fact.seq,
            text(body, "value"),
            text(body, "unit"),
            said,
            spoken_unit,
            text(body, "verdict"),
            self.by,
            fact.wall,
        )
        before = self.measurements.get((step, name))
        earlier = (*before.earlier, Earlier(before.standing, self.by, fact.wall)) if before else ()
        self.measurements[step, name] = Measurement(
            step, self.number(step), name, reading.unit, text(body, "low"), text(body, "high"), text(body, "gauge"),
            reading, earlier,
        )  # fmt: skip

    def _stage_done(self, fact: Fact, body: dict[str, Any]) -> None:
        step, order = text(body, "step"), body.get("order")
        taken = tuple(str(n) for n in order) if isinstance(order, list) else tuple(text(body, "order").split())
        done = StageDone(
            step, self.number(step), text(body, "name"), whole(body, "stage") or 0, whole(body, "stages") or 0,
            text(body, "amount"), text(body, "unit"), taken, self.by, fact.wall, fact.seq,
        )  # fmt: skip
        self.stages.append(done)
        self.stage_of[step] = done

    def _replaced(self, fact: Fact, body: dict[str, Any]) -> None:
        step = text(body, "step")
        part = PartFitted(
            step,
            self.number(step),
            text(body, "name"),
            text(body, "number"),
            body.get("new") is True,
            self.by,
            fact.wall,
            fact.seq,
        )
        self.parts.append(part)
        self.part_of[step] = part

    def _signed(self, fact: Fact, body: dict[str, Any]) -> None:
        step, look = text(body, "step"), ""
        for one in self.procedure.steps if self.procedure else ():
            if one.id == step and isinstance(one.detail, Hold):
                look = one.detail.look
        sign = Signature(step, self.number(step), look, text(body, "who"), text(body, "role"), fact.wall, fact.seq)
        self.signatures.append(sign)
        self.signature_of[step] = sign

    def _noted(self, fact: Fact, body: dict[str, Any]) -> None:
        step = text(body, "step")
        self.notes.append(Note(step, self.number(step), text(body, "text"), self.by, fact.wall, fact.seq))

    def _tally_opened(self, fact: Fact, body: dict[str, Any]) -> None:
        self.openings[text(body, "opening")] = False

    def _counted(self, fact: Fact, body: dict[str, Any]) -> None:
        key = text(body, "opening"), text(body, "thing")
        line = self.tally.get(key) or TallyLine(*key, 0, 0, 0, False)
        change = whole(body, "change") or 0
        self.tally[key] = replace(
            line,
            went_in=line.went_in + max(0, change),
            came_out=line.came_out + max(0, -change),
            inside=whole(body, "inside") or 0,
        )

    def _tally_closed(self, fact: Fact, body: dict[str, Any]) -> None:
        opening = text(body, "opening")
        self.openings[opening] = True
        for key, line in self.tally.items():
            if key[0] == opening:
                self.tally[key] = replace(line, closed=True)

    def _wait_started(self, fact: Fact, body: dict[str, Any]) -> None:
        step, least, most = text(body, "step"), whole(body, "at_least"), whole(body, "at_most")
        name, kind = text(body, "name"), text(body, "wait")
        self.waits.append(
            WaitRun(step, self.number(step), name, kind, least, most, fact.wall, None, None, None, "", fact.seq)
        )

    def _wait_at(self, body: dict[str, Any]) -> int | None:
        step = text(body, "step")
        return next((i for i in reversed(range(len(self.waits))) if self.waits[i].step == step), None)

    def _wait_over(self, fact: Fact, body: dict[str, Any]) -> None:
        if (at := self._wait_at(body)) is not None:
            self.waits[at] = replace(self.waits[at], over=fact.wall)

    def _wait_ended(self, fact: Fact, body: dict[str, Any]) -> None:
        if (at := self._wait_at(body)) is not None:
            self.waits[at] = replace(
                self.waits[at],
                ended=fact.wall, seconds=whole(body, "seconds"), verdict=text(body, "verdict"), seq=fact.seq,
            )  # fmt: skip

    def _refused(self, fact: Fact, body: dict[str, Any]) -> None:
        step, missing = text(body, "step"), whole(body, "seconds") or 0
        what, name = text(body, "what"), text(body, "name")
        self.refusals.append(Refusal(step, self.number(step), what, name, missing, self.by, fact.wall, fact.seq))

    def _overridden(self, fact: Fact, body: dict[str, Any]) -> None:
        self.overrides.append(Passed(fact))


_TAKEN = frozenset(
    {
        "sitting_began", "sitting_left", "paused", "resumed", "job_done", "step_entered", "step_done", "checked",
        "measured", "stage_done", "replaced", "signed", "noted", "tally_opened", "counted", "tally_closed",
        "wait_started", "wait_over", "wait_ended", "refused", "overridden",
    }
)  # fmt: skip
