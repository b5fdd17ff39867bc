"""Two clocks: what is known of elapsed time where one of them was set, stopped or begun anew. Pure.

A wait is counted on the monotonic clock, which nobody can set and which counts suspended time. It begins anew with the
computer, so across a restart only the wall clock and the age of the new run are left. What they leave open is taken on
the safe side: a minimum is counted by the least time that can have passed, a maximum by the most. A minimum that one
person may not pass alone is counted by the monotonic clock only: else setting the wall clock ahead would pass it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

SLACK: Final = 2.0
"""Seconds by which the wall clock may stray from the monotonic one before it counts as set; what that hides is unsure
after a restart of the computer."""

BLUR: Final = SLACK + 0.5
"""Seconds by which the old run's time of the last fact may be off: what `SLACK` hides, and a jump in whole seconds."""

MOST_AWAY: Final = 60 * 86_400.0
"""Longest time in seconds that a job is believed to have lain by, on the word of the wall clock alone."""

NAMELESS: Final = "unknown"
"""How the name of a clock's run begins where the system gives it none: its age then says nothing."""


@dataclass(frozen=True, slots=True)
class Away:
    """How long nobody counted: at least `least` seconds, at most `least + unsure`; without a bound where `lost`.

    `counted`: what the age of the new run shows by itself. The rest rests on the wall clock, which anybody can set.
    """

    least: float
    unsure: float
    lost: bool = False
    counted: float = 0.0


def away(last_wall: float, wall: float, mono: float, boot: str) -> Away:
    """The time between the last fact and a new sitting after the monotonic clock began anew.

    Args:
        last_wall, wall: wall time of the last fact and of the beginning, seconds.
        mono: age of the new run of the monotonic clock, seconds.
        boot: the new run's name; nameless, its age is no bound, for it may be the old run.
    """
    bound = 0.0 if boot.startswith(NAMELESS) else max(0.0, mono)
    gap = wall - last_wall
    if bound - SLACK <= gap <= MOST_AWAY:
        least = max(bound, gap - SLACK)
        return Away(least, gap + SLACK - least, counted=bound)
    return Away(bound, 0.0, lost=True, counted=bound)


def moved(pair: tuple[float, float], mono: float, wall: float) -> float:
    """Seconds by which the wall clock was set since `pair` (mono, wall) was true; 0 within `SLACK`."""
    by = (wall - mono) - (pair[1] - pair[0])
    return by if abs(by) > SLACK else 0.0
