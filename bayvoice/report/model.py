"""What a report says, worked out once and rendered as text, HTML or JSON. Frozen data.

Every float is a moment, in seconds since 1970-01-01 UTC. Durations are whole seconds (int). Readings and limits are
the strings of the record. `number` is the step's place in the procedure from 1, 0 where the step is not in it.
`seq` is the number of the fact a line comes from.
"""

from __future__ import annotations

from dataclasses import dataclass

from bayvoice.core.effects import Fact


@dataclass(frozen=True, slots=True)
class Header:
    """What, who, when. `state`: "open" or "done"; `ended` None while open; `worked` without pauses and absences."""

    job: str
    title: str
    machine: str
    procedure: str
    sha256: str
    people: tuple[str, ...]
    began: float
    ended: float | None
    last: float
    worked: int
    state: str
    steps_done: int
    steps_total: int


@dataclass(frozen=True, slots=True)
class Deviation:
    """Something that is not as the procedure wants it.

    `kind`: "override", "value", "skipped", "undone", "check", "wait", "alert", "unsigned", "part", "fasten", "tally",
    "trouble", "procedure". `reason`: what the technician gave, "" if none was asked. `seq`: the fact that shows it.
    """

    kind: str
    step: str
    number: int
    text: str
    reason: str
    by: str
    wall: float
    seq: int


@dataclass(frozen=True, slots=True)
class Reading:
    """One logged value. `verdict`: "within", "low" or "high". `said_*`: as it was spoken, before conversion."""

    seq: int
    value: str
    unit: str
    said_value: str
    said_unit: str
    verdict: str
    by: str
    wall: float


@dataclass(frozen=True, slots=True)
class Earlier:
    """A reading that no longer stands, with who replaced it and when."""

    reading: Reading
    by: str
    wall: float


@dataclass(frozen=True, slots=True)
class Measurement:
    """One measurement of one step. `low`/`high`: inclusive limits, "" where there is none."""

    step: str
    number: int
    name: str
    unit: str
    low: str
    high: str
    gauge: str
    standing: Reading
    earlier: tuple[Earlier, ...]


@dataclass(frozen=True, slots=True)
class Check:
    """One answer to one question."""

    step: str
    number: int
    ask: str
    answer: str
    want: str
    by: str
    wall: float
    seq: int


@dataclass(frozen=True, slots=True)
class StageDone:
    """One pass over all fasteners of a step; `amount` "" for a plain tightening or loosening."""

    step: str
    number: int
    name: str
    stage: int
    stages: int
    amount: str
    unit: str
    order: tuple[str, ...]
    by: str
    wall: float
    seq: int


@dataclass(frozen=True, slots=True)
class WaitRun:
    """One run of a wait. `verdict`: "in window", "early", "late", "dropped", or "" where its end is not recorded."""

    step: str
    number: int
    name: str
    kind: str
    at_least: int | None
    at_most: int | None
    began: float
    ended: float | None
    over: float | None
    seconds: int | None
    verdict: str
    seq: int


@dataclass(frozen=True, slots=True)
class Refusal:
    """The way on was asked for and refused: for a wait, how many seconds were missing; for a tally, how many things."""

    step: str
    number: int
    what: str
    name: str
    missing: int
    by: str
    wall: float
    seq: int


@dataclass(frozen=True, slots=True)
class PartFitted:
    step: str
    number: int
    name: str
    part_number: str
    new: bool
    by: str
    wall: float
    seq: int


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
class Signature:
    step: str
    number: int
    look: str
    who: str
    role: str
    wall: float
    seq: int


@dataclass(frozen=True, slots=True)
class Note:
    step: str
    number: int
    text: str
    by: str
    wall: float
    seq: int


@dataclass(frozen=True, slots=True)
class StepLine:
    """One step. `how`: "done", "skipped", or "" while it is not; `visits`: how often it was entered."""

    number: int
    step: str
    kind: str
    say: str
    entered: float | None
    left: float | None
    seconds: int
    how: str
    reason: str
    visits: int
    seq: int = 0


@dataclass(frozen=True, slots=True)
class Sitting:
    """`left` None: it ended without a farewell (power cut, kill), or goes on; `last`: its last fact."""

    by: str
    product: str
    began: float
    last: float
    left: float | None
    why: str


@dataclass(frozen=True, slots=True)
class Chain:
    """Whether the record is as it was written. `ok` None: not looked at. Else fact `seq` does not hold, see `why`."""

    ok: bool | None = None
    seq: int = 0
    why: str = ""


@dataclass(frozen=True, slots=True)
class JobReport:
    """Everything the foreman reads. `result`: "in order" or "deviations: n"."""

    header: Header
    result: str
    in_order: bool
    chain: Chain
    deviations: tuple[Deviation, ...]
    measurements: tuple[Measurement, ...]
    checks: tuple[Check, ...]
    stages: tuple[StageDone, ...]
    waits: tuple[WaitRun, ...]
    refusals: tuple[Refusal, ...]
    parts: tuple[PartFitted, ...]
    tally: tuple[TallyLine, ...]
    signatures: tuple[Signature, ...]
    notes: tuple[Note, ...]
    steps: tuple[StepLine, ...]
    sittings: tuple[Sitting, ...]
    facts: tuple[Fact, ...]
