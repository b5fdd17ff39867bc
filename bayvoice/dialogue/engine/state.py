"""What the core knows between two events. The screen draws from it; only `job` is kept, folded from facts."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from bayvoice.dialogue.engine.asked import Asked
from bayvoice.dialogue.engine.effects import Say
from bayvoice.job.facts import Fact
from bayvoice.job.job import Job
from bayvoice.job.people import Person
from bayvoice.language.intents import Intent
from bayvoice.language.wording import Wording
from bayvoice.procedure.model import Step


class Mode(StrEnum):
    """Dialogue states; each is the public rule of the same name in ``grammars/<language>/states.gram``."""

    STEP = "step"
    CHECK = "check"
    MEASURE = "measure"
    CONFIRM = "confirm"
    OVERRIDE = "override"
    REASON = "reason"
    EITHER = "either"
    GAUGE = "gauge"
    FASTEN = "fasten"
    BOLT = "bolt"
    WAIT = "wait"
    AMBIENT = "ambient"
    SURE = "sure"
    WHICH = "which"
    REPLACE = "replace"
    TALLY = "tally"
    HOLD = "hold"
    TOGETHER = "together"
    LIST = "list"
    SPELL = "spell"
    EXPIRY = "expiry"
    CONSENT = "consent"
    CODE = "code"
    NOTING = "noting"
    NAMED = "named"
    PAUSED = "paused"
    FINISHED = "finished"


def mode_of(job: Job, step: Step) -> str:
    """The dialogue state in which `step` is answered, where the job stands."""
    return job.kinds[step.kind].mode(job, step)


@dataclass(frozen=True, slots=True)
class Target:
    """What a value is for.

    Attributes:
        step: id of its step.
        name: what it is called.
        unit: unit code it is judged and recorded in.
        low, high: inclusive limits in that unit, None where there is none.
        limits_from: the sums they were worked out by, "" for none.
        low_by, high_by: the readings that give the limit, in words; "" where it is the step's own.
        uncertainty: expanded uncertainty of the gauge in that unit, None where not known.
        gauge: what it is taken with, as the record names it.
        corrects: seq of the reading it replaces, or 0; instead, instead_by: that reading, and who logged it.
        nth, of: it is the `nth` of `of` repeated readings.
        place: of a fastener: its place in the order, from 1; 0 for a measurement.
    """

    step: str
    name: str
    unit: str
    low: Decimal | None
    high: Decimal | None
    limits_from: str = ""
    uncertainty: Decimal | None = None
    gauge: str = ""
    corrects: int = 0
    instead: str = ""
    instead_by: str = ""
    nth: int = 1
    of: int = 1
    place: int = 0
    low_by: str = ""
    high_by: str = ""


@dataclass(frozen=True, slots=True)
class ValueAsked:
    """A value that was heard and is being read back. `far`: it is so far off its limits that it was questioned."""

    target: Target
    value: Decimal
    said_value: Decimal
    said_unit: str
    verdict: str
    words: str
    far: bool = False

    @property
    def step(self) -> str:
        """Id of the step it belongs to."""
        return self.target.step

    @property
    def name(self) -> str:
        """What it is called."""
        return self.target.name

    @property
    def unit(self) -> str:
        """Unit code it is judged and recorded in."""
        return self.target.unit

    @property
    def said(self) -> tuple[Decimal, str]:
        """Value and unit as they were said."""
        return self.said_value, self.said_unit


@dataclass(frozen=True, slots=True)
class MeantAsked:
    """A value far off its limits; `other`, in the unit that was said, may have been meant."""

    asked: ValueAsked
    other: Decimal


@dataclass(frozen=True, slots=True)
class ReadingAsked:
    """Words that can mean several values, in the unit that was said; which one is asked."""

    target: Target
    readings: tuple[Decimal, ...]
    said_unit: str
    words: str


@dataclass(frozen=True, slots=True)
class GaugeAsked:
    """Whether the calibration of the gauge called `gauge` still runs is asked, for step `step`."""

    step: str
    gauge: str


@dataclass(frozen=True, slots=True)
class WaitAsked:
    """Something about a wait that wants a yes, or a choice between several.

    Attributes:
        what: "start", "restart", "extend", "cancel" (only while it is not clear which) or "ambient".
        step, name: the wait; for "ambient" the step and what was measured. "" while it is not clear which.
        question: what was asked, in words.
        seconds: by which the start lies back, or the minimum is to grow.
        value, unit: of "ambient".
        choices: step ids, where several waits could be meant.
    """

    what: str
    step: str
    name: str
    question: str
    seconds: int = 0
    value: Decimal = Decimal(0)
    unit: str = ""
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Alert:
    """An alert that rings until it is answered.

    Attributes:
        tone: "soon" (a maximum is near), "due" (a minimum is reached), "over" (a maximum has passed).
        rung: bursts so far.
        since: mono time of the first.
        standing: nobody answered; it rings no more and stays to be seen.
    """

    step: str
    name: str
    tone: str
    rung: int = 1
    since: float = 0.0
    standing: bool = False


@dataclass(frozen=True, slots=True)
class Talk:
    """The loudspeaker, as far as the core knows. Times are `Stamp.mono`.

    Attributes:
        queued: utterances asked for and not yet said.
        began: when the present or last stretch of speech began, ended: when it ended (None while speaking).
    """

    queued: frozenset[int] = frozenset()
    began: float = float("-inf")
    ended: float | None = float("-inf")


@dataclass(frozen=True, slots=True)
class HeardLine:
    """The last utterance, for the screen. `made`: the intent's name, or "" with `why` it was refused.

    `sure`: natural-log odds that this is what was said, None where the engine cannot tell.
    """

    words: str
    made: str
    why: str
    margin: float | None
    engine: str
    sure: float | None = None


@dataclass(frozen=True, slots=True)
class Doubt:
    """The last doubtful utterance, until something is acted on. `ended`: mono time at which it ended."""

    intent: Intent
    ended: float


@dataclass(frozen=True, slots=True)
class State:
    """Everything between two events.

    Attributes:
        unkept: facts handed to the store and not yet on disk, oldest first.
        held: (fact seq, Say): spoken only once that fact is kept.
        alerts: ringing ones first, the most urgent first; then those nobody answered.
        rang: until when the last burst sounds, mono time, and its urgency.
        mode: the dialogue state, one of `Mode` or a kind of step's own.
        people: names that may be said; roll: what is known of those who are kept in the bay's file of people.
        counting: number of the utterance that counts down to a common move, 0 if none; moved: it was counted out.
        mic: there is a microphone, so that a note can keep its sound.
        armed: (step id, mono time) of a wait that has begun and whose length is still to be asked for.
        gate: step id of the wait that refused the last "next", "" if none; "skip step" then asks to pass it.
        troubles: (part, what, mend) of every edge that is not working now.
        now: mono time of the last event.
        asked: mono time at which the present question was put; an answer that began before it answers another one.
        remarks: (uid, seq of the fact) of every remark of the foreman that is being said.
        doubt: what was heard in doubt since the last thing that was acted on.
        next_uid: number of the next utterance.
        trust: the operator has told the product to log plain values without asking for a yes.
        last_said: what was last said, for the screen.
    """

    job: Job
    wording: Wording
    people: tuple[str, ...] = ()
    roll: tuple[Person, ...] = ()
    mode: str = Mode.STEP
    pending: ValueAsked | MeantAsked | ReadingAsked | GaugeAsked | WaitAsked | Asked | None = None
    alerts: tuple[Alert, ...] = ()
    rang: tuple[float, int] = (float("-inf"), 0)
    armed: tuple[str, float] | None = None
    talk: Talk = Talk()
    unkept: tuple[Fact, ...] = ()
    held: tuple[tuple[int, Say], ...] = ()
    gate: str = ""
    troubles: tuple[tuple[str, str, str], ...] = ()
    heard: HeardLine | None = None
    doubt: Doubt | None = None
    remarks: tuple[tuple[int, int], ...] = ()
    counting: int = 0
    moved: bool = False
    mic: bool = False
    last_said: str = ""
    now: float = 0.0
    asked: float = float("-inf")
    next_uid: int = 1
    tail: float = 0.25
    left: bool = False
    trust: bool = False
