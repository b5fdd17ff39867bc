"""Are the facts of a job what the procedure in its first fact asks for? Limits, windows, roles, order, steps owed.

Read from the procedure's own text and the facts alone: nothing here asks the core how it decides, so a mistake in the
core, or a record somebody wrote by hand, shows. Where a rule of the dialogue leaves several ways open (steps gone back
to, values judged anew after a correction), every one of them passes.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, Final

from bayvoice import units
from bayvoice.errors import BayError
from bayvoice.procedure.model import (
    FOREMAN,
    Check,
    Fasten,
    Hold,
    Law,
    Measure,
    Passing,
    Procedure,
    Replace,
    Step,
    Tally,
    Together,
    Wait,
)
from bayvoice.trade.cure import arrhenius_factor, doubling_factor, time_for_depth, window_by_rate

Body = Mapping[str, Any]

_NOT_THE_STEP: Final = frozenset({"wait", "late", "cancel", "batch", "bolt", "gauge"})
"""Guards whose override does not stand for what a step itself asks for."""

_SINCE_2: Final = frozenset({"step_entered", "step_done", "job_done", "deferred", "overridden", "signed"})
"""Kinds of fact that followed other rules when facts had format 1."""

_NAMED: Final = frozenset({"hold", "tally"})
"""Guards that are passed in the name of somebody who did not work on the job."""


@dataclass(slots=True)
class Asked:
    """What a procedure asks for, held against the facts of a job one by one.

    `format_`: of the job's facts; of format 1 only values, amounts and windows are held against the procedure.
    """

    procedure: Procedure
    format_: int = 1
    _steps: dict[str, Step] = field(init=False)
    _at: dict[str, int] = field(init=False)
    _line: tuple[str, ...] = field(init=False)
    _met: dict[str, bool] = field(default_factory=dict)
    _left: set[str] = field(default_factory=set)
    _passed: set[tuple[str, str]] = field(default_factory=set)
    _deferred: set[str] = field(default_factory=set)
    _stopped: set[str] = field(default_factory=set)
    _open: dict[str, str] = field(default_factory=dict)
    _hands: set[str] = field(default_factory=set)
    _windows: dict[str, tuple[int | None, int | None]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._steps = {step.id: step for step in self.procedure.steps}
        self._at = {step.id: i for i, step in enumerate(self.procedure.steps)}
        self._line = tuple(self.procedure.steps[i].id for i in self.procedure.line)

    def take(self, kind: str, body: Body, short: Callable[[str], float | None]) -> str:
        """What the next fact is that the procedure does not allow, "" where it allows it.

        short: seconds that the running wait of a step still lacks, None where it does not run or that is not known.
        """
        check = _CHECKS.get(kind)
        if check is None or (self.format_ < 2 and kind in _SINCE_2):
            return ""
        return check(self, body, short)

    # who

    def _works(self, body: Body, short: object) -> str:
        self._hands |= {_person(body[key]) for key in ("by", "leaves", "takes") if body.get(key)}
        return ""

    def _signed(self, body: Body, short: object) -> str:
        step = self._steps.get(body["step"])
        if _person(body["who"]) in self._hands:
            return "it is signed by somebody who works on this job"
        if step is not None and step.id in self._stopped and self.format_ >= 3:
            # What stops a step is decided first; the hold it may be is signed by itself.
            self._stopped.discard(step.id)
            role = str(body["role"])
            return "" if role.casefold() == FOREMAN.casefold() else f"a finding is signed as {role}, not as {FOREMAN}"
        if step is None or not isinstance(step.detail, Hold):
            return ""
        if str(body["role"]).casefold() != step.detail.who.casefold():
            return f"it is signed as {body['role']}, and the procedure wants the {step.detail.who}"
        self._met[step.id] = True
        return ""

    def _found(self, body: Body, short: object) -> str:
        if not body["to"]:
            self._stopped.add(body["step"])
        return ""

    # the way

    def _step_entered(self, body: Body, short: Callable[[str], float | None]) -> str:
        step, again = body["step"], body["again"]
        if step not in self._at:
            return ""
        if again == "recovery":
            self._redo({one.id for one in self.procedure.steps[self._at[step] :]})
        detail = self._steps[step].detail
        if again != "no" or self._steps[step].aside:
            return ""
        for earlier in self._line[: self._line.index(step)]:
            if earlier not in self._left and earlier not in self._deferred and not self._signed_later(earlier):
                return f"step {step} is begun, and {earlier}, which comes before it, was neither done nor left out"
        for armed in self._windows:
            wait = self._steps[armed].detail
            if isinstance(wait, Wait) and step in wait.gates and (why := self._held(armed, short)):
                return f"step {step} is begun {why}"
        if isinstance(detail, Hold):
            self._deferred.discard(step)
        return ""

    def _held(self, armed: str, short: Callable[[str], float | None]) -> str:
        missing = short(armed)
        if ("wait", armed) in self._passed or missing is None or missing <= 0:
            return ""
        return f"{missing:.0f} s before the wait of step {armed} allows it, and nobody passed it"

    def _signed_later(self, step: str) -> bool:
        return isinstance(self._steps[step].detail, Hold) and self._met.get(step, False)

    def _redo(self, steps: set[str]) -> None:
        self._left -= steps
        self._deferred -= steps
        # A count that is closed stays so until it is opened again.
        closing = {one.id for one in self.procedure.steps if isinstance(one.detail, Tally) and one.detail.close}
        self._met = {step: met for step, met in self._met.items() if step not in steps - closing}
        self._passed = {one for one in self._passed if one[1] not in steps}

    def _step_done(self, body: Body, short: object) -> str:
        step = self._steps.get(body["step"])
        if step is None:
            return ""
        if body["how"] == "skipped":
            if not any(where == step.id and what not in _NOT_THE_STEP for what, where in self._passed):
                return f"step {step.id} is left out, and nobody passed it"
            if isinstance(step.detail, Tally) and self.format_ < 3:
                # Early in format 2 the step that closes a count could be left out like any other.
                self._open.pop(step.detail.opening, None)
        elif (wants := _wants(step)) and not self._met.get(step.id, False):
            return f"step {step.id} is left as done, and {wants}"
        self._left.add(step.id)
        return ""

    def _deferred_(self, body: Body, short: object) -> str:
        if body["what"] == "hold":
            step = self._steps.get(body["step"])
            if step is not None and isinstance(step.detail, Hold) and not step.detail.until:
                return f"the hold point {step.id} is left for later, which the procedure does not allow"
            self._deferred.add(body["step"])
        return ""

    def _overridden(self, body: Body, short: object) -> str:
        what, step = body["what"], body["step"]
        if self.format_ >= 3 and (why := self._may_pass(what, step, body)):
            return why
        if what in _NAMED and (not body["who"] or _person(body["who"]) in self._hands):
            return "it is passed in the name of nobody, or of somebody who works on this job"
        self._passed.add((what, step))
        if what not in _NOT_THE_STEP:
            self._met[step] = True
        if what == "tally":
            self._open.pop(body["name"], None)
        return ""

    def _may_pass(self, what: str, step_id: str, body: Body) -> str:
        """Whether the guard was passed by whom its step says."""
        step = self._steps.get(step_id)
        if step is None or (what == "skip" and isinstance(step.detail, Wait) and self._served(step_id)):
            return ""
        if step.passing is Passing.NOBODY:
            return f"the guard of step {step_id} is passed, and the procedure lets nobody pass it"
        alone = not body["who"] or _person(body["who"]) in self._hands
        if step.passing is Passing.SECOND and alone:
            return f"the guard of step {step_id} is passed alone, and the procedure wants a second person"
        return ""

    def _served(self, step: str) -> bool:
        """Whether the wait of a step was begun, or its minimum passed: to leave the step out then takes nobody."""
        return self._met.get(step, False) or ("wait", step) in self._passed or ("cancel", step) in self._passed

    def _job_done(self, body: Body, short: Callable[[str], float | None]) -> str:
        for step in self._line:
            if step not in self._left and not self._signed_later(step):
                return f"the job is done, and step {step} was neither done nor left out"
        if self._open:
            return f"the job is done, and the count of {', '.join(self._open)} was never closed"
        return next((f"the job is done {why}" for armed in self._windows if (why := self._held(armed, short))), "")

    # answers

    def _checked(self, body: Body, short: object) -> str:
        step = self._steps.get(body["step"])
        if step is None or not isinstance(step.detail, Check):
            return ""
        if body["ask"] != step.detail.ask or _yes(body["want"]) != step.detail.want:
            return "it is not the question of this step, or not the answer that is in order"
        self._met[step.id] = _yes(body["answer"]) == step.detail.want
        return ""

    def _replaced(self, body: Body, short: object) -> str:
        step = self._steps.get(body["step"])
        if step is not None and isinstance(step.detail, Replace):
            if body["part"] != step.detail.part:
                return f"the part {body['part']} is renewed, and this step is for {step.detail.part}"
            self._met[step.id] = _yes(body["new"])
        return ""

    def _helped(self, body: Body, short: object) -> str:
        step = self._steps.get(body["step"])
        if step is not None and isinstance(step.detail, Together) and not (step.detail.beats or step.detail.ask):
            self._met[step.id] = True
        return ""

    def _moved(self, body: Body, short: object) -> str:
        self._met[body["step"]] = body["result"] == "yes"
        return ""

    def _tally_opened(self, body: Body, short: object) -> str:
        self._open[body["opening"]] = body["step"]
        self._met[body["step"]] = True
        for one in self.procedure.steps:
            if isinstance(one.detail, Tally) and one.detail.close and one.detail.opening == body["opening"]:
                self._met.pop(one.id, None)
        return ""

    def _tally_closed(self, body: Body, short: object) -> str:
        step = self._steps.get(body["step"])
        if step is not None and isinstance(step.detail, Tally) and step.detail.opening != body["opening"]:
            return f"the count of {body['opening']} is closed in the step that closes {step.detail.opening}"
        self._open.pop(body["opening"], None)
        self._met[body["step"]] = True
        return ""

    # values

    def _measured(self, body: Body, short: object) -> str:
        step = self._steps.get(body["step"])
        if step is None or not isinstance(step.detail, Measure):
            return f"a value is logged in step {body['step']}, which measures nothing"
        detail = step.detail
        if body["name"] != detail.name or body["unit"] != detail.unit:
            return f"{body['name']} in {body['unit']} is logged, and this step measures {detail.name} in {detail.unit}"
        if body["of"] != detail.times:
            return f"it is one of {body['of']} readings, and the procedure wants {detail.times}"
        if why := _limits(body, detail) or self._uncertainty(body, detail):
            return why
        if body["of"] == 1:
            self._judged(step.id, detail, body)
        return ""

    def _averaged(self, body: Body, short: object) -> str:
        step = self._steps.get(body["step"])
        if step is None or not isinstance(step.detail, Measure):
            return f"a mean is logged in step {body['step']}, which measures nothing"
        detail = step.detail
        spread = _number(body.get("spread_limit"))
        if body["n"] != detail.times or spread != detail.spread:
            return "it is not the mean of as many readings, or not as near to each other, as the procedure wants"
        if why := _limits(body, detail) or self._uncertainty(body, detail):
            return why
        self._judged(step.id, detail, body)
        return ""

    def _judged(self, step: str, detail: Measure, body: Body) -> None:
        # Where a limit hangs on another reading, a correction of that one judges this value anew without a fact.
        self._met[step] = body["verdict"] == "within" or bool(detail.low_from or detail.high_from)

    def _uncertainty(self, body: Body, detail: Measure) -> str:
        gauge = self.procedure.gauge(detail.gauge)
        written, wanted = _number(body["uncertainty"]), None
        if self.format_ < 2:
            return ""
        if gauge is not None and gauge.uncertainty is not None:
            wanted = units.convert(gauge.uncertainty, gauge.unit, detail.unit)
        if (written is None) != (wanted is None) or (
            written is not None and wanted is not None and abs(written - wanted) > abs(wanted) / 1_000_000
        ):
            return f"it is judged with an uncertainty of {written or 'nothing'}, and the gauge has {wanted or 'none'}"
        return ""

    # fasteners

    def _stage_done(self, body: Body, short: object) -> str:
        step = self._steps.get(body["step"])
        if step is None or not isinstance(step.detail, Fasten):
            return f"fasteners are done in step {body['step']}, which has none"
        detail, stage = step.detail, body["stage"]
        if body["stages"] != max(1, len(detail.stages)):
            return f"{body['stages']} passes are recorded, and the procedure wants {max(1, len(detail.stages))}"
        if why := _amount(body, detail, stage):
            return why
        if [str(n) for n in body["order"]] != [str(n) for n in detail.sequence]:
            return "the fasteners are not in the order of the procedure"
        if stage >= body["stages"] and not detail.last_round:
            self._met[step.id] = True
        return ""

    def _fastened(self, body: Body, short: object) -> str:
        step = self._steps.get(body["step"])
        if step is None or not isinstance(step.detail, Fasten):
            return f"a fastener is done in step {body['step']}, which has none"
        detail, place = step.detail, body["place"]
        if not 1 <= place <= detail.count or detail.sequence[place - 1] != body["number"]:
            return f"fastener {body['number']} is not number {place} in the order of the procedure"
        return _amount(body, detail, body["stage"]) or _reached(body, detail)

    def _round_done(self, body: Body, short: object) -> str:
        self._met[body["step"]] = not _yes(body["turned"])
        return ""

    # waits

    def _wait_started(self, body: Body, short: object) -> str:
        step = self._steps.get(body["step"])
        if step is None or not isinstance(step.detail, Wait):
            return f"a wait begins in step {body['step']}, which has none"
        detail = step.detail
        if body["wait"] != detail.wait.value:
            return f"the wait is recorded as {body['wait']}, and the procedure says {detail.wait.value}"
        for side, what in (("at_least", "minimum"), ("at_most", "maximum")):
            if why := _window(body[side], detail, side, what):
                return why
        self._windows[step.id] = body["at_least"], body["at_most"]
        self._passed.discard(("wait", step.id))
        self._met[step.id] = True
        return ""

    def _wait_changed(self, body: Body, short: object) -> str:
        least, most = self._windows.get(body["step"], (None, None))
        new = body["at_least"]
        if body["at_most"] != most:
            return f"the maximum of the wait is changed from {most} to {body['at_most']} s, which nothing allows"
        if new is None or new < (least or 0) or (most is not None and new > most):
            return f"the minimum of the wait is changed from {least} to {new} s; it may only grow, up to its maximum"
        self._windows[body["step"]] = new, most
        return ""

    def _wait_ended(self, body: Body, short: object) -> str:
        self._windows.pop(body["step"], None)
        return ""


_Check = Callable[[Asked, Body, Callable[[str], float | None]], str]

_CHECKS: Final[dict[str, _Check]] = {
    "sitting_began": Asked._works,
    "handed_over": Asked._works,
    "signed": Asked._signed,
    "found": Asked._found,
    "step_entered": Asked._step_entered,
    "step_done": Asked._step_done,
    "deferred": Asked._deferred_,
    "overridden": Asked._overridden,
    "job_done": Asked._job_done,
    "checked": Asked._checked,
    "replaced": Asked._replaced,
    "helped": Asked._helped,
    "moved_together": Asked._moved,
    "tally_opened": Asked._tally_opened,
    "tally_closed": Asked._tally_closed,
    "measured": Asked._measured,
    "averaged": Asked._averaged,
    "stage_done": Asked._stage_done,
    "fastened": Asked._fastened,
    "round_done": Asked._round_done,
    "wait_started": Asked._wait_started,
    "wait_changed": Asked._wait_changed,
    "wait_ended": Asked._wait_ended,
}


def _wants(step: Step) -> str:
    """What must be in the record before `step` is left as done, said as missing; "" where nothing must."""
    detail = step.detail
    if isinstance(detail, Check):
        return "its question was not answered in order and nobody passed it"
    if isinstance(detail, Measure):
        return f"no value of {detail.name} is in order and nobody passed it"
    if isinstance(detail, Fasten):
        return "not all its passes are recorded"
    if isinstance(detail, Replace):
        return "no new part is recorded and nobody passed it"
    if isinstance(detail, Tally):
        return f"the count of {detail.opening} was not {'closed' if detail.close else 'opened'}"
    if isinstance(detail, Hold):
        return "nobody signed and nobody passed it"
    if isinstance(detail, Wait):
        return "its wait was never begun and nobody passed it"
    return "nothing says that anybody helped" if isinstance(detail, Together) else ""


def _person(value: Any) -> str:
    """Somebody as a fact names them: by token, or by name in a fact of format 1."""
    return f"person {value.get('person')}" if isinstance(value, dict) else str(value).casefold().strip()


def _yes(value: Any) -> bool:
    return value in (True, "yes", 1)


def _number(value: Any) -> Decimal | None:
    return Decimal(value) if value not in (None, "") else None


def _limits(body: Body, detail: Measure) -> str:
    """A limit that is written is the procedure's; one that is worked out does not go beyond what is written."""
    sides = ("low", detail.low, detail.low_from, 1), ("high", detail.high, detail.high_from, -1)
    for side, written, sum_, sign in sides:
        found = _number(body[side])
        if not sum_ and found != written:
            return f"it is judged by {side} {body[side] or 'none'}, and the procedure says {written or 'none'}"
        if sum_ and found is None:
            return f"it has no {side} limit, and the procedure works one out"
        if sum_ and found is not None and written is not None and (found - written) * sign < 0:
            return f"it is judged by {side} {body[side]}, beyond the {written} that the procedure never leaves"
    return ""


def _amount(body: Body, detail: Fasten, stage: int) -> str:
    wanted = detail.stages[stage - 1] if 1 <= stage <= len(detail.stages) else None
    if (_number(body["amount"]), body["unit"]) != ((wanted.amount, wanted.unit) if wanted else (None, "")):
        said = f"{wanted.amount} {wanted.unit}" if wanted else "no figure"
        return f"pass {stage} is recorded with {body['amount']} {body['unit']}, and the procedure says {said}"
    return ""


def _reached(body: Body, detail: Fasten) -> str:
    """The verdict on a fastener's value, where it was said in the unit of its pass."""
    stage = detail.stages[body["stage"] - 1] if 1 <= body["stage"] <= len(detail.stages) else None
    band = detail.band(stage) if stage else None
    value = _number(body["achieved"])
    if stage is None or band is None or value is None or body["achieved_unit"] != stage.unit:
        return ""
    found = "low" if value < band[0] else "high" if value > band[1] else "within"
    return "" if body["verdict"] == found else f"{value} {stage.unit} is {found}, not {body['verdict'] or 'unjudged'}"


def _window(found: int | None, detail: Wait, side: str, what: str) -> str:
    """A limit that is written is the procedure's; one from a table or a law lies inside of what they can give."""
    written: int | None = getattr(detail, side)
    if (found is None) != (written is None):
        return f"the wait has {'no' if found is None else 'a'} {what}, and the procedure says otherwise"
    if found is None or written is None:
        return ""
    low, high = written, written
    if detail.rows:
        times = [time for row in detail.rows if (time := getattr(row, side)) is not None]
        low, high = min(times), max(times)
    elif detail.law is not None:
        ends = _by_law(detail.law, written, side)
        if not ends:
            return ""
        low, high = min(ends), max(ends)
    if low <= found <= high:
        return ""
    span = f"{low} s" if low == high else f"{low} to {high} s"
    return f"the {what} of the wait is {found} s, and the procedure gives {span}"


def _by_law(law: Law, seconds: int, side: str) -> tuple[int, ...]:
    """The time a law gives at both ends of where it holds, none where it gives none."""
    try:
        if law.model == "depth":
            depths = (law.low, law.high) if law.depth is None else (law.depth,)
            return tuple(
                time_for_depth(max(depth, Decimal("0.001")), law.reference, Decimal(seconds), law.high).seconds
                for depth in depths
            )
        found = []
        for at in (law.low, law.high):
            reference, span, now = float(law.reference), float(law.span), float(at)
            if law.model == "doubling":
                factor = doubling_factor(reference, now, 2.0, span)
            else:
                factor = arrhenius_factor(span * 1000, reference, now)
            which = "longer" if side == "at_least" else "shorter"
            found.append(window_by_rate(Decimal(seconds), factor, at, (law.low, law.high), which).seconds)  # type: ignore[arg-type]
        return tuple(found)
    except BayError:
        return ()
