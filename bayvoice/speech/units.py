"""Units of measurement: codes, how they are said and printed, and exact conversion.

Factors are exact by definition. BIPM, The International System of Units, 9th edition (2019), for the SI, litre, minute,
hour and degree Celsius; the inch (0.0254 m), pound (0.45359237 kg), mile (5280 ft), degree Fahrenheit and standard
gravity (9.80665 m/s2), hence pound-force and kilogram-force, by NIST Special Publication 811 (2008), appendix B; from
memory: bar = 100 kPa.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Context, Decimal
from fractions import Fraction
from typing import Final

from bayvoice.errors import BayError
from bayvoice.speech.numbers import to_words

_INCH: Final = Fraction("0.0254")
_FOOT: Final = 12 * _INCH
_POUND: Final = Fraction("0.45359237")
_GRAVITY: Final = Fraction("9.80665")
_POUND_FORCE: Final = _POUND * _GRAVITY
_ROUNDED: Final = Context(prec=28)


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit.

    Attributes:
        code: how files and records write it.
        symbol: how screen and paper print it.
        dimension: units of one dimension convert into each other; also how it is said ("a unit of torque").
        factor: how many of the dimension's base unit one of this is.
        singular, plural: the usual words.
        others: further ways it is said, singular or plural.
        offset: what zero of this is in the base unit, nought but for temperatures.
    """

    code: str
    symbol: str
    dimension: str
    factor: Fraction
    singular: str
    plural: str
    others: tuple[str, ...] = ()
    offset: Fraction = Fraction(0)


# The first of each dimension is the one that is heard in every job, see `active`. Left out on purpose: gallons, pints,
# quarts, fluid ounces and tons differ between countries; milliohms differ from megohms by a capital in writing.
_TABLE: Final = (
    Unit("N.m", "N·m", "torque", Fraction(1), "newton metre", "newton metres"),
    Unit("lbf.ft", "lbf·ft", "torque", _POUND_FORCE * _FOOT, "foot pound", "foot pounds", ("pound foot", "pound feet")),
    Unit(
        "lbf.in", "lbf·in", "torque", _POUND_FORCE * _INCH, "inch pound", "inch pounds", ("pound inch", "pound inches")
    ),
    Unit("kgf.m", "kgf·m", "torque", _GRAVITY, "kilogram metre", "kilogram metres"),
    Unit("deg", "°", "angle", Fraction(1), "degree", "degrees"),
    Unit("turn", "turn", "angle", Fraction(360), "turn", "turns"),
    Unit("mm", "mm", "length", Fraction(1, 1000), "millimetre", "millimetres"),
    Unit("um", "µm", "length", Fraction(1, 10**6), "micron", "microns"),
    Unit("cm", "cm", "length", Fraction(1, 100), "centimetre", "centimetres"),
    Unit("m", "m", "length", Fraction(1), "metre", "metres"),
    Unit("thou", "thou", "length", _INCH / 1000, "thou", "thou"),
    Unit("in", "in", "length", _INCH, "inch", "inches"),
    Unit("ft", "ft", "length", _FOOT, "foot", "feet"),
    Unit("bar", "bar", "pressure", Fraction(100_000), "bar", "bar"),
    Unit("mbar", "mbar", "pressure", Fraction(100), "millibar", "millibar", ("millibars",)),
    Unit("kPa", "kPa", "pressure", Fraction(1000), "kilopascal", "kilopascals"),
    Unit("MPa", "MPa", "pressure", Fraction(10**6), "megapascal", "megapascals"),
    Unit("psi", "psi", "pressure", _POUND_FORCE / _INCH**2, "p s i", "p s i", ("pounds per square inch",)),
    Unit(
        "degC", "°C", "temperature", Fraction(1), "degree celsius", "degrees celsius", ("celsius",), Fraction("273.15")
    ),
    Unit(
        "degF", "°F", "temperature", Fraction(5, 9), "degree fahrenheit", "degrees fahrenheit", ("fahrenheit",),
        Fraction("459.67") * Fraction(5, 9),
    ),
    Unit("V", "V", "voltage", Fraction(1), "volt", "volts"),
    Unit("mV", "mV", "voltage", Fraction(1, 1000), "millivolt", "millivolts"),
    Unit("A", "A", "current", Fraction(1), "amp", "amps", ("ampere", "amperes")),
    Unit("mA", "mA", "current", Fraction(1, 1000), "milliamp", "milliamps"),
    Unit("ohm", "Ω", "resistance", Fraction(1), "ohm", "ohms"),
    Unit("kohm", "kΩ", "resistance", Fraction(1000), "kilohm", "kilohms"),
    Unit("Mohm", "MΩ", "resistance", Fraction(10**6), "megohm", "megohms"),
    Unit("l", "l", "volume", Fraction(1, 1000), "litre", "litres"),
    Unit("ml", "ml", "volume", Fraction(1, 10**6), "millilitre", "millilitres", ("c c", "cubic centimetres")),
    Unit("kg", "kg", "mass", Fraction(1), "kilogram", "kilograms", ("kilo", "kilos")),
    Unit("g", "g", "mass", Fraction(1, 1000), "gram", "grams"),
    Unit("lb", "lb", "mass", _POUND, "pound", "pounds"),
    Unit("s", "s", "time", Fraction(1), "second", "seconds"),
    Unit("min", "min", "time", Fraction(60), "minute", "minutes"),
    Unit("h", "h", "time", Fraction(3600), "hour", "hours"),
    Unit("N", "N", "force", Fraction(1), "newton", "newtons"),
    Unit("kN", "kN", "force", Fraction(1000), "kilonewton", "kilonewtons"),
    Unit("lbf", "lbf", "force", _POUND_FORCE, "pound force", "pounds force"),
    Unit("kgf", "kgf", "force", _GRAVITY, "kilogram force", "kilograms force"),
    Unit(
        "km/h", "km/h", "speed", Fraction(10, 36), "kilometre per hour", "kilometres per hour",
        ("kilometres an hour", "k p h"),
    ),
    Unit("m/s", "m/s", "speed", Fraction(1), "metre per second", "metres per second", ("metres a second",)),
    Unit(
        "mph", "mph", "speed", 5280 * _FOOT / 3600, "mile per hour", "miles per hour", ("miles an hour", "m p h")
    ),
    Unit("rpm", "rpm", "speed of rotation", Fraction(1), "r p m", "r p m", ("revs per minute", "revs")),
    Unit("%", "%", "proportion", Fraction(1), "percent", "percent"),
)  # fmt: skip
_POUNDS: Final = "lb"
_CONVERTED: Final = ("lbf.ft", "in", "thou", "psi")
UNITS: Final = {unit.code: unit for unit in _TABLE}
"""Unit code -> unit, every unit of the product."""

ALIASES: Final = {
    "Nm": "N.m", "N m": "N.m", "N-m": "N.m", "N⋅m": "N.m", "N•m": "N.m", "lbf ft": "lbf.ft", "lb·ft": "lbf.ft",
    "lb.ft": "lbf.ft", "lb-ft": "lbf.ft", "lbft": "lbf.ft", "ft-lb": "lbf.ft", "ft.lb": "lbf.ft", "ft·lbf": "lbf.ft",
    "ft·lb": "lbf.ft", "ft-lbs": "lbf.ft", "lb·in": "lbf.in", "lb.in": "lbf.in", "lb-in": "lbf.in", "in-lb": "lbf.in",
    "in.lb": "lbf.in", "in·lb": "lbf.in", "in·lbf": "lbf.in", "in-lbs": "lbf.in", "kgf m": "kgf.m", "kgm": "kgf.m",
    "kg·m": "kgf.m", "μm": "um", "Ω": "ohm", "Ohm": "ohm", "ohms": "ohm", "kΩ": "kohm", "MΩ": "Mohm", "L": "l",
    "mL": "ml", "cc": "ml", "cm3": "ml", "degs": "deg", "deg C": "degC", "° C": "degC", "ºC": "degC", "deg F": "degF",
    "° F": "degF", "ºF": "degF", "º": "deg", "bars": "bar", "sec": "s", "secs": "s", "mins": "min", "hr": "h",
    "hrs": "h", "amps": "A", "Bar": "bar", "pct": "%", "kph": "km/h", "kmh": "km/h", "lbs": "lb", "turns": "turn",
    "PSI": "psi", "RPM": "rpm", "r/min": "rpm",
}  # fmt: skip
"""Further ways a unit is written -> its code; capitals as people type them."""

_EXACT: Final = {
    **ALIASES,
    **{
        sign: u.code for u in _TABLE for sign in (u.code, u.code.replace(".", ""), u.symbol, u.symbol.replace("µ", "μ"))
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
    """The unit of a code.

    Raises:
        BayError: there is no such unit.
    """
    if code not in UNITS:
        raise BayError(f'there is no unit "{code}"', "", f"use one of {', '.join(UNITS)}")
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
    first = {u.dimension: u.code for u in reversed(_TABLE)}
    also = {_POUNDS} if "force" in wanted else set()
    return frozenset({u.code for u in _TABLE if u.dimension in wanted} | {*first.values(), *_CONVERTED, *also})


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
    exact = (Fraction(value) * one.factor + one.offset - other.offset) / other.factor
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
