"""What every section of a report and every renderer knows of: the head, a deviation, the chain, a step. Frozen data.

Every float is a moment, in seconds since 1970-01-01 UTC. Durations are whole seconds (int). Readings and limits are
the strings of the record. `number` is the step's place in the procedure from 1, 0 where the step is not in it. `by` is
who was at the job, `seq` the number of the fact a line comes from.
"""

from __future__ import annotations

from dataclasses import dataclass


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

    `kind`: mostly one of `bayvoice.report.base.judging.ORDER`; `level`: how grave that is, one of `LEVELS` there.
    `reason`: what the technician gave, "" if none was asked. `seq`: the fact that shows it.
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
class StepLine:
    """One step. `how`: "done", "skipped", or "" while it is not; `visits`: how often it was entered.

    `takes`: seconds the procedure gives it, None where it does not say. `aside`: it is no step of the line.
    """

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
    takes: int | None = None
    aside: str = ""
