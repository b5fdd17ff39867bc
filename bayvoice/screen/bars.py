"""Running waits as bars: how far, the minimum, the maximum, and what that means now, in words."""

from __future__ import annotations

from dataclasses import dataclass

from bayvoice.dialogue.flow.waits import lead
from bayvoice.job.job import Running
from bayvoice.language.wording import duration
from bayvoice.screen.signs import Signs


@dataclass(frozen=True, slots=True)
class Bar:
    """One wait at one moment.

    Attributes:
        name: what waits.
        verdict: "not yet", "may go on", "running", "soon over" or "too late": the CSS class is the same, with hyphens.
        word: the verdict as it is shown, with its symbol.
        numbers: minimum, maximum and what is left of them.
        picture: the bar itself.
    """

    name: str
    verdict: str
    word: str
    numbers: str
    picture: str


def bar(wait: Running, now: float, width: int, signs: Signs) -> Bar:
    """`wait` at mono time `now`, its picture `width` columns wide."""
    short, left = wait.short(now), wait.left(now)
    if left is not None and left < 0:
        verdict, word = "too late", f"{signs.bad} TOO LATE by {duration(-left)}"
    elif short > 0:
        verdict, word = "not yet", f"{signs.later} NOT YET, {duration(short)} more"
    elif left is None:
        verdict, word = "may go on", f"{signs.good} MAY GO ON"
    elif left <= lead(wait):
        verdict, word = "soon over", f"{signs.hurt} SOON OVER, {duration(left)} left"
    elif wait.at_least:
        verdict, word = "may go on", f"{signs.good} MAY GO ON, {duration(left)} left"
    else:
        verdict, word = "running", f"{signs.now} {duration(left)} left"
    limits = []
    if wait.at_least is not None:
        limits.append(f"at least {duration(wait.at_least)}")
    if wait.at_most is not None:
        limits.append(f"at most {duration(wait.at_most)}")
        if short > 0:
            limits[-1] += f" ({duration(left or 0)} left)"
    return Bar(wait.name, verdict, word, ", ".join(limits), _picture(wait, now, width, signs))


def _picture(wait: Running, now: float, width: int, signs: Signs) -> str:
    """Filled to the present; an edge stands at the minimum and, if that is not the end, at the maximum."""
    width = max(4, width)
    end = float(wait.at_most or wait.at_least or 1)
    filled = min(width, int(width * max(0.0, now - wait.since) / end))
    cells = [signs.full] * filled + [signs.empty] * (width - filled)
    if wait.at_most:
        cells[-1] = signs.edge
    if wait.at_least:
        cells[min(width - 1, int(width * wait.at_least / end))] = signs.edge
    return "".join(cells)
