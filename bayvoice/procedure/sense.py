"""Whether figures and orders make sense: limits a unit can have, bolts that go back as they came, last off first on.

What is likely in a unit stands in the table of units. Outside of it a wrong unit or a slipped point is likelier than
the value.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bayvoice.procedure.mistakes import quoted
from bayvoice.procedure.model import Fasten, Kind, Measure, Procedure, Step
from bayvoice.procedure.remark import Remark
from bayvoice.units import UNITS, possible

SPAN: Final = {code: unit.likely for code, unit in UNITS.items() if unit.likely}
"""Unit -> least and most a limit in it is likely to be, for every unit that can be said."""
_RATIO: Final = 100
"""Limits further apart than this look like a slipped point."""


def about(step: Step) -> Iterator[Remark]:
    """What is unlikely in the figures of one step."""
    detail = step.detail
    if isinstance(detail, Measure) and detail.unit in UNITS:
        yield from _limits(step.id, detail)
        yield from _floating(step.id, detail)
    elif isinstance(detail, Fasten):
        for stage in detail.stages:
            low, high = SPAN[stage.unit]
            if not low <= stage.amount <= high:
                yield Remark(step.id, "stages", f"{stage.amount:f} {UNITS[stage.unit].symbol} is beyond hand tools",
                             "check the figure and its unit")  # fmt: skip


def _limits(step: str, measure: Measure) -> Iterator[Remark]:
    low, high = SPAN[measure.unit]
    symbol = UNITS[measure.unit].symbol
    for key, value in (("low", measure.low), ("high", measure.high)):
        if value is None:
            continue
        if not possible(value, measure.unit):
            yield Remark(step, key, f"{value:f} {symbol} is below absolute zero", "correct the figure or its unit")
        elif not low <= value <= high:
            yield Remark(step, key, f"{value:f} {symbol} is not what is measured in a bay",
                         "check the figure and its unit")  # fmt: skip
    if measure.low is not None and measure.high is not None and 0 < measure.low * _RATIO < measure.high:
        yield Remark(step, "high", f"the limits are {measure.high / measure.low:.0f} times apart",
                     "look for a slipped point")  # fmt: skip


def _floating(step: str, measure: Measure) -> Iterator[Remark]:
    """A limit that hangs on another reading alone goes wherever that reading goes."""
    for side, own, text in (("low", measure.low, measure.low_from), ("high", measure.high, measure.high_from)):
        if text and own is None:
            what = f"the limit hangs on another reading alone ({text}), and moves with it without end"
            mend = f"add {side} = …, the {'least' if side == 'low' else 'most'} there may be whatever that reading is"
            yield Remark(step, f"{side}_from", what, mend)


def about_order(procedure: Procedure) -> Iterator[Remark]:
    """What does not go back in the reverse order, or not as it came off."""
    yield from _bolts(procedure)
    yield from _last_off_first_on(procedure)


def _bolts(procedure: Procedure) -> Iterator[Remark]:
    loosened: dict[tuple[str, str], tuple[Step, Fasten]] = {}
    for at in procedure.of_kind(Kind.FASTEN):
        step = procedure.steps[at]
        detail = step.detail
        if not isinstance(detail, Fasten):
            continue
        key = (step.aside, detail.name.lower())
        if detail.undo:
            loosened[key] = (step, detail)
            continue
        before, other = loosened.pop(key, (None, None))
        if before is None or other is None:
            continue
        if other.count != detail.count:
            yield Remark(step.id, "count", f"{detail.count} x {detail.name} go back, {quoted(before.id)} took out "
                         f"{other.count}", "correct one of them, or call them by different names")  # fmt: skip
        elif other.sequence != tuple(reversed(detail.sequence)):
            yield Remark(step.id, "order", f"the order is not the reverse of that in {quoted(before.id)}",
                         "write the same order in both: loosening goes through it backwards")  # fmt: skip


def _last_off_first_on(procedure: Procedure) -> Iterator[Remark]:
    returning = {(step.aside, thing.lower()) for step in procedure.steps for thing in step.puts_back}
    off: dict[str, list[str]] = {}
    for step in procedure.steps:
        if not step.off and not step.puts_back:
            continue
        stack = off.setdefault(step.aside, [])
        # What one step puts back goes back in any order.
        here = {thing.lower() for thing in step.puts_back}
        for thing in here & set(stack):
            later = [each for each in stack[stack.index(thing) + 1 :] if each not in here]
            # A step of a worked-out way back stands where the procedure says: last off first on, or by its own choice.
            if later and not step.origin:
                what = f"{quoted(thing)} goes back before {quoted(later[0])}, which was taken off after it"
                yield Remark(step.id, "puts_back", what,
                             "put back last off first, or take them off in the other order")  # fmt: skip
        stack[:] = [each for each in stack if each not in here]
        stack += [thing.lower() for thing in step.off if (step.aside, thing.lower()) in returning]
