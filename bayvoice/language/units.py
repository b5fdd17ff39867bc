"""Units as they are said: the words of the grammar, ways of writing them, which of them a job listens for.

The units themselves (factors, dimensions, conversion) are those of `bayvoice.units`; here are the ones that can be
said.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import Final

from bayvoice import units
from bayvoice.errors import BayError
from bayvoice.language.numbers import to_words
from bayvoice.language.texts import tell
from bayvoice.units import Unit, convert

__all__ = [
    "ALIASES",
    "UNITS",
    "Unit",
    "active",
    "by_sign",
    "convert",
    "dimension_of",
    "meant",
    "phrases",
    "say",
    "spoken",
    "unit",
]

_POUNDS: Final = "lb"
_CONVERTED: Final = ("lbf.ft", "in", "thou", "psi")
UNITS: Final = {unit.code: unit for unit in units.UNITS.values() if unit.words}
"""Code -> unit, of every unit that can be said. The first of each dimension is heard in every job, see `active`."""

ALIASES: Final = {
    "Nm": "N.m",
    "N m": "N.m",
    "N-m": "N.m",
    "N⋅m": "N.m",
    "N•m": "N.m",
    "lbf ft": "lbf.ft",
    "lb·ft": "lbf.ft",
    "lb.ft": "lbf.ft",
    "lb-ft": "lbf.ft",
    "lbft": "lbf.ft",
    "ft-lb": "lbf.ft",
    "ft.lb": "lbf.ft",
    "ft·lbf": "lbf.ft",
    "ft·lb": "lbf.ft",
    "ft-lbs": "lbf.ft",
    "lb·in": "lbf.in",
    "lb.in": "lbf.in",
    "lb-in": "lbf.in",
    "in-lb": "lbf.in",
    "in.lb": "lbf.in",
    "in·lb": "lbf.in",
    "in·lbf": "lbf.in",
    "in-lbs": "lbf.in",
    "kgf m": "kgf.m",
    "kgm": "kgf.m",
    "kg·m": "kgf.m",
    "μm": "um",
    "Ω": "ohm",
    "Ohm": "ohm",
    "ohms": "ohm",
    "kΩ": "kohm",
    "MΩ": "Mohm",
    "L": "l",
    "mL": "ml",
    "cc": "ml",
    "cm3": "ml",
    "degs": "deg",
    "deg C": "degC",
    "° C": "degC",
    "ºC": "degC",
    "deg F": "degF",
    "° F": "degF",
    "ºF": "degF",
    "º": "deg",
    "bars": "bar",
    "sec": "s",
    "secs": "s",
    "mins": "min",
    "hr": "h",
    "hrs": "h",
    "amps": "A",
    "Bar": "bar",
    "pct": "%",
    "kph": "km/h",
    "kmh": "km/h",
    "lbs": "lb",
    "turns": "turn",
    "PSI": "psi",
    "RPM": "rpm",
    "r/min": "rpm",
}
"""Further ways a unit is written -> its code; capitals as people type them."""

_EXACT: Final = {
    **ALIASES,
    **{
        sign: u.code
        for u in UNITS.values()
        for sign in (u.code, u.code.replace(".", ""), u.symbol, u.symbol.replace("µ", "μ"))
    },
}
_LOOSE: Final = {sign.lower(): code for sign, code in _EXACT.items()}
_CASED: Final = frozenset({"mV", "mA", "MPa", "Mohm"})
"""Here a capital is a thousand million: the first letter has to be right."""


def by_sign(sign: str) -> str | None:
    """The code of a unit as it is written ("Nm", "lb-ft", "°C"), in any case where that is safe; None if unknown."""
    if sign in _EXACT:
        return _EXACT[sign]
    code = _LOOSE.get(sign.lower())
    return None if code in _CASED and sign[0] != code[0] else code


def unit(code: str) -> Unit:
    """The unit of a code, one that can be said.

    Raises:
        BayError: there is no such unit.
    """
    if code not in UNITS:
        raise BayError(
            tell("language-no-unit-code", code=code), "", tell("language-use-one-of-units", units=", ".join(UNITS))
        )
    return UNITS[code]


def dimension_of(code: str) -> str:
    """What a unit measures, as it is said: ``dimension_of("psi")`` -> "pressure". BayError if unknown."""
    return unit(code).dimension


def meant(said: str | None, wanted: str) -> str:
    """The unit that was meant by a unit's words where a value in `wanted` is asked for.

    No unit said means the wanted one. Two words of everyday speech name two things: "degrees" alone may be of
    temperature, and "pounds" of force; they are taken so where only that fits. Common practice, no source.

    Raises:
        BayError: a unit is unknown.
    """
    if said is None:
        return wanted
    dimension = dimension_of(wanted)
    if said == "deg" and dimension == "temperature":
        return wanted
    if said == _POUNDS and dimension == "force":
        return "lbf"
    return unit(said).code


def active(codes: Iterable[str]) -> frozenset[str]:
    """The units to listen for where values are measured in `codes`.

    All of the same dimensions, and of every other dimension the first of the table, so that a value of the wrong kind
    is still heard for what it is and refused by name; and those that people convert from aloud. Each unit costs the
    ears some thirty arcs, one after each way a number can end. BayError if a unit is unknown.
    """
    wanted = {dimension_of(code) for code in codes}
    first = {u.dimension: u.code for u in reversed(UNITS.values())}
    also = {_POUNDS} if "force" in wanted else set()
    return frozenset({u.code for u in UNITS.values() if u.dimension in wanted} | {*first.values(), *_CONVERTED, *also})


def spoken(code: str, plural: bool = True) -> str:
    """The words for a unit: ``spoken("N.m")`` -> "newton metres". BayError if unknown."""
    found = unit(code)
    return found.plural if plural else found.singular


def say(value: Decimal, code: str) -> str:
    """A quantity as it is said: ``say(Decimal("32.50"), "N.m")`` -> "thirty two point five zero newton metres".

    Raises:
        BayError: the unit is unknown.
        ValueError: the value is not finite or not smaller than a million.
    """
    return f"{to_words(value)} {spoken(code, plural=abs(value) != 1 or '.' in str(value))}"


def phrases(code: str) -> tuple[str, ...]:
    """Every way the unit is said, the usual ones first. BayError if unknown."""
    found = unit(code)
    return tuple(dict.fromkeys(found.words))
