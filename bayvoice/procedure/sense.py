"""Whether figures and orders make sense: limits a unit can have, last off first on.

What is likely in a unit stands in the table of units. Outside of it a wrong unit or a slipped point is likelier than
the value.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from bayvoice.procedure.mistakes import quoted
from bayvoice.procedure.model import Procedure
from bayvoice.procedure.remark import Remark
from bayvoice.units import UNITS

SPAN: Final = {code: unit.likely for code, unit in UNITS.items() if unit.likely}
"""Unit -> least and most a limit in it is likely to be, for every unit that can be said."""
RATIO: Final = 100
"""Limits further apart than this look like a slipped point."""


def about_order(procedure: Procedure) -> Iterator[Remark]:
    """What does not go back last off first on."""
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
                mend = "put back last off first, or take them off in the other order"
                yield Remark(step.id, "puts_back", what, mend)
        stack[:] = [each for each in stack if each not in here]
        stack += [thing.lower() for thing in step.off if (step.aside, thing.lower()) in returning]
