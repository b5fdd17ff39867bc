"""The lines of a report, one class a kind of line. Frozen data.

Every float is a moment, in seconds since 1970-01-01 UTC. Durations are whole seconds (int). Readings and limits are
the strings of the record. `number` is the step's place in the procedure from 1, 0 where the step is not in it. `by` is
who was at the job, `seq` the number of the fact a line comes from.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Reading:
    """One logged value.

    Attributes:
        verdict: "within", "low", "high", or "close": too close to a limit for the gauge to tell.
        said_value, said_unit: as it was spoken, before conversion.
        nth, of: it is reading `nth` of a set of `of`.
        uncertainty: expanded uncertainty the verdict reckons with, "" where none is known.
        trusted: logged without being read back.
    """

    seq: int
    value: str
    unit: str
    said_value: str
    said_unit: str
    verdict: str
    by: str
    wall: float
    nth: int = 1
    of: int = 1
    uncertainty: str = ""
    trusted: bool = False


@dataclass(frozen=True, slots=True)
class Average:
    """The mean of repeated readings, which the step is judged by. `verdict` "scattered": they are too far apart."""

    value: str
    n: int
    spread: str
    deviation: str
    spread_limit: str
    uncertainty: str
    verdict: str
    by: str
    wall: float
    seq: int


@dataclass(frozen=True, slots=True)
class GaugeUsed:
    """The gauge of a step. `state`: "in date", "out of date", "not known"; `due`: last day of its calibration."""

    step: str
    number: int
    gauge: str
    gauge_number: str
    due: str
    uncertainty: str
    unit: str
    state: str
    by: str
    wall: float
    seq: int


@dataclass(frozen=True, slots=True)
class Earlier:
    """A reading that no longer stands, with who replaced it and when."""

    reading: Reading
    by: str
    wall: float


@dataclass(frozen=True, slots=True)
class Measurement:
    """One measurement of one step.

    Attributes:
        low, high: inclusive limits, "" where there is none.
        limits_from: the sum they came from, with the values used, "" for none.
        gauge: as it is named in the record.
        standing: the reading that counts; with an average, the last one.
        readings: all readings that stand, one unless they are repeated.
        average: what it is judged by, where readings are repeated.
        earlier: readings that were replaced.
    """

    step: str
    number: int
    name: str
    unit: str
    low: str
    high: str
    gauge: str
    standing: Reading
    earlier: tuple[Earlier, ...]
    readings: tuple[Reading, ...] = ()
    average: Average | None = None
    limits_from: str = ""

    @property
    def value(self) -> str:
        """What is judged."""
        return self.average.value if self.average else self.standing.value

    @property
    def verdict(self) -> str:
        """The verdict that counts."""
        return self.average.verdict if self.average else self.standing.verdict

    @property
    def uncertainty(self) -> str:
        """The expanded uncertainty the verdict reckons with."""
        return self.average.uncertainty if self.average else self.standing.uncertainty

    @property
    def seq(self) -> int:
        """The fact that counts."""
        return self.average.seq if self.average else self.standing.seq


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
class BoltDone:
    """One fastener of one pass. `achieved` "" where "done" was said; `verdict` "" where nothing was judged."""

    step: str
    number: int
    stage: int
    bolt: int
    place: int
    amount: str
    unit: str
    achieved: str
    achieved_unit: str
    verdict: str
    by: str
    wall: float
    seq: int


@dataclass(frozen=True, slots=True)
class Round:
    """A round at the final amount. `turned`: a fastener still turned."""

    step: str
    number: int
    round: int
    turned: bool
    by: str
    wall: float
    seq: int


@dataclass(frozen=True, slots=True)
class WaitChange:
    """The limits of a running wait were changed, with the reason that was given."""

    at_least: int | None
    at_most: int | None
    reason: str
    by: str
    wall: float
    seq: int


@dataclass(frozen=True, slots=True)
class WaitRun:
    """One run of a wait.

    Attributes:
        at_least, at_most: its limits at the end, in seconds.
        verdict: "in window", "early", "late", "dropped", "cancelled", "restarted", "" where its end is not recorded.
        ago: seconds by which its start was said to lie back.
        model, given: how its length was worked out and from what values; "fixed" and "" for the procedure's own.
        reason: why it was cancelled or restarted.
        changes: what was changed while it ran.
    """

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
    ago: int = 0
    model: str = "fixed"
    given: str = ""
    reason: str = ""
    changes: tuple[WaitChange, ...] = ()


@dataclass(frozen=True, slots=True)
class AlertEnd:
    """How an alert ended: `how` "silenced" (after `rung` bursts) or "unanswered"."""

    step: str
    number: int
    name: str
    tone: str
    how: str
    rung: int
    by: str
    wall: float
    seq: int


@dataclass(frozen=True, slots=True)
class Refusal:
    """The way on was asked for and refused: `missing` of what `of` says, "seconds", "things", "tries", "" for none."""

    step: str
    number: int
    what: str
    name: str
    missing: int
    by: str
    wall: float
    seq: int
    of: str = ""


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
class Supply:
    """A part or consumable of the list: ticked off before the job, and its batch. `have` None: not gone through.

    `state` of the batch: "in date", "out of date", "not said", "" where none was asked for.
    """

    item: str
    name: str
    part_number: str
    quantity: str
    have: bool | None
    batch: str = ""
    expires: str = ""
    state: str = ""
    step: str = ""
    number: int = 0
    seq: int = 0


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
class Search:
    """Somebody searched an opening before its count was passed, or a foreign part (`thing`) was found in it."""

    step: str
    number: int
    opening: str
    who: str
    how: str
    thing: str
    wall: float
    seq: int


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


@dataclass(frozen=True, slots=True)
class Deferred:
    """Something left open for later. `what`: "hold" or "parts"; `settled`: when it was done after all."""

    step: str
    number: int
    what: str
    settled: float | None
    by: str
    wall: float
    seq: int


@dataclass(frozen=True, slots=True)
class Note:
    """`sound`: file name of the recording, "" for a typed one; `sha256` of it; `seconds` long."""

    step: str
    number: int
    text: str
    by: str
    wall: float
    seq: int
    sound: str = ""
    sha256: str = ""
    seconds: int = 0


@dataclass(frozen=True, slots=True)
class Branch:
    """A finding (`what`), and where the job went from there or why else it left the line.

    `why`: "finding", "check", "measure"; `to`: the step it went to, "" for none; `turn` of `turns` allowed.
    """

    step: str
    number: int
    what: str
    why: str
    to: str
    to_number: int
    turn: int
    turns: int
    by: str
    wall: float
    seq: int


@dataclass(frozen=True, slots=True)
class Helped:
    """People who took part in a step; `result` of the common move, "" where none was asked."""

    step: str
    number: int
    people: int
    result: str
    by: str
    wall: float
    seq: int


@dataclass(frozen=True, slots=True)
class Reckoned:
    """A sum asked for by voice. Nothing is judged by it."""

    step: str
    number: int
    what: str
    given: str
    result: str
    by: str
    wall: float
    seq: int


@dataclass(frozen=True, slots=True)
class Ambient:
    """A value of the surroundings. `source`: "spoken", "typed", "command line"."""

    step: str
    number: int
    name: str
    value: str
    unit: str
    source: str
    by: str
    wall: float
    seq: int


@dataclass(frozen=True, slots=True)
class Handover:
    """The job went from one to the other; `told`: what was said to be open."""

    leaves: str
    takes: str
    told: tuple[str, ...]
    wall: float
    seq: int


@dataclass(frozen=True, slots=True)
class Word:
    """The foreman's word on the whole job. `kind`: "signed_off" or "returned"; `heard`: when a remark was heard."""

    kind: str
    who: str
    remark: str
    heard: float | None
    wall: float
    seq: int


@dataclass(frozen=True, slots=True)
class Gap:
    """A stretch without any entry. `kind`: "broke off" (a sitting that ended without a farewell) or "silent"."""

    kind: str
    by: str
    step: str
    number: int
    began: float
    ended: float
    seq: int


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


@dataclass(frozen=True, slots=True)
class Sitting:
    """`left` None: it ended without a farewell (power cut, kill), or goes on; `last`: its last fact."""

    by: str
    product: str
    began: float
    last: float
    left: float | None
    why: str
