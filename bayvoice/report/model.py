"""What a report says, worked out once and rendered as text, HTML, JSON or CSV. Frozen data; see `report.lines`."""

from __future__ import annotations

from dataclasses import dataclass

from bayvoice.job.facts import Fact
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

    `kind`: one of `bayvoice.report.deviations.ORDER`; `level`: how grave that is, one of `LEVELS` there. `reason`: what
    the technician gave, "" if none was asked. `seq`: the fact that shows it.
    """

    kind: str
    step: str
    number: int
    text: str
    reason: str
    by: str
    wall: float
    seq: int
    level: str = ""


@dataclass(frozen=True, slots=True)
class Chain:
    """Whether the record is as it was written. `ok` None: not looked at. Else fact `seq` does not hold, see `why`.

    Attributes:
        means: what a fault means for the reader.
        sealed: when the job was closed with a signature, "" where it was not.
        key: the public key it was signed with, hex.
        removed: what retention has taken away, one sentence each.
        head: the last fact's own seal.
    """

    ok: bool | None = None
    seq: int = 0
    why: str = ""
    means: str = ""
    sealed: str = ""
    key: str = ""
    removed: tuple[str, ...] = ()
    head: str = ""


@dataclass(frozen=True, slots=True)
class JobReport:
    """Everything the foreman reads.

    Attributes:
        heading: the line it is headed with, the same wherever the job is shown (`bayvoice.report.heading`).
        result: "in order", "deviations: n", or "does not hold" where the audit fails.
        in_order: nothing deviates and the audit does not fail.
        deviations: the worst first.
    """

    header: Header
    result: str
    in_order: bool
    chain: Chain
    words: tuple[Word, ...]
    deviations: tuple[Deviation, ...]
    measurements: tuple[Measurement, ...]
    gauges: tuple[GaugeUsed, ...]
    checks: tuple[Check, ...]
    stages: tuple[StageDone, ...]
    bolts: tuple[BoltDone, ...]
    rounds: tuple[Round, ...]
    waits: tuple[WaitRun, ...]
    alerts: tuple[AlertEnd, ...]
    ambient: tuple[Ambient, ...]
    refusals: tuple[Refusal, ...]
    parts: tuple[PartFitted, ...]
    supplies: tuple[Supply, ...]
    tally: tuple[TallyLine, ...]
    searches: tuple[Search, ...]
    signatures: tuple[Signature, ...]
    deferred: tuple[Deferred, ...]
    helped: tuple[Helped, ...]
    branches: tuple[Branch, ...]
    reckoned: tuple[Reckoned, ...]
    notes: tuple[Note, ...]
    steps: tuple[StepLine, ...]
    sittings: tuple[Sitting, ...]
    handovers: tuple[Handover, ...]
    gaps: tuple[Gap, ...]
    facts: tuple[Fact, ...]
    heading: str = ""
