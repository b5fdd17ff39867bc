"""Does what the facts of a job say follow from their own values? Every verdict and every sum, worked out again.

The chain proves that a fact is as it was written; this proves that what was written makes sense. It knows nothing of
how the product came to its verdicts: limits come from the fact itself, arithmetic from `bayvoice.trade`. That they are
also the limits, windows and steps of the job's procedure is held by `bayvoice.report.asked`.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from typing import Any, Final

from bayvoice.errors import BayError
from bayvoice.job.facts import KINDS, upward
from bayvoice.procedure.model import Procedure
from bayvoice.report.asked import Asked
from bayvoice.trade.days import day_of, is_day
from bayvoice.trade.statistics import summary
from bayvoice.trade.verdict import judge

Body = Mapping[str, Any]

SLACK_S: Final = 2.0
"""Seconds by which the two clocks of a computer, and whole seconds rounded down, may differ."""

_OWN_CLOCK: Final = frozenset({"sitting_began", "signed_off", "returned"})
"""Kinds of fact that may come from another clock than the fact before: another sitting's, or the foreman's."""


@dataclass(slots=True)
class Reading:
    """A measured value that stands; `nth` of its set."""

    seq: int
    nth: int
    value: Decimal


@dataclass(slots=True)
class Waiting:
    """A wait that runs: when it began by the wall clock, its limits now, and the sitting it began in."""

    wall: float
    at_least: int | None
    at_most: int | None
    ago: int
    sitting: int


@dataclass(slots=True)
class Proof:
    """The facts of one job, taken one by one.

    Args:
        job: its name.
        procedure_of: reads a procedure's text, None where it cannot be read.
        keys: kinds of fact that are known -> the keys of their bodies.

    Attributes:
        unread: the job's procedure could not be read, so that nothing was held against it.
    """

    job: str
    procedure_of: Callable[[str], Procedure | None]
    keys: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: KINDS)
    unread: bool = False
    _asked: Asked | None = None
    _steps: frozenset[str] | None = None
    _count: int = 0
    _wall: float = 0.0
    _sitting: int = 0
    _clock_moved: bool = False
    _entered: set[str] = field(default_factory=set)
    _readings: dict[tuple[str, str], list[Reading]] = field(default_factory=dict)
    _all_readings: dict[int, tuple[str, str]] = field(default_factory=dict)
    _inside: dict[tuple[str, str], int] = field(default_factory=dict)
    _overridden: set[tuple[str, str]] = field(default_factory=set)
    _waits: dict[str, Waiting] = field(default_factory=dict)
    _stages: dict[str, int] = field(default_factory=dict)
    _places: dict[str, dict[int, int]] = field(default_factory=dict)
    _returned: set[int] = field(default_factory=set)

    def take(self, seq: int, wall: float, kind: str, body: Body) -> tuple[str, str]:
        """What does not hold of the next fact: (kind of fault, why), ("", "") where all does.

        The kind of fault is "order", "time", "sum" or "procedure".
        """
        self._count += 1
        backward = self._wall - wall
        self._wall = wall
        if (self._count == 1) != (kind == "job_began"):
            return "order", "a job begins with its first fact, and only with that"
        keys = self.keys.get(kind)
        if keys is None:
            # A later version's fact: the chain covers it, its meaning is not known here.
            return "", ""
        body = upward(kind, body)
        if missing := sorted(set(keys) - body.keys()):
            return "sum", f"a fact of this kind says {', '.join(missing)}, and this one does not"
        if kind == "clock_moved":
            self._clock_moved = True
        elif backward > SLACK_S and kind not in _OWN_CLOCK and not self._clock_moved:
            return "time", f"it is dated {backward:.0f} s before the fact that it follows"
        step = body.get("step")
        if step and self._steps is not None and step not in self._steps:
            return "order", f"it names the step {str(step)[:60]}, which the procedure of this job does not have"
        check = _CHECKS.get(kind)
        try:
            if check is not None and (found := check(self, seq, wall, body)):
                return found
            if self._asked is None:
                return "", ""
            why = self._asked.take(kind, body, lambda armed: self._short(armed, wall))
            return ("procedure", why) if why else ("", "")
        except (InvalidOperation, ValueError, TypeError, KeyError, BayError):
            return "sum", "its values cannot be read"

    # who and where

    def _job_began(self, seq: int, wall: float, body: Body) -> tuple[str, str] | None:
        if body["job"] != self.job:
            return "order", f"it began the job {str(body['job'])[:60]}, another one"
        text = str(body["text"])
        if body["sha256"] and hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest() != body["sha256"]:
            return "sum", "the procedure it holds is not the one whose fingerprint it holds"
        procedure = self.procedure_of(text)
        self.unread = procedure is None
        if procedure is not None:
            self._asked = Asked(procedure, body["format"] if isinstance(body["format"], int) else 1)
            self._steps = frozenset(step.id for step in procedure.steps)
        return None

    def _sitting_began(self, seq: int, wall: float, body: Body) -> None:
        self._sitting += 1
        self._clock_moved = False

    def _step_entered(self, seq: int, wall: float, body: Body) -> None:
        self._entered.add(body["step"])

    def _step_done(self, seq: int, wall: float, body: Body) -> tuple[str, str] | None:
        if body["step"] not in self._entered:
            return "order", f"it leaves the step {body['step']}, which was never begun"
        return None

    # values

    def _measured(self, seq: int, wall: float, body: Body) -> tuple[str, str] | None:
        value, key = Decimal(body["value"]), (body["step"], body["name"])
        if body["said_unit"] == body["unit"] and Decimal(body["said_value"]) != value:
            return "sum", f"{body['said_value']} was said and {body['value']} is logged, in the same unit"
        if fault := _verdict(value, body):
            return fault
        if body["corrects"] and self._all_readings.get(body["corrects"]) != key:
            return "order", f"it replaces fact {body['corrects']}, which is no earlier reading of it"
        self._all_readings[seq] = key
        nth, standing = body["nth"], self._readings.setdefault(key, [])
        # A correction takes the place of one reading; any other one begins or goes on with its set.
        standing[:] = [r for r in standing if (r.seq != body["corrects"] if body["corrects"] else r.nth < nth)]
        standing.append(Reading(seq, nth, value))
        return None

    def _averaged(self, seq: int, wall: float, body: Body) -> tuple[str, str] | None:
        readings = [r.value for r in self._readings.get((body["step"], body["name"]), ())]
        value, n = Decimal(body["value"]), body["n"]
        if len(readings) != n:
            return "sum", f"it is the mean of {n} readings, and {len(readings)} stand"
        found = summary(readings)
        if not _same(value, found.mean):
            return "sum", f"the mean of the readings is {found.mean:f}, not {body['value']}"
        if not _same(Decimal(body["spread"]), found.spread):
            return "sum", f"the readings are {found.spread:f} apart, not {body['spread']}"
        if body["deviation"] and not _same(Decimal(body["deviation"]), found.sd or Decimal(0)):
            return "sum", f"the standard deviation of the readings is {found.sd}, not {body['deviation']}"
        limit = body.get("spread_limit")
        if limit and (found.spread > Decimal(limit)) != (body["verdict"] == "scattered"):
            return "sum", f"with {found.spread:f} between the readings and {limit} allowed it is not {body['verdict']}"
        return None if body["verdict"] == "scattered" else _verdict(value, body)

    def _gauge_used(self, seq: int, wall: float, body: Body) -> tuple[str, str] | None:
        return _dated(wall, body["due"], body["state"])

    def _batch(self, seq: int, wall: float, body: Body) -> tuple[str, str] | None:
        return _dated(wall, body["expires"], body["state"])

    # fasteners

    def _stage_done(self, seq: int, wall: float, body: Body) -> tuple[str, str] | None:
        step, stage = body["step"], body["stage"]
        if not 1 <= stage <= body["stages"] or stage > self._stages.get(step, 0) + 1:
            return "sum", f"pass {stage} of {body['stages']} does not follow pass {self._stages.get(step, 0)}"
        self._stages[step] = stage
        self._places.pop(step, None)
        return None

    def _fastened(self, seq: int, wall: float, body: Body) -> tuple[str, str] | None:
        taken = self._places.setdefault(body["step"], {})
        number, place = body["number"], body["place"]
        if place == 1:
            taken.clear()
        if any(other == number and at != place for at, other in taken.items()):
            return "sum", f"fastener {number} was taken twice in one pass"
        taken[place] = number
        return None

    # the tally

    def _counted(self, seq: int, wall: float, body: Body) -> tuple[str, str] | None:
        key = body["opening"], body["thing"]
        inside = self._inside.get(key, 0) + body["change"]
        self._inside[key] = body["inside"]
        if inside != body["inside"] or inside < 0:
            return "sum", f"after this count {inside} of {body['thing']} are inside, not {body['inside']}"
        return None

    def _tally_closed(self, seq: int, wall: float, body: Body) -> tuple[str, str] | None:
        opening = body["opening"]
        left = [f"{n} {thing}" for (where, thing), n in self._inside.items() if where == opening and n]
        self._inside = {key: n for key, n in self._inside.items() if key[0] != opening}
        if left and not self._passed("tally", body["step"]):
            return "sum", f"the count of {opening} was closed with {', '.join(left)} inside and nobody passed it"
        return None

    def _overridden_(self, seq: int, wall: float, body: Body) -> None:
        self._overridden.add((body["what"], body["step"]))

    def _passed(self, what: str, step: str) -> bool:
        return (what, step) in self._overridden

    # waits

    def _wait_started(self, seq: int, wall: float, body: Body) -> None:
        self._waits[body["step"]] = Waiting(wall, body["at_least"], body["at_most"], body["ago"], self._sitting)

    def _wait_changed(self, seq: int, wall: float, body: Body) -> None:
        if wait := self._waits.get(body["step"]):
            wait.at_least, wait.at_most = body["at_least"], body["at_most"]

    def _short(self, step: str, wall: float) -> float | None:
        """Seconds the running wait of `step` lacks at `wall`, None where it is not running or no clock can tell."""
        wait = self._waits.get(step)
        if wait is None or wait.at_least is None or wait.sitting != self._sitting or self._clock_moved:
            return None
        return wait.at_least - (wall - wait.wall + wait.ago) - SLACK_S

    def _wait_ended(self, seq: int, wall: float, body: Body) -> tuple[str, str] | None:
        wait = self._waits.pop(body["step"], None)
        if wait is None:
            return "order", "it ends a wait that was never begun"
        took, verdict = body["seconds"], body["verdict"]
        if verdict == "early" and (wait.at_least is None or took > wait.at_least):
            return "sum", f"after {took} s of at least {wait.at_least} s it was not early"
        # Whole seconds are rounded down, so at the very limit both verdicts are right.
        if verdict == "late" and (wait.at_most is None or took < wait.at_most):
            return "sum", f"after {took} s of at most {wait.at_most} s it was not late"
        if verdict == "in_window" and (took + 1 < (wait.at_least or 0) or took > (wait.at_most or took)):
            return "sum", f"{took} s are not in its window, {wait.at_least} to {wait.at_most} s"
        if wait.sitting == self._sitting and not self._clock_moved:
            lasted = wall - wait.wall + wait.ago
            if abs(lasted - took) > SLACK_S + 0.001 * lasted:
                return "time", f"by the times of its facts the wait lasted {lasted:.0f} s, not {took}"
        return None

    # the foreman

    def _returned_(self, seq: int, wall: float, body: Body) -> None:
        self._returned.add(seq)

    def _remark_heard(self, seq: int, wall: float, body: Body) -> tuple[str, str] | None:
        if body["seq"] not in self._returned:
            return "order", f"fact {body['seq']} is no remark that could be heard"
        return None


_Check = Callable[[Proof, int, float, Body], tuple[str, str] | None]

_CHECKS: Final[dict[str, _Check]] = {
    "job_began": Proof._job_began,
    "sitting_began": Proof._sitting_began,
    "step_entered": Proof._step_entered,
    "step_done": Proof._step_done,
    "measured": Proof._measured,
    "averaged": Proof._averaged,
    "gauge_used": Proof._gauge_used,
    "batch": Proof._batch,
    "stage_done": Proof._stage_done,
    "fastened": Proof._fastened,
    "counted": Proof._counted,
    "tally_closed": Proof._tally_closed,
    "overridden": Proof._overridden_,
    "wait_started": Proof._wait_started,
    "wait_changed": Proof._wait_changed,
    "wait_ended": Proof._wait_ended,
    "returned": Proof._returned_,
    "remark_heard": Proof._remark_heard,
}


def _verdict(value: Decimal, body: Body) -> tuple[str, str] | None:
    low, high, guard = (Decimal(body[key]) if body[key] else None for key in ("low", "high", "uncertainty"))
    found = judge(value, low, high, guard)
    if found != body["verdict"]:
        return "sum", f"{body['value']} {body['unit']} against its limits is {found}, not {body['verdict']}"
    return None


def _dated(wall: float, until: str, state: str) -> tuple[str, str] | None:
    """A day ("2027-03-01") or month ("2027-03") until which something may be used, against the day it was used.

    The day may have been another one where the workshop is: a day either way is not held against it.
    """
    if state not in ("in_date", "out_of_date") or not is_day(until if len(until) > 7 else f"{until}-01"):
        return None
    # True, True: past it even a day earlier; False, False: not past it even a day later.
    past = {day_of(wall + away)[: len(until)] > until for away in (-_DAY_S, _DAY_S)}
    if past == {state == "in_date"}:
        return "sum", f"until {until} it was not {state.replace('_', ' ')}"
    return None


_DAY_S: Final = 86_400.0


def _same(written: Decimal, exact: Decimal) -> bool:
    """Whether `written` is `exact` rounded to the places it is written with."""
    half = Decimal(1).scaleb(int(written.as_tuple().exponent)) / 2
    return abs(written - exact) <= half
