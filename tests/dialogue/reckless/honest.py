"""A willing technician with a real foreman: from wherever a walk has led, they bring the job to its end."""

from __future__ import annotations

from decimal import Decimal

from bayvoice.dialogue.engine import events as ev
from bayvoice.dialogue.engine.asked import BatchAsked, CodeAsked, OverrideAsked
from bayvoice.dialogue.engine.state import Mode, State, WaitAsked
from bayvoice.dialogue.steps.windows import needs
from bayvoice.errors import BayError
from bayvoice.job.limits import limits
from bayvoice.job.readings import IN_DATE
from bayvoice.language.numbers import to_words
from bayvoice.language.units import spoken
from bayvoice.procedure.model import Check, Fasten, Hold, Measure, Tally, Wait
from tests.dialogue.reckless.jobs import CODE, FOREMAN, ROLES, WORKERS
from tests.dialogue.reckless.world import World

SURROUNDINGS = {
    "temperature": "twenty three degrees celsius",
    "humidity": "fifty percent",
    "depth": "two millimetres",
}
PLAIN: dict[str, str] = {
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
    Mode.LIST: "later",
    Mode.SPELL: "batch four two six",
    Mode.EXPIRY: "march twenty thirty nine",
    Mode.PAUSED: "resume",
    Mode.STEP: "next",
    Mode.TOGETHER: "yes",
    Mode.NOTING: "stop",
}
MOST = 600
BACK = "back"


def finish(world: World) -> bool:
    """Whether the job comes to its end when nobody hinders it."""
    goal = ""
    for _ in range(MOST):
        if world.state.job.finished:
            return True
        words = word(world.state)
        if words == BACK or (goal and world.state.mode is not Mode.PAUSED and world.state.pending is None):
            # A reading that the present one hangs on was never taken: it is.
            goal = goal or _owed_reading(world.state)
            here = world.state.job.current
            words, goal = ("back", goal) if here and here.id != goal else (word(world.state), "")
        world.say(words, typed=True)
        if world.taking:
            stem, world.taking = world.taking, ""
            world.take(ev.NoteTaken(world.at, f"{stem}-0.wav", "0" * 64, 1.0))
        refused = [fact.body for fact in world.new_facts if fact.kind == "refused"]
        short = max((body["n"] for body in refused if body["what"] == "wait"), default=0)
        world.wait(short + 1.0 if short else 60.0 if not world.new_facts else 0.0)
        if any(body["what"] == "nobody" for body in refused) and world.state.job.measured.doubted:
            # Another gauge, whose calibration runs: asked about when the job is taken up again.
            world.die()
            world.begin(WORKERS[0])
        late = next((body["name"] for body in refused if body["what"] == "late"), "")
        if late and world.state.job.current and world.judge.here == refused[0]["step"]:
            # What ran out with no way back is done again.
            world.say(f"restart {late}", typed=True)
    return False


def _signer(role: str) -> str:
    name = next((name for name, one in ROLES.items() if one == role), FOREMAN)
    return f"sign {name.lower()}" + (f" code {CODE}" if name == FOREMAN else "")


def word(state: State, *, sign: bool = True) -> str:
    """What they say in this state; without `sign` as if no finding stopped the step."""
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
    if isinstance(pending, OverrideAsked) and pending.what in ("tally", "gauge"):
        because = "no other gauge" if pending.what == "gauge" else "searched and not found"
        return "yes" if mode is Mode.OVERRIDE else because if mode is Mode.REASON else f"allowed by {FOREMAN.lower()}"
    stands = any(where == step.id for where, _ in job.stopped)
    if sign and stands and mode not in PLAIN.keys() - {Mode.FASTEN, Mode.BOLT, Mode.REPLACE, Mode.STEP, Mode.TOGETHER}:
        return _signer("foreman")
    if mode is Mode.AMBIENT and isinstance(detail, Wait):
        now = job.clock[1] + state.now - job.clock[0]
        known = {one.name for one in job.ambient if abs(now - one.wall) < 3600}
        return next((SURROUNDINGS[name] for name in needs(detail) if name not in known), "next")
    if mode is Mode.WAIT:
        running = job.wait_of(step.id)
        again = f"restart {running.name}" if running else "go"  # one that ran before a recovery led back runs still
        return "next" if step.id in job.answered else again
    if mode is Mode.CHECK:
        if isinstance(detail, Fasten):
            return "no"
        return "yes" if not isinstance(detail, Check) or detail.want else "no"
    whole = isinstance(detail, Measure) and len(job.measured.series(step.id)) in (0, detail.times)
    runs = isinstance(detail, Measure) and job.measured.gauge_state(detail.gauge) == IN_DATE
    if mode is Mode.MEASURE and whole and not runs and step.id in job.measured.doubted - job.deviant:
        return "next"  # the foreman lets the gauge count
    if mode is Mode.BOLT and step.id in job.deviant and isinstance(detail, Fasten):
        return f"{to_words(detail.stages[job.stage(step.id)].amount)} newton metres"
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
        found = limits(detail, state.job.measured)
        low, high = found.low, found.high
    except BayError:
        owed = _owed_reading(state)
        other = next((s.detail for s in state.job.procedure.steps if s.id == owed), None)
        if not isinstance(other, Measure):
            return "next"
        if other.name not in {name for name, _, _ in state.job.measured.values}:
            return BACK
        return f"correct {other.name} {_middle(other.low, other.high, other.unit)}"
    return _middle(low, high, detail.unit)


def _owed_reading(state: State) -> str:
    """The first step before this one whose reading the limits of others may hang on."""
    earlier = state.job.procedure.steps[: state.job.step]
    return next((step.id for step in earlier if step.id in ("left-chain", "seal-drag")), "")


def _middle(low: Decimal | None, high: Decimal | None, unit: str) -> str:
    if low is None or high is None:
        # Far enough from the one limit that no gauge leaves a doubt.
        low, high = (low, 2 * low) if low is not None else (Decimal(0), high or Decimal(2))
    ends = [low, high]
    value = sum(ends, Decimal(0)) / 2
    digits = max(-int(end.as_tuple().exponent) for end in ends) + 1
    value = value.quantize(Decimal(1).scaleb(-max(digits, 0)))
    return f"{to_words(value.normalize() if value == value.to_integral() else value)} {spoken(unit, True)}"
