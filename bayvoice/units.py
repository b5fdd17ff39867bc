"""The one table of units: codes, exact factors, what they measure, how they are said, and what is likely in a bay.

A factor is how many of the SI base of its dimension one of the unit is, with a dimension for angle, so that 90 degrees
are never taken for a number or for a temperature. Temperatures on a scale (degC, degF) have a zero of their own; a
difference of them is in K.

Factors are exact by definition. BIPM, The International System of Units, 9th edition (2019): SI, litre, minute, hour,
day, tonne, degree Celsius and absolute zero. NIST Special Publication 811 (2008), appendix B: inch 0.0254 m, mile
5280 ft, pound 0.45359237 kg, standard gravity 9.80665 m/s2 and hence pound-force and kilogram-force, US gallon 231 in3,
degree Fahrenheit. From memory: bar = 100 kPa, imperial gallon 4.54609 l, metric horsepower 75 kgf.m/s, conventional
mercury 13 595.1 kg/m3.

What is likely is what hand work in a workshop spans: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import MAX_PREC, Context, Decimal
from fractions import Fraction
from typing import Final

from bayvoice.errors import BayError
from bayvoice.language.texts import tell

Powers = tuple[int, int, int, int, int, int]
"""Powers of length, mass, time, current, temperature, angle."""

NONE: Final[Powers] = (0, 0, 0, 0, 0, 0)
POWERS: Final[dict[str, Powers]] = {
    "number": NONE,
    "proportion": NONE,
    "torque": (2, 1, -2, 0, 0, 0),
    "length": (1, 0, 0, 0, 0, 0),
    "angle": (0, 0, 0, 0, 0, 1),
    "pressure": (-1, 1, -2, 0, 0, 0),
    "temperature": (0, 0, 0, 0, 1, 0),
    "voltage": (2, 1, -3, -1, 0, 0),
    "current": (0, 0, 0, 1, 0, 0),
    "resistance": (2, 1, -3, -2, 0, 0),
    "volume": (3, 0, 0, 0, 0, 0),
    "mass": (0, 1, 0, 0, 0, 0),
    "time": (0, 0, 1, 0, 0, 0),
    "force": (1, 1, -2, 0, 0, 0),
    "speed": (1, 0, -1, 0, 0, 0),
    "speed of rotation": (0, 0, -1, 0, 0, 1),
    "area": (2, 0, 0, 0, 0, 0),
    "frequency": (0, 0, -1, 0, 0, 0),
    "power": (2, 1, -3, 0, 0, 0),
    "density": (-3, 1, 0, 0, 0, 0),
    "stiffness": (0, 1, -2, 0, 0, 0),
    "flow": (3, 0, -1, 0, 0, 0),
}
"""Dimension, by what is measured -> its powers."""

NAMES: Final[dict[Powers, str]] = {powers: name for name, powers in reversed(POWERS.items())}
"""Powers -> what is measured."""


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit.

    Attributes:
        code: how files and records write it.
        symbol: how screen and paper print it.
        dimension: what it measures, as it is said ("torque"); units of one dimension convert into each other.
        factor: how many of the SI base one of this is.
        words: how it is said: singular, plural, then further ways; empty for a unit that is only written.
        zero: what zero of this is in the base, nought but for temperatures on a scale.
        likely: least and most a limit in it is likely to be; of units that are said.
    """

    code: str
    symbol: str
    dimension: str
    factor: Fraction
    words: tuple[str, ...] = ()
    zero: Fraction = Fraction(0)
    likely: tuple[Decimal, Decimal] | None = None

    @property
    def powers(self) -> Powers:
        """Its dimension as powers."""
        return POWERS[self.dimension]

    @property
    def name(self) -> str:
        """Its plural in full, for a sentence that is read; "" for a plain number."""
        written = self.code.replace(".", "-").replace("/", "-per-").replace("%", "percent")
        return tell(f"units-name-{written}") if written else ""

    @property
    def on_a_scale(self) -> bool:
        """True where values are points on a scale and not amounts: degC, degF."""
        return bool(self.zero)

    @property
    def singular(self) -> str:
        """The usual word after one."""
        return self.words[0]

    @property
    def plural(self) -> str:
        """The usual word after any other number."""
        return self.words[1]


_INCH: Final = Fraction("0.0254")
_FOOT: Final = 12 * _INCH
_POUND: Final = Fraction("0.45359237")
_G: Final = Fraction("9.80665")
_LBF: Final = _POUND * _G
_MERCURY: Final = Fraction("13595.1") * _G
_GALLON: Final = 231 * _INCH**3
_IMPERIAL: Final = Fraction("0.00454609")
_MILLI, _MICRO, _KILO, _MEGA = Fraction(1, 1000), Fraction(1, 10**6), Fraction(1000), Fraction(10**6)
_ICE: Final = Fraction("273.15")

# code, symbol, factor, words, likely; then the zero where it is not nought
_Said = tuple[str, str, Fraction | int, tuple[str, ...], tuple[str, str], Fraction]
# code, factor
_Written = tuple[str, Fraction | int]


def _said(
    code: str,
    symbol: str,
    factor: Fraction | int,
    words: tuple[str, ...],
    likely: tuple[str, str],
    zero: Fraction = Fraction(0),
) -> _Said:
    return code, symbol, factor, words, likely, zero


# The first of a dimension is what a result is given in where nothing else says; the first that is said is heard in
# every job. Left out of what is said on purpose: gallons, pints, quarts, fluid ounces and tons differ between
# countries; milliohms differ from megohms by a capital in writing.
_ROWS: Final[dict[str, tuple[_Said | _Written, ...]]] = {
    "torque": (
        _said("N.m", "N·m", 1, ("newton metre", "newton metres"), ("0.1", "2000")),
        ("kN.m", 1000),
        ("N.cm", Fraction(1, 100)),
        ("N.mm", _MILLI),
        _said(
            "lbf.ft", "lbf·ft", _LBF * _FOOT, ("foot pound", "foot pounds", "pound foot", "pound feet"), ("0.1", "1500")
        ),
        _said(
            "lbf.in",
            "lbf·in",
            _LBF * _INCH,
            ("inch pound", "inch pounds", "pound inch", "pound inches"),
            ("1", "18000"),
        ),
        ("ozf.in", _LBF / 16 * _INCH),
        _said("kgf.m", "kgf·m", _G, ("kilogram metre", "kilogram metres"), ("0.01", "200")),
        ("kgf.cm", _G / 100),
    ),
    "angle": (
        _said("deg", "°", 1, ("degree", "degrees"), ("-360", "720")),
        ("arcmin", Fraction(1, 60)),
        _said("turn", "turn", 360, ("turn", "turns"), ("-50", "100")),
    ),
    "length": (
        _said("mm", "mm", _MILLI, ("millimetre", "millimetres"), ("-100", "20000")),
        _said("um", "µm", _MICRO, ("micron", "microns"), ("-2000", "5000")),
        _said("cm", "cm", Fraction(1, 100), ("centimetre", "centimetres"), ("-10", "2000")),
        _said("m", "m", 1, ("metre", "metres"), ("-0.1", "100")),
        ("km", 1000),
        _said("thou", "thou", _INCH / 1000, ("thou", "thou"), ("-200", "1000")),
        _said("in", "in", _INCH, ("inch", "inches"), ("-40", "800")),
        _said("ft", "ft", _FOOT, ("foot", "feet"), ("-0.5", "300")),
    ),
    "pressure": (
        _said("bar", "bar", 100_000, ("bar", "bar"), ("-1.02", "1000")),
        _said("mbar", "mbar", 100, ("millibar", "millibar", "millibars"), ("-1020", "100000")),
        ("Pa", 1),
        ("hPa", 100),
        _said("kPa", "kPa", 1000, ("kilopascal", "kilopascals"), ("-102", "100000")),
        _said("MPa", "MPa", _MEGA, ("megapascal", "megapascals"), ("-0.102", "100")),
        ("GPa", 10**9),
        ("N/mm2", _MEGA),
        _said(
            "psi",
            "psi",
            _LBF / _INCH**2,
            ("p s i", "p s i", "pounds per square inch"),
            ("-14.8", "15000"),
        ),
        ("inHg", _MERCURY * _INCH),
        ("mmHg", _MERCURY / 1000),
    ),
    "temperature": (
        ("K", 1),
        _said("degC", "°C", 1, ("degree celsius", "degrees celsius", "celsius"), ("-60", "1500"), _ICE),
        _said(
            "degF",
            "°F",
            Fraction(5, 9),
            ("degree fahrenheit", "degrees fahrenheit", "fahrenheit"),
            ("-76", "2732"),
            _ICE - 32 * Fraction(5, 9),
        ),
    ),
    "voltage": (
        _said("V", "V", 1, ("volt", "volts"), ("-1000", "1000")),
        _said("mV", "mV", _MILLI, ("millivolt", "millivolts"), ("-100000", "100000")),
        ("kV", 1000),
    ),
    "current": (
        _said("A", "A", 1, ("amp", "amps", "ampere", "amperes"), ("-1000", "1000")),
        _said("mA", "mA", _MILLI, ("milliamp", "milliamps"), ("-100000", "100000")),
    ),
    "resistance": (
        _said("ohm", "Ω", 1, ("ohm", "ohms"), ("0", "500000")),
        ("mohm", _MILLI),
        _said("kohm", "kΩ", 1000, ("kilohm", "kilohms"), ("0", "500000")),
        _said("Mohm", "MΩ", _MEGA, ("megohm", "megohms"), ("0", "100000")),
    ),
    "volume": (
        _said("l", "l", _MILLI, ("litre", "litres"), ("0", "1000")),
        _said("ml", "ml", _MICRO, ("millilitre", "millilitres", "c c", "cubic centimetres"), ("0", "10000")),
        ("cl", Fraction(1, 10**5)),
        ("dl", Fraction(1, 10**4)),
        ("cm3", _MICRO),
        ("mm3", Fraction(1, 10**9)),
        ("m3", 1),
        ("in3", _INCH**3),
        ("gal", _GALLON),
        ("qt", _GALLON / 4),
        ("pt", _GALLON / 8),
        ("floz", _GALLON / 128),
        ("impgal", _IMPERIAL),
        ("imppt", _IMPERIAL / 8),
    ),
    "mass": (
        _said("kg", "kg", 1, ("kilogram", "kilograms", "kilo", "kilos"), ("0", "50000")),
        _said("g", "g", _MILLI, ("gram", "grams"), ("0", "10000")),
        ("mg", _MICRO),
        ("t", 1000),
        _said("lb", "lb", _POUND, ("pound", "pounds"), ("0", "110000")),
        ("oz", _POUND / 16),
    ),
    "time": (
        _said("s", "s", 1, ("second", "seconds"), ("0", "36000")),
        ("ms", _MILLI),
        _said("min", "min", 60, ("minute", "minutes"), ("0", "6000")),
        _said("h", "h", 3600, ("hour", "hours"), ("0", "1000")),
        ("d", 86400),
    ),
    "force": (
        _said("N", "N", 1, ("newton", "newtons"), ("0", "100000")),
        _said("kN", "kN", 1000, ("kilonewton", "kilonewtons"), ("0", "2000")),
        _said("lbf", "lbf", _LBF, ("pound force", "pounds force"), ("0", "22500")),
        _said("kgf", "kgf", _G, ("kilogram force", "kilograms force"), ("0", "10000")),
    ),
    "speed": (
        _said(
            "km/h",
            "km/h",
            Fraction(10, 36),
            ("kilometre per hour", "kilometres per hour", "kilometres an hour", "k p h"),
            ("0", "200"),
        ),
        _said("m/s", "m/s", 1, ("metre per second", "metres per second", "metres a second"), ("0", "100")),
        ("mm/s", _MILLI),
        ("m/min", Fraction(1, 60)),
        _said(
            "mph",
            "mph",
            5280 * _FOOT / 3600,
            ("mile per hour", "miles per hour", "miles an hour", "m p h"),
            ("0", "125"),
        ),
    ),
    "speed of rotation": (
        _said("rpm", "rpm", 6, ("r p m", "r p m", "revs per minute", "revs"), ("0", "30000")),
        ("deg/s", 1),
    ),
    "area": (
        ("mm2", _MICRO),
        ("cm2", Fraction(1, 10**4)),
        ("m2", 1),
        ("in2", _INCH**2),
    ),
    "frequency": (("Hz", 1), ("kHz", 1000)),
    "power": (
        ("kW", 1000),
        ("W", 1),
        ("hp", 550 * _FOOT * _LBF),
        ("PS", 75 * _G),
    ),
    "density": (("kg/m3", 1), ("g/cm3", 1000)),
    "stiffness": (("N/mm", 1000), ("kN/mm", _MEGA)),
    "flow": (
        ("l/min", Fraction(1, 60_000)),
        ("ml/min", Fraction(1, 60 * 10**6)),
    ),
    "number": (("", 1),),
    "proportion": (_said("%", "%", Fraction(1, 100), ("percent", "percent"), ("-100", "200")),),
}


def _units() -> Iterator[Unit]:
    for dimension, rows in _ROWS.items():
        for row in rows:
            if len(row) == 2:
                code, factor = row
                yield Unit(code, code, dimension, Fraction(factor))
            else:
                code, symbol, factor, words, (low, high), zero = row
                likely = Decimal(low), Decimal(high)
                yield Unit(code, symbol, dimension, Fraction(factor), words, zero, likely)


UNITS: Final = {unit.code: unit for unit in _units()}
"""Code -> unit, every unit of the product; "" is a plain number."""

USUAL: Final[dict[Powers, str]] = {unit.powers: unit.code for unit in reversed(UNITS.values())}
"""Powers -> the code a result gets where nothing else says."""

_LONGEST: Final = 60
_ROUNDED: Final = Context(prec=28)
_EXACT: Final = Context(prec=MAX_PREC)


def unit(code: str) -> Unit:
    """The unit of a code, exactly as written.

    Raises:
        BayError: there is no such unit.
    """
    if code not in UNITS:
        raise BayError(
            tell("units-no-unit", code=code[:30]), "", tell("units-use-one-of", units=", ".join(c for c in UNITS if c))
        )
    return UNITS[code]


def dimension_name(powers: Powers) -> str:
    """What is measured, for a sentence: "torque"; a dimension nobody uses is spelled out: "length2 mass-1"."""
    if powers in NAMES:
        return tell(f"units-dimension-{NAMES[powers].replace(' ', '-')}")
    base = ("length", "mass", "time", "current", "temperature", "angle")
    parts = ((tell(f"units-dimension-{name}"), power) for name, power in zip(base, powers, strict=True) if power)
    return " ".join(f"{name}{'' if power == 1 else power}" for name, power in parts)


def possible(value: Decimal, code: str) -> bool:
    """False for a temperature below absolute zero. BayError: the unit is unknown or the value no ordinary number."""
    one = unit(code)
    return one.dimension != "temperature" or fraction(value) * one.factor + one.zero >= 0


def convert(value: Decimal, source: str, target: str) -> Decimal:
    """`value` of unit `source` in unit `target`: exact where it can be written out, else rounded to 28 figures.

    Raises:
        BayError: a unit is unknown, the two measure different things, the value is no ordinary number, or it is a
            temperature below absolute zero.
    """
    one, other = unit(source), unit(target)
    if one.powers != other.powers:
        measured, wanted = dimension_name(one.powers), dimension_name(other.powers)
        number = tell("units-a-number")
        what = tell(
            "units-measures-something-else",
            source=source or number,
            measured=measured,
            target=target or number,
            wanted=wanted,
        )
        raise BayError(what, "", tell("units-give-unit-of", measured=measured))
    exact = fraction(value)
    if (one.on_a_scale or other.on_a_scale) and not possible(value, source):
        raise BayError(tell("units-below-absolute-zero", value=value, unit=source), "", tell("units-check-temperature"))
    if source == target:
        return value
    return to_decimal((exact * one.factor + one.zero - other.zero) / other.factor)


def fraction(value: Decimal) -> Fraction:
    """`value` as a fraction.

    Raises:
        BayError: it is not finite, or longer or larger than any number of a workshop.
    """
    if not value.is_finite() or abs(value.adjusted()) > _LONGEST or len(value.as_tuple().digits) > _LONGEST:
        raise BayError(tell("units-no-ordinary-number", value=str(value)[:20]), "", tell("units-give-ordinary-number"))
    return Fraction(value)


def to_decimal(exact: Fraction) -> Decimal:
    """The exact value where it can be written out in a few figures, else rounded to 28."""
    rest, places = exact.denominator, 0
    for prime in (2, 5):
        power = 0
        while rest % prime == 0:
            rest, power = rest // prime, power + 1
        places = max(places, power)
    if rest != 1 or places > _LONGEST:
        return _ROUNDED.divide(Decimal(exact.numerator), Decimal(exact.denominator))
    return Decimal(exact.numerator * 10**places // exact.denominator).scaleb(-places, _EXACT)
