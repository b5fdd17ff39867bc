"""Making a deviation, and finding the reason that was given for it."""

from __future__ import annotations

from typing import Final

from bayvoice.report.gathered import Gathered, text
from bayvoice.report.model import Deviation

NAMED: Final = frozenset({"skip", "hold", "tally"})
"""Guards whose deviation names itself who let them be passed."""


def deviation(gathered: Gathered, kind: str, step: str, what: str, seq: int, reason: str = "") -> Deviation:
    """A deviation with who was at the job and when."""
    by, wall = gathered.by_of.get(seq, ""), gathered.wall_of.get(seq, 0.0)
    return Deviation(kind, step, gathered.number(step), what, reason, by, wall, seq)


def reason(gathered: Gathered, guard: str, step: str) -> str:
    """The reason the last override of that guard was given, which from here on is spoken for."""
    found = ""
    for passed in gathered.overrides:
        if text(passed.fact.body, "what") == guard and text(passed.fact.body, "step") == step:
            passed.used = True
            body = passed.fact.body
            found = text(body, "reason")
            if guard not in NAMED and (who := text(body, "who")):
                found += f", allowed by {who}"
    return found


def who_passed(gathered: Gathered, guard: str, step: str) -> str:
    """Who signed for the last override of that guard, "" where nobody is named."""
    found = ""
    for passed in gathered.overrides:
        if text(passed.fact.body, "what") == guard and text(passed.fact.body, "step") == step:
            found = text(passed.fact.body, "who")
    return found
