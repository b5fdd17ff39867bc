"""A technician who does what is asked: the one module that answers any dialogue state.

What is to be said follows from the state alone (`answer`), and from who signs and with what code (`Ways`). `Plan` adds
the readings of a job and what happens on its way (a first answer that is not in order, a finding, a count); `finish`
brings a job to its end from wherever it stands.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from bayvoice.dialogue.engine import events as ev
from bayvoice.dialogue.engine.asked import CodeAsked, HandOverAsked, OverrideAsked
from bayvoice.dialogue.engine.events import Stamp
from bayvoice.dialogue.engine.state import Mode, State, WaitAsked
from bayvoice.dialogue.flow.waits import gating
from bayvoice.dialogue.steps.read import Read
from bayvoice.dialogue.steps.waiting import FRESH_S
from bayvoice.dialogue.steps.windows import needs
from bayvoice.errors import BayError
from bayvoice.job.limits import limits
from bayvoice.job.readings import IN_DATE
from bayvoice.language.numbers import to_words
from bayvoice.language.units import spoken
from bayvoice.procedure.model import Check, Fasten, Hold, Measure, Procedure, Step, Tally, Together, Wait
from tests.stage import Stage

PLAIN: Mapping[str, str] = {
    Mode.CONFIRM: "yes",
    Mode.EITHER: "the first",
    Mode.GAUGE: "yes",
    Mode.OVERRIDE: "no",
    Mode.REASON: "no",
    Mode.NAMED: "no",
    Mode.FASTEN: "next",
    Mode.BOLT: "done",
    Mode.WHICH: "no",
    Mode.REPLACE: "yes",
    "choose_step": "number two",
    "read": "reads kilo four zero",
    Mode.SPELL: "batch four two six",
    Mode.EXPIRY: "march twenty thirty nine",
    Mode.PAUSED: "resume",
    Mode.STEP: "next",
    Mode.NOTING: "stop",
}
SURROUNDINGS = {
    "temperature": "twenty three degrees celsius",
    "humidity": "fifty percent",
    "depth": "two millimetres",
}
OF_STEPS = (
    *(Mode.STEP, Mode.CHECK, Mode.MEASURE, Mode.FASTEN, Mode.BOLT),
    *(Mode.WAIT, Mode.REPLACE, Mode.TALLY, Mode.HOLD, Mode.TOGETHER),
)
"""Dialogue states in which the step itself is worked, and not a question on the way answered."""
UNSTOPPED = (*OF_STEPS, Mode.AMBIENT)
"""Dialogue states in which a finding that stops the step can be signed for."""
BACK = "back"
"""The answer where a reading that the present one hangs on was never taken."""
MOST = 600


@dataclass(frozen=True)
class Ways:
    """How somebody willing answers where there is a choice.

    Attributes:
        roles: name -> role of the people of the bay; who is the first of a role signs for it.
        code: words of the foreman's code, "" where none is kept.
        listed: what is said to each thing of the list before the job.
        patient: says nothing while a wait bars the way, instead of asking to go on.
    """

    roles: Mapping[str, str] = field(default_factory=lambda: {"Ruth": "foreman"})
    code: str = ""
    listed: str = "later"
    patient: bool = False

    def who(self, role: str) -> str:
        """The name of whoever signs as `role`; the foreman where nobody has it."""
        return next((name for name, one in self.roles.items() if one == role), self.foreman)

    @property
    def foreman(self) -> str:
        """Who signs where no other role is asked for."""
        return next(name for name, one in self.roles.items() if one == "foreman")

    def sign(self, role: str) -> str:
        """How a step is signed."""
        name = self.who(role)
        return f"sign {name.lower()}" + (f" code {self.code}" if self.code and name == self.foreman else "")


def answer(state: State, now: Stamp, ways: Ways, *, sign: bool = True) -> str | None:
    """What they say in this state, None where there is nothing to do but wait.

    sign: sign for a finding that stops the step; else as if none did.
    """
    mode, step, pending = state.mode, state.job.current, state.pending
    if mode is Mode.FINISHED or step is None:
        return None if ways.patient else "next"
    if mode is Mode.CONSENT:
        return "no" if isinstance(pending, HandOverAsked) else "yes"
    if mode is Mode.CODE and isinstance(pending, CodeAsked):
        return f"code {ways.code}" if pending.who == ways.foreman else "no"
    if mode is Mode.SURE:
        return "yes" if isinstance(pending, WaitAsked) and pending.what in ("ambient", "restart") else "no"
    if mode is Mode.LIST:
        return ways.listed
    if isinstance(pending, OverrideAsked) and pending.what in ("tally", "gauge"):
        because = "no other gauge" if pending.what == "gauge" else "searched and not found"
        if mode == Mode.OVERRIDE:
            return "yes"
        return because if mode == Mode.REASON else f"allowed by {ways.who('foreman').lower()}"
    if sign and mode in UNSTOPPED and any(where == step.id for where, _ in state.job.stopped):
        return ways.sign("foreman")
    if mode is Mode.AMBIENT and isinstance(step.detail, Wait):
        known = {one.name for one in state.job.ambient if abs(now.wall - one.wall) <= FRESH_S}
        return next((SURROUNDINGS[name] for name in needs(step.detail) if name not in known), "next")
    words = _at_step(state, step, ways) if mode in OF_STEPS else PLAIN.get(mode, "next")
    if ways.patient and mode in OF_STEPS and words == "next" and _barred(state, step, now):
        return None
    return words


def _at_step(state: State, step: Step, ways: Ways) -> str | None:
    """What is said to the step in hand."""
    mode, job, detail = state.mode, state.job, step.detail
    answered = step.id in job.answered and step.id not in job.deviant
    if mode is Mode.BOLT and step.id in job.deviant and isinstance(detail, Fasten):
        return f"{to_words(detail.stages[job.stage(step.id)].amount)} newton metres"
    if mode is Mode.CHECK:
        if isinstance(detail, Fasten):
            return "no"  # in a round after the last stage none turned
        return "next" if answered else "yes" if not isinstance(detail, Check) or detail.want else "no"
    if mode is Mode.WAIT:
        running = job.wait_of(step.id)
        if step.id in job.answered or (ways.patient and not (isinstance(detail, Wait) and detail.on_go)):
            return "next"
        # One that ran before a recovery led back runs still.
        return f"restart {running.name}" if running else "go"
    if mode is Mode.MEASURE and isinstance(detail, Read):
        return f"twelve {spoken(detail.unit, True)}"
    if mode is Mode.MEASURE and isinstance(detail, Measure):
        return "next" if answered and ways.patient else _measured(state, step, detail)
    if mode is Mode.TALLY and isinstance(detail, Tally):
        left = job.left_inside(detail.opening) if detail.close else ()
        if not left:
            return "next"
        # Counts go to the opening that was opened last.
        return f"count out {left[0][0]}" if job.openings[-1] == detail.opening else "skip step"
    if mode is Mode.HOLD and isinstance(detail, Hold):
        return "next" if step.id in job.answered else ways.sign(detail.who)
    if mode is Mode.TOGETHER and isinstance(detail, Together):
        return "next" if answered else None if ways.patient and state.counting else "yes"
    return PLAIN.get(mode, "next")


def _measured(state: State, step: Step, detail: Measure) -> str:
    """A value well inside the limits; where another reading leaves no limits, that one is put right first."""
    measured = state.job.measured
    whole = len(measured.series(step.id)) in (0, detail.times)
    if whole and measured.gauge_state(detail.gauge) != IN_DATE and step.id in measured.doubted - state.job.deviant:
        return "next"  # the foreman lets the gauge count
    try:
        found = limits(detail, measured)
        return middle(found.low, found.high, detail.unit)
    except BayError:
        owed = owed_reading(state)
        other = next((s.detail for s in state.job.procedure.steps if s.id == owed), None)
        if not isinstance(other, Measure):
            return "next"
        if other.name not in {name for name, _, _ in measured.values}:
            return BACK
        return f"correct {other.name} {middle(other.low, other.high, other.unit)}"


def owed_reading(state: State) -> str:
    """The first step before this one whose reading the limits of others may hang on."""
    earlier = state.job.procedure.steps[: state.job.step]
    return next((step.id for step in earlier if step.id in ("left-chain", "seal-drag")), "")


def middle(low: Decimal | None, high: Decimal | None, unit: str) -> str:
    """A reading well inside the limits, as it is said."""
    if low is None or high is None:
        # Far enough from the one limit that no gauge leaves a doubt.
        low, high = (low, low + (abs(low) or 2)) if low is not None else (Decimal(0), high or Decimal(2))
    value = (low + high) / 2
    digits = max(-int(end.as_tuple().exponent) for end in (low, high)) + 1
    value = value.quantize(Decimal(1).scaleb(-max(digits, 0)))
    return f"{to_words(value.normalize() if value == value.to_integral() else value)} {spoken(unit, True)}"


def _barred(state: State, step: Step, now: Stamp) -> bool:
    """Whether a wait that runs bars the step that comes next."""
    job = state.job
    nxt = job.procedure.after(job.step)
    if step.aside and nxt is None:
        origins = [d.origin for d in job.detours]
        nxt = origins[-1] if origins else None
    return nxt is not None and gating(job, job.procedure.steps[nxt], now.mono) is not None


def finish(stage: Stage, ways: Ways, hear: Callable[[str], None], again: Callable[[], None]) -> bool:
    """Whether the job comes to its end when nobody hinders it.

    Args:
        hear: says words on the stage; again: the process ends and somebody begins to work anew.
    """
    goal = ""
    for _ in range(MOST):
        if stage.state.job.finished:
            return True
        words = answer(stage.state, stage.at, ways) or "next"
        if words == BACK or (goal and stage.state.mode is not Mode.PAUSED and stage.state.pending is None):
            # A reading that the present one hangs on was never taken: it is.
            goal = goal or owed_reading(stage.state)
            here = stage.state.job.current
            words, goal = (
                (BACK, goal) if here and here.id != goal else (answer(stage.state, stage.at, ways) or "next", "")
            )
        stage.forget()
        hear(words)
        if stage.taking:
            stem, stage.taking = stage.taking, ""
            stage.take(ev.NoteTaken(stage.at, f"{stem}-0.wav", "0" * 64, 1.0))
        refused = [fact.body for fact in stage.new_facts if fact.kind == "refused"]
        short = max((body["n"] for body in refused if body["what"] == "wait"), default=0)
        stage.wait(short + 1.0 if short else 60.0 if not stage.new_facts else 0.0)
        if any(body["what"] == "nobody" for body in refused) and stage.state.job.measured.doubted:
            # Another gauge, whose calibration runs: asked about when the job is taken up again.
            again()
        late = next((body["name"] for body in refused if body["what"] == "late"), "")
        current = stage.state.job.current
        if late and current and current.id == refused[0]["step"]:
            # What ran out with no way back is done again.
            hear(f"restart {late}")
    return False


@dataclass
class Plan:
    """What a job needs that nobody can guess.

    Attributes:
        said: step id -> what is said there the first times, one after the other, before the usual answers.
        values: step id -> a reading in order, in words.
        ways: who signs, and how.
    """

    said: dict[str, list[str]] = field(default_factory=dict)
    values: dict[str, str] = field(default_factory=dict)
    ways: Ways = field(default_factory=lambda: Ways(listed="have it", patient=True))
    _left: dict[str, deque[str]] = field(default_factory=dict, repr=False)

    def words(self, state: State, now: Stamp) -> str | None:
        """What the technician says now; None where there is nothing to do but wait."""
        mode, step = state.mode, state.job.current
        if step is not None and mode in OF_STEPS:
            left = self._left.setdefault(step.id, deque(self.said.get(step.id, ())))
            if left:
                return left.popleft()
            open_ = step.id not in state.job.answered or step.id in state.job.deviant
            if mode is Mode.MEASURE and step.id in self.values and open_:
                return self.values[step.id]
        return answer(state, now, self.ways)


def plan_of(procedure: Procedure) -> Plan:
    """A fresh plan for a procedure that ships: each goes off the line at least once, if it can."""
    match procedure.id:
        case "k40-transfer-cover":
            return Plan(said={"count-open": ["count in rag two", "next"]})
        case "hub-end-float":
            return Plan(
                said={
                    "end-float": [
                        "zero point two one millimetres",
                        "zero point two two millimetres",
                        "zero point two one millimetres",
                    ],
                    "pin-seen": ["later"],
                },
                values={"turning-force": "eleven newtons", "seal-drag": "nine newtons"},
            )
        case "lift-chain":
            return Plan(
                said={
                    "lower": ["no"],
                    "same-height": ["nine millimetres"],
                    "anchors-seen": ["later"],
                    "left-clip": ["found loose anchor"],
                },
                values={
                    "left-chain": "one point one percent",
                    "right-chain": "one point two percent",
                    "same-height": "three millimetres",
                },
            )
        case "cab-glass":
            return Plan(said={"flange-clean": ["no"], "water-test": ["no"]})
        case "balancer-phase":
            return Plan(
                said={
                    "voltage-gone": ["nine volts"],
                    "count-open": ["count in timing pin", "count in rag", "next"],
                    "top-dead-centre": ["no"],
                    "phase-found": ["found chips in the window"],
                },
                values={"phase-found": "minus two point five degrees", "phase-set": "zero point one degrees"},
            )
    raise AssertionError(procedure.id)
