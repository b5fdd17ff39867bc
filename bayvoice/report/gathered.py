"""The lines of a report as they are gathered, fact by fact. What each kind of fact adds is in the modules `fold_…`.

Lenient on purpose: bodies may be older than this version or damaged, and a report must still come out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from bayvoice.job.facts import Fact
from bayvoice.procedure.model import Procedure
from bayvoice.report.lines import (
    AlertEnd,
    Ambient,
    BoltDone,
    Branch,
    Check,
    Deferred,
    Gap,
    GaugeUsed,
    Handover,
    Helped,
    Measurement,
    Note,
    PartFitted,
    Reckoned,
    Refusal,
    Round,
    Search,
    Signature,
    Sitting,
    StageDone,
    StepLine,
    Supply,
    TallyLine,
    WaitRun,
    Word,
)

Body = Mapping[str, Any]


def text(body: Body, key: str) -> str:
    """The string under `key`; booleans as yes and no, what is absent as ""."""
    value = body.get(key)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else str(value)


def whole(body: Body, key: str) -> int | None:
    """The integer under `key`, None where there is none."""
    value = body.get(key)
    return value if isinstance(value, int) and not isinstance(value, bool) else None


def strings(body: Body, key: str) -> tuple[str, ...]:
    """The strings of the list under `key`; a text stands for its words."""
    value = body.get(key)
    return tuple(str(item) for item in value) if isinstance(value, list) else tuple(text(body, key).split())


@dataclass(slots=True)
class Passed:
    """An override, and whether another deviation has taken its reason."""

    fact: Fact
    used: bool = False


@dataclass(slots=True)
class Gathered:
    """Everything found so far.

    Attributes:
        by, current: who is at the job and in which step; step and moment of the last fact.
        last_of: (what, step) -> its last line: what a later fact undoes or puts right.
        spent: step -> seconds in it; worked: seconds in all, pauses and absences left out.
    """

    procedure: Procedure | None
    by: str = ""
    current: str = ""
    steps: dict[str, StepLine] = field(default_factory=dict)
    sittings: list[Sitting] = field(default_factory=list)
    handovers: list[Handover] = field(default_factory=list)
    gaps: list[Gap] = field(default_factory=list)
    measurements: dict[tuple[str, str], Measurement] = field(default_factory=dict)
    gauges: list[GaugeUsed] = field(default_factory=list)
    gauge_of: dict[str, GaugeUsed] = field(default_factory=dict)
    checks: list[Check] = field(default_factory=list)
    check_of: dict[tuple[str, str], Check] = field(default_factory=dict)
    stages: list[StageDone] = field(default_factory=list)
    stage_of: dict[str, StageDone] = field(default_factory=dict)
    bolts: list[BoltDone] = field(default_factory=list)
    bolt_of: dict[tuple[str, int, int], BoltDone] = field(default_factory=dict)
    rounds: list[Round] = field(default_factory=list)
    waits: list[WaitRun] = field(default_factory=list)
    alerts: list[AlertEnd] = field(default_factory=list)
    ambient: list[Ambient] = field(default_factory=list)
    refusals: list[Refusal] = field(default_factory=list)
    parts: list[PartFitted] = field(default_factory=list)
    part_of: dict[str, PartFitted] = field(default_factory=dict)
    supplies: dict[str, Supply] = field(default_factory=dict)
    tally: dict[tuple[str, str], TallyLine] = field(default_factory=dict)
    openings: dict[str, bool] = field(default_factory=dict)
    opening_step: dict[str, tuple[str, int]] = field(default_factory=dict)
    searches: list[Search] = field(default_factory=list)
    signatures: list[Signature] = field(default_factory=list)
    signature_of: dict[str, Signature] = field(default_factory=dict)
    deferred: list[Deferred] = field(default_factory=list)
    helped: list[Helped] = field(default_factory=list)
    branches: list[Branch] = field(default_factory=list)
    reckoned: list[Reckoned] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)
    overrides: list[Passed] = field(default_factory=list)
    words: list[Word] = field(default_factory=list)
    by_of: dict[int, str] = field(default_factory=dict)
    wall_of: dict[int, float] = field(default_factory=dict)
    spent: dict[str, float] = field(default_factory=dict)
    worked: float = 0.0
    active: bool = False
    ended: float | None = None
    ended_seq: int = 0

    def __post_init__(self) -> None:
        for number, step in enumerate(self.procedure.steps if self.procedure else (), 1):
            self.steps[step.id] = StepLine(
                number, step.id, step.kind.value, step.say, None, None, 0, "", "", 0, takes=step.takes, aside=step.aside
            )

    def number(self, step: str) -> int:
        """The step's place in the procedure from 1, 0 where it has none."""
        return self.steps[step].number if step in self.steps else 0

    def workers(self) -> tuple[str, ...]:
        """Who worked on the job, each once, in order."""
        takers = [(handover.wall, who) for handover in self.handovers for who in (handover.leaves, handover.takes)]
        people = sorted([(sitting.began, sitting.by) for sitting in self.sittings] + takers, key=lambda one: one[0])
        return tuple(dict.fromkeys(by for _, by in people if by))

    def at(self, fact: Fact) -> tuple[str, int]:
        """The step a fact belongs to, with its place."""
        step = text(fact.body, "step")
        return step, self.number(step)
