"""Times, durations, values and foreign text the way a report prints them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from typing import Final

from bayvoice.language.units import UNITS

_MONTHS: Final = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

# Letters that would steer a terminal or turn the reading direction of what follows, and code points that no document
# may hold (HTML Living Standard, 13.2.3.5: surrogates, noncharacters, controls).
_UNFIT: Final = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufdd0-\ufdef\ufffe\uffff"
    + "".join(f"{chr(plane * 0x10000 + 0xFFFE)}{chr(plane * 0x10000 + 0xFFFF)}" for plane in range(1, 17))
    + "]"
)


def _shown(match: re.Match[str]) -> str:
    code = ord(match[0])
    if code < 0x20:
        return chr(0x2400 + code)
    return "\u2421" if code == 0x7F else f"[U+{code:04X}]"


def clean(text: str) -> str:
    """`text` with what cannot or must not be printed as it is made visible; tabs and line ends stay."""
    return _UNFIT.sub(_shown, text.replace("\r\n", "\n"))


def one_line(text: str) -> str:
    """`clean` text on one line."""
    return " ".join(clean(text).split())


def sentence(text: str) -> str:
    """`text` with one full stop, unless it ends in a mark of its own."""
    return text if text.endswith((".", "!", "?", "…", ".”", "?”", "!”")) else f"{text}."


def utc(wall: float) -> str:
    """``2025-03-04 09:12:33.250 Z``."""
    moment = datetime.fromtimestamp(wall, UTC)
    return f"{moment:%Y-%m-%d %H:%M:%S}.{moment.microsecond // 1000:03d} Z"


@dataclass(frozen=True, slots=True)
class Clock:
    """Moments in the reader's time.

    Attributes:
        zone: the reader's time zone, None for the computer's own.
        dated: print the date with every time, for a job that takes more than one day.
    """

    zone: tzinfo | None = None
    dated: bool = False

    @classmethod
    def over(cls, first: float, last: float, zone: tzinfo | None) -> Clock:
        """For a job from `first` to `last`."""
        plain = cls(zone)
        return cls(zone, plain.day(first) != plain.day(last))

    def _local(self, wall: float) -> datetime:
        moment = datetime.fromtimestamp(wall, UTC)
        try:
            return moment.astimezone(self.zone)
        except (OverflowError, ValueError, OSError):
            # The last hours of the year 9999 have no later zone.
            return moment

    def day(self, wall: float) -> str:
        """``4 Mar 2025``."""
        moment = self._local(wall)
        return f"{moment.day} {_MONTHS[moment.month - 1]} {moment.year}"

    def time(self, wall: float) -> str:
        """``09:12:33``, or ``4 Mar 09:12:33`` where the job is longer than a day."""
        moment = self._local(wall)
        day = f"{moment.day} {_MONTHS[moment.month - 1]} " if self.dated else ""
        return f"{day}{moment:%H:%M:%S}"

    def full(self, wall: float) -> str:
        """``4 Mar 2025, 09:12``."""
        return f"{self.day(wall)}, {self._local(wall):%H:%M}"

    def zone_name(self, wall: float) -> str:
        """``UTC+01:00``, the zone the times are in."""
        offset = f"{self._local(wall):%z}"
        return f"UTC{offset[:3]}:{offset[3:5]}"


def span(seconds: int) -> str:
    """A duration: ``45 s``, ``3 min``, ``3 min 12 s``, ``2 h 5 min``."""
    hours, rest = divmod(abs(seconds), 3600)
    minutes, rest = divmod(rest, 60)
    pieces = [(hours, "h"), (minutes, "min"), (0 if hours else rest, "s")]
    return " ".join(f"{amount} {unit}" for amount, unit in pieces if amount) or "0 s"


def quantity(value: str, unit: str) -> str:
    """A value with the printed symbol of its unit: ``32.5 N·m``, ``60°``."""
    known = UNITS.get(unit)
    symbol = known.symbol if known else one_line(unit)
    number = one_line(value).replace("-", "−")
    return f"{number}{symbol}" if symbol == "°" else f"{number} {symbol}".strip()


def limits(low: str, high: str, unit: str) -> str:
    """``0.10 to 0.20 mm``, ``at least 5 N·m``, ``at most 2 mm``, ``no limit``."""
    if low and high:
        return f"{one_line(low).replace('-', '−')} to {quantity(high, unit)}"
    if low or high:
        return f"at {'least' if low else 'most'} {quantity(low or high, unit)}"
    return "no limit"


def window(at_least: int | None, at_most: int | None) -> str:
    """``3 min to 8 min``, ``at least 2 min``, ``at most 6 min``."""
    if at_least is not None and at_most is not None:
        return f"{span(at_least)} to {span(at_most)}"
    if at_least is not None:
        return f"at least {span(at_least)}"
    return "no limit" if at_most is None else f"at most {span(at_most)}"


def count(number: int, one: str, many: str = "") -> str:
    """``1 step``, ``3 steps``."""
    return f"{number} {one if number == 1 else many or one + 's'}"


WAITS: Final = {"act": "working in", "open": "open time", "cure": "curing", "settle": "settling"}
"""Wait kind -> what a report calls it."""

TONES: Final = {"soon": "a limit is near", "due": "the job may go on", "over": "the limit has passed"}
"""Alert tone -> what it meant."""

GUARDS: Final = {
    "skip": "a step was left out",
    "wait": "a wait was passed before its time",
    "late": "the job went on though a time had run out",
    "cancel": "a wait was cancelled",
    "check": "the job went on though an answer was not in order",
    "measure": "the job went on though a value was not in order",
    "tally": "a count was closed though it did not come out",
    "part": "a one-use part was not renewed",
    "hold": "a hold point was passed",
    "gauge": "a gauge was used though it is out of date",
    "batch": "a consumable was used though it is out of date or its date is not known",
    "bolt": "a fastener was left outside its tolerance",
    "finding": "the job went on in spite of a finding",
}
"""Guard that was overridden -> what that means."""

LEVELS: Final = {
    "left inside": "Left inside",
    "guard passed": "Passed, left out, found or missing",
    "value": "Values, answers, fasteners",
    "wait": "Waits and alerts",
    "other": "Besides",
}
"""How grave a deviation is -> what a report heads those of that kind with."""

REFUSED: Final = {
    "unbegun": "the wait was not started",
    "late": "its time had run out",
    "code": "a wrong code",
    "started": "said to have started before its step was entered",
    "nobody": "nobody may pass it",
}
"""What was refused -> what stood in the way, where it is more than a word."""

SIDES: Final = {"low": "below", "high": "above"}
"""Verdict of a value outside its limits -> on which side of them it lies."""

VERDICTS: Final = {
    "within": "within",
    "low": "too low",
    "high": "too high",
    "close": "too close to call",
    "scattered": "too far apart",
}
"""Verdict -> what a table calls it."""


def uncertain(uncertainty: str, unit: str) -> str:
    """`` with ±0.02 mm``, "" where no uncertainty is known."""
    return f" with ±{quantity(uncertainty, unit)}" if uncertainty else ""
