"""A technician who does what is asked, for runs of whole jobs by words or by sound.

What is to be said follows from the dialogue state alone; `Plan` adds the readings of a job and what happens on its way
(a first answer that is not in order, a finding, a count).
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from decimal import Decimal

from bayvoice.dialogue.engine.events import Stamp
from bayvoice.dialogue.engine.state import Mode, State, ValueAsked
from bayvoice.dialogue.flow.waits import gating
from bayvoice.dialogue.steps.waiting import FRESH_S
from bayvoice.dialogue.steps.windows import needs
from bayvoice.language.numbers import to_words
from bayvoice.language.units import spoken
from bayvoice.procedure.model import Check, Fasten, Hold, Measure, Procedure, Step, Tally, Together, Wait

AT_ONCE: dict[str, str] = {
    Mode.CONFIRM: "yes", Mode.CONSENT: "yes", Mode.REPLACE: "yes", Mode.STEP: "next", Mode.FASTEN: "next",
    Mode.SPELL: "batch four two six", Mode.EXPIRY: "march twenty twenty nine", Mode.LIST: "have it",
    Mode.PAUSED: "resume", Mode.SURE: "yes", Mode.GAUGE: "yes",
}  # fmt: skip

SURROUNDINGS = {"temperature": "twenty three degrees celsius", "humidity": "fifty percent"}
_OF_STEPS = (Mode.REPLACE, Mode.STEP, Mode.FASTEN)


@dataclass
class Plan:
    """What a job needs that nobody can guess.

    Attributes:
        signs: what is said at a hold point ("sign ruth").
        said: step id -> what is said there the first times, one after the other, before the usual answers.
        values: step id -> a reading in order, in words.
    """

    signs: str = "sign ruth"
    said: dict[str, list[str]] = field(default_factory=dict)
    values: dict[str, str] = field(default_factory=dict)
    _left: dict[str, deque[str]] = field(default_factory=dict, repr=False)

    def words(self, state: State, now: Stamp) -> str | None:
        """What the technician says now; None where there is nothing to do but wait."""
        mode, step = state.mode, state.job.current
        if mode is Mode.FINISHED or step is None:
            return None
        if mode in AT_ONCE and mode not in _OF_STEPS:
            return AT_ONCE[mode]
        if mode is Mode.AMBIENT and isinstance(step.detail, Wait):
            fresh = (one for one in state.job.ambient if now.wall - one.wall <= FRESH_S)
            known = {one.name for one in fresh}
            return next(SURROUNDINGS[name] for name in needs(step.detail) if name not in known)
        left = self._left.setdefault(step.id, deque(self.said.get(step.id, ())))
        if left:
            return left.popleft()
        if mode in AT_ONCE:
            return None if self._barred(state, step, now) and mode is not Mode.REPLACE else AT_ONCE[mode]
        return self._of_kind(state, step, now)

    def _of_kind(self, state: State, step: Step, now: Stamp) -> str | None:
        detail, job = step.detail, state.job
        if isinstance(detail, Wait):
            if step.id not in job.answered and job.wait_of(step.id) is None and detail.on_go:
                return "start the clock"
            return None if self._barred(state, step, now) else "next"
        if step.id in job.answered and step.id not in job.deviant:
            return None if self._barred(state, step, now) else "next"
        if isinstance(detail, Check):
            return "yes" if detail.want else "no"
        if isinstance(detail, Fasten):
            return "no"  # in a round after the last stage none turned
        if isinstance(detail, Measure):
            return self.values.get(step.id) or middle(detail)
        if isinstance(detail, Tally):
            inside = job.left_inside(detail.opening) if detail.close else ()
            return f"count out {inside[0][0]} {to_words(Decimal(inside[0][1]))}" if inside else "next"
        if isinstance(detail, Hold):
            return self.signs
        if isinstance(detail, Together):
            return "yes" if not state.counting else None
        raise AssertionError(f"nothing to say in {state.mode} at {step.id}")

    @staticmethod
    def _barred(state: State, step: Step, now: Stamp) -> bool:
        """Whether a wait that runs bars the step that comes next."""
        job = state.job
        nxt = job.procedure.after(job.step)
        if step.aside and nxt is None:
            origins = [d.origin for d in job.detours]
            nxt = origins[-1] if origins else None
        return nxt is not None and gating(job, job.procedure.steps[nxt], now.mono) is not None


def middle(detail: Measure) -> str:
    """A reading well inside the limits, as it is said."""
    ends = [end for end in (detail.low, detail.high) if end is not None]
    assert ends, f"{detail.name}: no limits to be between"
    value = sum(ends, Decimal(0)) / 2 if len(ends) == 2 else ends[0]
    digits = max(-int(end.as_tuple().exponent) for end in ends)
    value = value.quantize(Decimal(1).scaleb(-digits - (len(ends) == 2)))
    return f"{to_words(value.normalize() if value == value.to_integral() else value)} {spoken(detail.unit)}"


def asked_value(state: State) -> ValueAsked | None:
    """The value that is being read back."""
    return state.pending if isinstance(state.pending, ValueAsked) else None


def plan_of(procedure: Procedure) -> Plan:
    """A fresh plan for a procedure that ships: each goes off the line at least once, if it can."""
    match procedure.id:
        case "k40-transfer-cover":
            return Plan(said={"count-open": ["count in rag two", "next"]})
        case "hub-end-float":
            return Plan(
                said={
                    "end-float": [
                        "zero point two one millimetres", "zero point two two millimetres",
                        "zero point two one millimetres",
                    ],
                    "pin-seen": ["later"],
                },
                values={"turning-force": "eleven newtons", "seal-drag": "nine newtons"},
            )  # fmt: skip
        case "lift-chain":
            return Plan(
                said={"lower": ["no"], "same-height": ["nine millimetres"], "anchors-seen": ["later"],
                      "left-clip": ["found loose anchor"]},
                values={"left-chain": "one point one percent", "right-chain": "one point two percent",
                        "same-height": "three millimetres"},
            )  # fmt: skip
        case "cab-glass":
            return Plan(said={"flange-clean": ["no"], "water-test": ["no"]})
        case "balancer-phase":
            return Plan(
                said={"voltage-gone": ["nine volts"], "count-open": ["count in timing pin", "count in rag", "next"],
                      "top-dead-centre": ["no"], "phase-found": ["found chips in the window"]},
                values={"phase-found": "minus two point five degrees", "phase-set": "zero point one degrees"},
            )  # fmt: skip
    raise AssertionError(procedure.id)
