"""Amounts as a procedure file writes them: numbers, durations, torques and angles. Pure; digits are kept."""

from __future__ import annotations

import re
from decimal import Decimal, InvalidOperation
from typing import Final

from bayvoice.language.numbers import LIMIT
from bayvoice.language.units import UNITS
from bayvoice.procedure.model import Stage

TORQUE_UNITS: Final = tuple(code for code, unit in UNITS.items() if unit.dimension == "torque")
DURATION_HINT: Final = 'write it as "45 s", "12 min", "24 h" or "1 h 30 min"'
LONGEST: Final = 1000 * 3600
"""Longest duration in seconds: 1000 h."""

PLACES: Final = 4
"""Most figures after the point, as in ``grammars/en/numbers.gram``."""

_NOT_SAID: Final = f"cannot be said aloud: a million and more, or more than {PLACES} figures after the point"
_DURATION = re.compile(r"(?:([0-9]{1,7})\s*h)?\s*(?:([0-9]{1,7})\s*min)?\s*(?:([0-9]{1,7})\s*s)?")
_NUMBER = re.compile(r"[+-]?[0-9_]{1,20}(?:\.[0-9]{1,20})?")
_STAGE = re.compile(r"([+-]?[0-9][0-9.,_]*)\s*([^\s0-9]\S*)")


def to_float(text: str) -> Decimal:
    """For the TOML parser: the digits of `text` kept; NaN where there is no such number."""
    try:
        return Decimal(text)
    except InvalidOperation:
        return Decimal("NaN")


def number(raw: object) -> Decimal:
    """A number from a TOML integer, a TOML float (read as Decimal) or a string.

    Raises:
        ValueError: says in a phrase what is wrong with it.
    """
    if isinstance(raw, bool) or not isinstance(raw, (int, Decimal, str)):
        raise ValueError("is not a number")
    if isinstance(raw, int) and abs(raw) >= LIMIT:
        raise ValueError(_NOT_SAID)
    if isinstance(raw, str):
        text = raw.strip()
        if not _NUMBER.fullmatch(text):
            raise ValueError("has a comma in it" if "," in text else "is not a number")
        raw = text
    value = to_float(raw) if isinstance(raw, str) else Decimal(raw)
    if not value.is_finite():
        raise ValueError("is not a number")
    exponent = value.as_tuple().exponent
    size = value.adjusted() if value else 0
    if not isinstance(exponent, int) or exponent < -PLACES or exponent > 6 or size > 6 or abs(value) >= LIMIT:
        raise ValueError(_NOT_SAID)
    return value.quantize(Decimal(1)) if exponent > 0 else value


def duration(raw: object) -> int:
    """Seconds of "45 s", "12 min", "24 h", "1 h 30 min".

    Raises:
        ValueError: says in a phrase what is wrong with it.
    """
    if isinstance(raw, (int, Decimal)) and not isinstance(raw, bool):
        raise ValueError("is a time without a unit")
    match = _DURATION.fullmatch(raw.strip()) if isinstance(raw, str) else None
    if match is None or not any(match.groups()):
        raise ValueError("is not a time")
    hours, minutes, seconds = (int(group or 0) for group in match.groups())
    total = hours * 3600 + minutes * 60 + seconds
    if not 0 < total <= LONGEST:
        raise ValueError("is no time at all" if total == 0 else "is longer than 1000 h")
    return total


def stage(raw: object) -> Stage:
    """One tightening stage, "24 N.m" or "90 deg".

    Raises:
        ValueError: says in a phrase what is wrong with it.
    """
    match = _STAGE.fullmatch(raw.strip()) if isinstance(raw, str) else None
    if match is None:
        raise ValueError("is not a torque or an angle")
    amount = number(match.group(1))
    unit = match.group(2)
    if unit not in (*TORQUE_UNITS, "deg"):
        raise ValueError(f"is in a unit that is neither a torque ({' or '.join(TORQUE_UNITS)}) nor an angle (deg)")
    if amount <= 0:
        raise ValueError("is not above zero")
    if unit == "deg" and amount > 360:
        raise ValueError("is more than one turn")
    return Stage(amount, unit)


def tolerance(raw: object) -> Stage:
    """How far a torque or an angle may be off, "4 %", "2 N.m", "5 deg".

    Raises:
        ValueError: says in a phrase what is wrong with it.
    """
    match = _STAGE.fullmatch(raw.strip()) if isinstance(raw, str) else None
    if match is None:
        raise ValueError("is not a tolerance")
    amount, unit = number(match.group(1)), match.group(2)
    if unit not in (*TORQUE_UNITS, "deg", "%"):
        raise ValueError(f"is neither in % nor in {' or '.join(TORQUE_UNITS)} nor in deg")
    if amount <= 0:
        raise ValueError("is not above zero")
    if unit == "%" and amount >= 100:
        raise ValueError("is the whole torque")
    return Stage(amount, unit)


def written(seconds: int) -> str:
    """Seconds as the file writes them: 5400 is "1 h 30 min"."""
    hours, rest = divmod(seconds, 3600)
    minutes, secs = divmod(rest, 60)
    parts = ((hours, "h"), (minutes, "min"), (secs, "s"))
    return " ".join(f"{amount} {unit}" for amount, unit in parts if amount) or "0 s"
