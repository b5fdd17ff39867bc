"""Reading numbers, quantities and lists from the command line. Every mistake is one sentence (BayError)."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Final

from bayvoice.errors import BayError
from bayvoice.language.texts import tell
from bayvoice.trade.units import find
from bayvoice.units import Unit, convert, dimension_name, fraction, unit

_NUMBER: Final = re.compile(r"[+-]?(?:[0-9]{1,40}(?:\.[0-9]{0,40})?|\.[0-9]{1,40})(?:[eE][+-]?[0-9]{1,2})?")


def number(text: str, what: str = "") -> Decimal:
    """A decimal number, with a point.

    Raises:
        BayError: it is none, or no ordinary one.
    """
    plain = text.strip()
    if not _NUMBER.fullmatch(plain):
        mend = tell("reckon-write-with-decimal-point-like") if "," in plain else tell("reckon-write-like-32-5")
        raise BayError(tell("reckon-no-number", plain=plain[:30]), what or tell("reckon-value"), mend)
    found = Decimal(plain)
    fraction(found)
    return found


def whole(text: str, what: str = "") -> int:
    """A whole number. BayError if it is none."""
    found = number(text, what)
    if found != found.to_integral_value():
        raise BayError(
            tell("reckon-no-whole-number", text=text), what or tell("reckon-value"), tell("reckon-write-without-point")
        )
    return int(found)


def numbers(text: str, what: str = "list") -> list[Decimal]:
    """Numbers parted by commas or spaces. BayError if one is none."""
    return [number(word, what) for word in text.replace(",", " ").split()]


def wholes(text: str, what: str = "list") -> list[int]:
    """Whole numbers parted by commas or spaces. BayError if one is none."""
    return [whole(word, what) for word in text.replace(",", " ").split()]


def unit_of(text: str, what: str = "unit") -> Unit:
    """The unit somebody means.

    Raises:
        BayError: it is unknown, or has two meanings.
    """
    found = find(text)
    if found is None:
        return unit(text)
    if not found.code and text.strip():
        raise BayError(tell("reckon-no-unit", text=text), what, tell("reckon-write-unit-like-n-m"))
    return found


def quantity(text: str, default: str, what: str) -> tuple[Decimal, str]:
    """A number with its unit, "80 N.m" or "59ft-lb"; without one it is in `default`.

    Raises:
        BayError: no number, an unknown unit, or one that does not measure what `default` does.
    """
    plain = text.strip()
    found = _NUMBER.match(plain)
    if not found:
        raise BayError(
            tell("reckon-no-value", plain=plain[:30]),
            what,
            tell("reckon-write-like-80-unit", unit=default).rstrip(),
        )
    value, rest = number(found.group(), what), plain[found.end() :].strip()
    if not rest:
        return value, default
    given = unit_of(rest, what)
    wanted = unit(default)
    if given.powers != wanted.powers:
        raise BayError(
            tell("reckon-measures", code=given.code, measured=dimension_name(given.powers)),
            what,
            tell("reckon-give-in-unit", wanted=dimension_name(wanted.powers), unit=default),
        )
    return value, given.code


def in_unit(text: str, code: str, what: str) -> Decimal:
    """As `quantity`, converted into `code`."""
    return convert(*quantity(text, code, what), code)


def duration(text: str, what: str) -> Decimal:
    """Seconds of "90 s", "12 min", "1 h 30 min", "7 d".

    Raises:
        BayError: it is not written like that.
    """
    pieces = re.findall(r"([0-9]+(?:\.[0-9]+)?)\s*([a-z]+)", text)
    if not pieces or re.sub(r"[0-9]+(?:\.[0-9]+)?\s*[a-z]+", "", text).strip():
        raise BayError(tell("reckon-no-length-of-time", text=text[:30]), what, tell("reckon-write-length-of-time"))
    return sum((in_unit(f"{value} {code}", "s", what) for value, code in pieces), Decimal(0))
