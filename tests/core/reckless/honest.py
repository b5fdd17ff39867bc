"""A willing technician with a real foreman: from wherever a walk has led, they bring the job to its end."""

from __future__ import annotations

from decimal import Decimal

from bayvoice.core import events as ev
from bayvoice.core.asked import BatchAsked, CodeAsked, HandOverAsked
from bayvoice.core.limits import limits
from bayvoice.core.state import Mode, OverrideAsked, State, WaitAsked
from bayvoice.core.windows import needs
from bayvoice.errors import BayError
from bayvoice.procedure.model import Check, Fasten, Hold, Measure, Tally, Wait
from bayvoice.speech.numbers import to_words
from bayvoice.speech.units import spoken
from tests.core.reckless.jobs import CODE, FOREMAN, ROLES
from tests.core.reckless.world import World

SURROUNDINGS = {
    "temperature": "twenty three degrees celsius", "humidity": "fifty percent", "depth": "two millimetres",
}  # fmt: skip
PLAIN = {
    Mode.CONFIRM: "yes", Mode.EITHER: "the first", Mode.GAUGE: "yes", Mode.OVERRIDE: "no", Mode.REASON: "no",
    Mode.NAMED: "no", Mode.FASTEN: "next", Mode.BOLT: "done", Mode.WHICH: "no", Mode.REPLACE: "yes",
    Mode.LIST: "later", Mode.SPELL: "batch four two six", Mode.EXPIRY: "march twenty thirty",
    Mode.PAUSED: "resume", Mode.STEP: "next", Mode.TOGETHER: "yes", Mode.NOTING: "stop",
}  # fmt: skip
MOST = 600


def finish(world: World) -> bool:
    """Whether the job comes to its end when nobody hinders it."""
    for _ in range(MOST):
        if world.state.job.finished:
            return True
        words = word(world.state)
        world.say(words, typed=True)
        if world.taking:
            stem, world.taking = world.taking, ""
            world.take(ev.NoteTaken(world.at, f"{stem}-0.wav", "0" * 64, 1.0))
        refused = [fact.body for fact in world.new_facts if fact.kind == "refused"]
        if any(body["what"] in ("wait", "code") for body in refused) or not world.new_facts:
            world.wait(1900.0)
        if any(body["what"] == "late" for body in refused) and world.state.mode is Mode.WAIT:
            world.say("restart the wait", typed=True)
    return False


def _signer(role: str) -> str:
    name = next((name for name, one in ROLES.items() if one == role), FOREMAN)
    return f"sign {name.lower()}" + (f" code {CODE}" if name == FOREMAN else "")


def word(state: State) -> str:
    """What they say in this state."""
    job, mode, step, pending = state.job, state.mode, state.job.current, state.pending
    if step is None:
        return "next"
    detail = step.detail
    if mode is Mode.CONSENT:
        return "yes" if isinstance(pending, BatchAsked) else "no"
    if mode is Mode.CODE and isinstance(pending, CodeAsked):
        return f"code {CODE}" if pending.who == FOREMAN else "no"
    if mode is Mode.SURE:
        return "yes" if isinstance(pending, WaitAsked) and pending.what in ("ambient", "restart") else "no"
    if mode is Mode.REASON and isinstance(pending, OverrideAsked) and pending.what == "tally":
        return "part missing"
    stands = any(where == step.id for where, _ in job.stopped)
    if stands and mode not in PLAIN.keys() - {Mode.FASTEN, Mode.BOLT, Mode.REPLACE, Mode.STEP, Mode.TOGETHER}:
        return _signer("foreman")
    if mode is Mode.AMBIENT and isinstance(detail, Wait):
        known = {one.name for one in job.ambient}
        return next((SURROUNDINGS[name] for name in needs(detail) if name not in known), "next")
    if mode is Mode.WAIT:
        return "next" if step.id in job.answered else "go"
    if mode is Mode.CHECK:
        if isinstance(detail, Fasten):
            return "no"
        return "yes" if not isinstance(detail, Check) or detail.want else "no"
    if mode is Mode.MEASURE and isinstance(detail, Measure):
        return _reading(state, detail)
    if mode is Mode.TALLY and isinstance(detail, Tally) and detail.close:
        left = job.left_inside(detail.opening)
        return f"count out {left[0][0]}" if left else "next"
    if mode is Mode.HOLD and isinstance(detail, Hold):
        return "next" if step.id in job.answered else _signer(detail.who)
    return PLAIN.get(mode, "next")


def _reading(state: State, detail: Measure) -> str:
    """A value well inside the limits; where another reading leaves no limits, that one is put right first."""
    try:
        found = limits(detail, state.job.measured.values)
        low, high = found.low, found.high
    except BayError:
        other = next((s.detail for s in state.job.procedure.steps if isinstance(s.detail, Measure)
                      and s.detail.name != detail.name and not s.detail.low_from and s.detail.low is not None), None)  # fmt: skip
        return f"correct {other.name} {_middle(other.low, other.high, other.unit)}" if other else "next"
    return _middle(low, high, detail.unit)


def _middle(low: Decimal | None, high: Decimal | None, unit: str) -> str:
    ends = [end for end in (low, high) if end is not None]
    value = sum(ends, Decimal(0)) / len(ends) if ends else Decimal(1)
    digits = max(-int(end.as_tuple().exponent) for end in ends) + (len(ends) == 2) if ends else 0
    value = value.quantize(Decimal(1).scaleb(-max(digits, 0)))
    return f"{to_words(value.normalize() if value == value.to_integral() else value)} {spoken(unit, True)}"
