"""What all sections of a report go by: who is at the job and in which step, the clock, and what was overridden.

Lenient on purpose: bodies may be older than this version or damaged, and a report must still come out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from bayvoice.job.facts import Fact
from bayvoice.procedure.model import Procedure, Step

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


def affirmed(body: Body, key: str) -> bool:
    """Whether the value under `key` says yes, in whatever form a version wrote it."""
    return body.get(key) not in (False, "no", 0, None, "")


@dataclass(slots=True)
class Passed:
    """An override: a guard of a step, who let it be passed and why.

    `used`: a deviation has taken its reason.
    """

    guard: str
    step: str
    name: str
    reason: str
    who: str
    seq: int
    used: bool = False


@dataclass(slots=True)
class Common:
    """The job as far as it was gathered, the fact that is just taken included.

    Attributes:
        procedure: the one the job began with, None where it cannot be read.
        by, current: who is at the job and in which step.
        active: somebody sits at it, and it is not paused.
        first, last: number of the first fact, moment of the last one.
        ended, ended_seq: when the job was done, None while it is open, and the fact that says so.
        spent: step -> seconds in it; worked: seconds in all, pauses and absences left out.
        overrides: every guard that was passed.
        by_of, wall_of: number of a fact -> who was at the job, and when.
    """

    procedure: Procedure | None
    by: str = ""
    current: str = ""
    active: bool = False
    first: int = 0
    last: float = 0.0
    ended: float | None = None
    ended_seq: int = 0
    worked: float = 0.0
    spent: dict[str, float] = field(default_factory=dict)
    overrides: list[Passed] = field(default_factory=list)
    by_of: dict[int, str] = field(default_factory=dict)
    wall_of: dict[int, float] = field(default_factory=dict)
    _steps: dict[str, tuple[int, Step]] = field(default_factory=dict)
    _notes: dict[int, str] = field(default_factory=dict)
    _sat: list[tuple[float, str]] = field(default_factory=list)
    _handed: list[tuple[float, str]] = field(default_factory=list)

    def __post_init__(self) -> None:
        for number, step in enumerate(self.procedure.steps if self.procedure else (), 1):
            self._steps[step.id] = number, step

    def number(self, step: str) -> int:
        """The step's place in the procedure from 1, 0 where it has none."""
        return self._steps[step][0] if step in self._steps else 0

    def step(self, step: str) -> Step | None:
        """The step of the procedure, None where it has none of that id."""
        return self._steps[step][1] if step in self._steps else None

    def at(self, fact: Fact) -> tuple[str, int]:
        """The step a fact belongs to, with its place."""
        step = text(fact.body, "step")
        return step, self.number(step)

    def workers(self) -> tuple[str, ...]:
        """Who worked on the job, each once, in order."""
        people = sorted(self._sat + self._handed, key=lambda one: one[0])
        return tuple(dict.fromkeys(by for _, by in people if by))

    def done_again(self, fact: Fact) -> frozenset[str]:
        """Steps whose proofs `fact` makes void: a recovery makes what came after it be done again."""
        if fact.kind != "step_entered" or text(fact.body, "again") != "recovery":
            return frozenset()
        begin = self.number(text(fact.body, "step"))
        return frozenset(step for step, (number, _) in self._steps.items() if begin and number >= begin)

    def take(self, fact: Fact) -> None:
        """Go on by one fact."""
        body, kind = fact.body, fact.kind
        if not self.wall_of:
            self.first, self.last = fact.seq, fact.wall
        if self.active and kind != "sitting_began":
            passed = max(0.0, fact.wall - self.last)
            self.worked += passed
            self.spent[self.current] = self.spent.get(self.current, 0.0) + passed
        self.last = fact.wall
        if kind == "sitting_began":
            self.by = text(body, "by")
            self._sat.append((fact.wall, self.by))
        self.by_of[fact.seq], self.wall_of[fact.seq] = self.by, fact.wall
        match kind:
            case "sitting_began" | "resumed":
                self.active = True
            case "sitting_left" | "paused":
                self.active = False
            case "handed_over":
                leaves, takes = text(body, "leaves"), text(body, "takes")
                self._handed += [(fact.wall, leaves), (fact.wall, takes)]
                self.by = takes or self.by
            case "step_entered":
                self.current = text(body, "step")
            case "job_done":
                self.ended, self.ended_seq, self.current = fact.wall, fact.seq, ""
            case "returned":
                self.ended = None
            case "noted":
                self._notes[fact.seq] = text(body, "text")
            case "overridden":
                self.overrides.append(self._passed(fact))

    def _passed(self, fact: Fact) -> Passed:
        body, reason = fact.body, text(fact.body, "reason")
        note = whole(body, "note") or 0
        if note in self._notes:
            # A reason in free words stands in its note.
            reason = f"“{self._notes[note]}”" if self._notes[note] else f"{reason}, spoken: fact {note}"
        guard, step, name, who = (text(body, key) for key in ("what", "step", "name", "who"))
        return Passed(guard, step, name, reason, who, fact.seq)
