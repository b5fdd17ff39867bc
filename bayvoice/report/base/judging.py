"""Making a deviation, how grave each kind is, and finding the reason that was given for it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from bayvoice.report.base.common import Common
from bayvoice.report.base.model import Deviation, StepLine
from bayvoice.report.base.words import GUARDS, one_line

LEVELS: Final = {
    "left inside": ("tally",),
    "guard passed": ("unsigned", "undone", "skipped", "override", "finding", "part", "gauge", "batch"),
    "value": ("value", "close", "check", "fasten"),
    "wait": ("wait", "alert"),
    "other": ("procedure", "gap", "trouble"),
}
"""How grave a deviation is, the worst first, with the kinds of each level."""

ORDER: Final = tuple(kind for kinds in LEVELS.values() for kind in kinds)
"""Kinds of deviation, the order in which a report lists them."""

LEVEL_OF: Final = {kind: level for level, kinds in LEVELS.items() for kind in kinds}

NAMED: Final = frozenset({"skip", "hold", "tally"})
"""Guards whose deviation names itself who let them be passed."""


def deviation(
    common: Common, kind: str, step: str, what: str, seq: int, reason: str = "", level: str = "other"
) -> Deviation:
    """A deviation with who was at the job and when. `level`: how grave one of a kind is that is not in `ORDER`."""
    by, wall = common.by_of.get(seq, ""), common.wall_of.get(seq, 0.0)
    return Deviation(kind, step, common.number(step), what, reason, by, wall, seq, LEVEL_OF.get(kind, level))


def undone(common: Common, line: StepLine, lacks: str, guard: str = "undone") -> Deviation:
    """A step that was left as done although `lacks` ("no value of … is recorded")."""
    given = reason(common, guard, line.step) or line.reason
    return deviation(common, "undone", line.step, f"left as done, and {lacks}", line.seq, given)


def worst_first(found: Iterable[Deviation]) -> tuple[Deviation, ...]:
    """By level, in a level by kind (those in no list last), of one kind by the facts that show them."""
    levels = tuple(LEVELS)

    def place(one: Deviation) -> tuple[int, int, int]:
        return levels.index(one.level), ORDER.index(one.kind) if one.kind in ORDER else len(ORDER), one.seq

    return tuple(sorted(found, key=place))


def reason(common: Common, guard: str, step: str) -> str:
    """The reason the last override of that guard was given, which from here on is spoken for."""
    found = ""
    for passed in common.overrides:
        if passed.guard == guard and passed.step == step:
            passed.used = True
            found = passed.reason
            if guard not in NAMED and passed.who:
                found += f", allowed by {passed.who}"
    return found


def who_passed(common: Common, guard: str, step: str) -> str:
    """Who signed for the last override of that guard, "" where nobody is named."""
    return next((p.who for p in reversed(common.overrides) if p.guard == guard and p.step == step), "")


def other_overrides(common: Common) -> Iterator[Deviation]:
    """Overrides whose reason no deviation has taken; to be asked for after all others."""
    for passed in common.overrides:
        if not passed.used:
            guard, name, who = one_line(passed.guard), one_line(passed.name), one_line(passed.who)
            meaning = GUARDS.get(guard, f"the guard “{guard}” was overridden")
            what = f"{meaning}: {name}" + (f", by {who}" if who else "")
            yield deviation(common, "override", passed.step, what, passed.seq, passed.reason)
