"""Units of measurement: codes, how they are said and printed, and exact conversion.

Factors are exact by definition. BIPM, The International System of Units, 9th edition (2019), for the SI, litre, minute,
hour and degree Celsius; the inch (0.0254 m), pound (0.45359237 kg) and standard gravity (9.80665 m/s2), hence the
pound-force, by NIST Special Publication 811 (2008), appendix B; from memory: bar = 100 kPa.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Context, Decimal
from fractions import Fraction
from typing import Final

from bayvoice.errors import BayError

_INCH: Final = Fraction("0.0254")
_FOOT: Final = 12 * _INCH
_POUND_FORCE: Final = Fraction("0.45359237") * Fraction("9.80665")
_ROUNDED: Final = Context(prec=28)


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit.

    Attributes:
        code: how files and records write it.
        symbol: how screen and paper print it.
        dimension: units of one dimension convert into each other.
        factor: how many of the dimension's base unit one of this is.
        singular, plural: the usual words.
        others: further ways it is said, singular or plural.
    """

    code: str
    symbol: str
    dimension: str
    factor: Fraction
    singular: str
    plural: str
    others: tuple[str, ...] = ()


_TABLE: Final = (
    Unit("N.m", "N·m", "torque", Fraction(1), "newton metre", "newton metres"),
    Unit("lbf.ft", "lbf·ft", "torque", _POUND_FORCE * _FOOT, "foot pound", "foot pounds", ("pound foot", "pound feet")),
    Unit("mm", "mm", "length", Fraction(1, 1000), "millimetre", "millimetres"),
    Unit("um", "µm", "length", Fraction(1, 10**6), "micron", "microns"),
    Unit("thou", "thou", "length", _INCH / 1000, "thou", "thou"),
    Unit("in", "in", "length", _INCH, "inch", "inches"),
    Unit("deg", "°", "angle", Fraction(1), "degree", "degrees"),
    Unit("bar", "bar", "pressure", Fraction(100_000), "bar", "bar"),
    Unit("kPa", "kPa", "pressure", Fraction(1000), "kilopascal", "kilopascals"),
    Unit("psi", "psi", "pressure", _POUND_FORCE / _INCH**2, "p s i", "p s i", ("pounds per square inch",)),
    Unit("degC", "°C", "temperature", Fraction(1), "degree celsius", "degrees celsius"),
    Unit("V", "V", "voltage", Fraction(1), "volt", "volts"),
    Unit("A", "A", "current", Fraction(1), "amp", "amps", ("ampere", "amperes")),
    Unit("ohm", "Ω", "resistance", Fraction(1), "ohm", "ohms"),
    Unit("l", "l", "volume", Fraction(1, 1000), "litre", "litres"),
    Unit("ml", "ml", "volume", Fraction(1, 10**6), "millilitre", "millilitres"),
    Unit("kg", "kg", "mass", Fraction(1), "kilogram", "kilograms", ("kilo", "kilos")),
    Unit("g", "g", "mass", Fraction(1, 1000), "gram", "grams"),
    Unit("s", "s", "time", Fraction(1), "second", "seconds"),
    Unit("min", "min", "time", Fraction(60), "minute", "minutes"),
    Unit("h", "h", "time", Fraction(3600), "hour", "hours"),
    Unit("N", "N", "force", Fraction(1), "newton", "newtons"),
    Unit("rpm", "rpm", "speed of rotation", Fraction(1), "r p m", "r p m", ("revs per minute",)),
    Unit("%", "%", "proportion", Fraction(1), "percent", "percent"),
)
UNITS: Final = {unit.code: unit for unit in _TABLE}
"""Unit code -> unit, every unit of the product."""


def unit(code: str) -> Unit:
    """The unit of a code.

    Raises:
        BayError: there is no such unit.
    """
    if code not in UNITS:
        raise BayError(f'there is no unit "{code}"', "", f"use one of {', '.join(UNITS)}")
    return UNITS[code]


def spoken(code: str, plural: bool = True) -> str:
    """The words for a unit: ``spoken("N.m")`` -> "newton metres". BayError if unknown."""
    found = unit(code)
    return found.plural if plural else found.singular


def phrases(code: str) -> tuple[str, ...]:
    """Every way the unit is said, the usual ones first. BayError if unknown."""
    found = unit(code)
    return tuple(dict.fromkeys((found.singular, found.plural, *found.others)))


def convert(value: Decimal, source: str, target: str) -> Decimal:
    """`value` of unit `source` in unit `target`.

    Returns:
        The exact value where it can be written out, else rounded to 28 figures.

    Raises:
        BayError: a unit is unknown, or the two measure different things.
    """
    one, other = unit(source), unit(target)
    if one.dimension != other.dimension:
        raise BayError(
            f"{one.symbol} is a unit of {one.dimension} and {other.symbol} of {other.dimension}",
            "",
            f"give the value in a unit of {other.dimension}",
        )
    if source == target:
        return value
    exact = Fraction(value) * one.factor / other.factor
    return _decimal(exact)


def _decimal(exact: Fraction) -> Decimal:
    rest, places = exact.denominator, 0
    for prime in (2, 5):
        power = 0
        while rest % prime == 0:
            rest, power = rest // prime, power + 1
        places = max(places, power)
    if rest != 1:
        return _ROUNDED.divide(Decimal(exact.numerator), Decimal(exact.denominator))
    figures = exact.numerator * 10**places // exact.denominator
    return Decimal(figures).scaleb(-places, Context(prec=max(28, len(str(figures)) + 1)))
