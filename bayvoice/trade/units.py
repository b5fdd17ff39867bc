"""Units with their dimensions, for arithmetic: exact factors, so that a conversion is right to the last digit.

Every unit is a factor times powers of metre, kilogram, second, ampere, kelvin and degree of angle; an angle has a
dimension here, so that 90 degrees are never taken for a number or for a temperature. Temperatures on a scale (degC,
degF) have a zero of their own; a difference of them is in K.

Factors are exact by definition. BIPM, The International System of Units, 9th edition (2019): SI, litre, minute, hour,
day, tonne, degree Celsius. NIST Special Publication 811 (2008), appendix B: inch 0.0254 m, pound 0.45359237 kg,
standard gravity 9.80665 m/s2, US gallon 231 in3, degree Fahrenheit. From memory: bar = 100 kPa, imperial gallon
4.54609 l, metric horsepower 75 kgf.m/s, conventional mercury 13 595.1 kg/m3.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import MAX_PREC, Context, Decimal
from fractions import Fraction
from typing import Final

from bayvoice.errors import BayError

Dimension = tuple[int, int, int, int, int, int]
"""Powers of length, mass, time, current, temperature, angle."""

NONE: Final[Dimension] = (0, 0, 0, 0, 0, 0)
_F: Final = Fraction
_INCH: Final = _F("0.0254")
_FOOT: Final = 12 * _INCH
_MILE: Final = 5280 * _FOOT
_POUND: Final = _F("0.45359237")
_G: Final = _F("9.80665")
_LBF: Final = _POUND * _G
_MERCURY: Final = _F("13595.1") * _G
_LONGEST: Final = 60
_ROUNDED: Final = Context(prec=28)
_EXACT: Final = Context(prec=MAX_PREC)


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: `factor` of the dimension's base unit, with its zero at `zero` base units (scales of temperature)."""

    code: str
    name: str
    dimension: Dimension
    factor: Fraction
    zero: Fraction = Fraction(0)

    @property
    def on_a_scale(self) -> bool:
        """True where values are points on a scale and not amounts: degC, degF."""
        return bool(self.zero)


_DIMENSIONS: Final[dict[str, Dimension]] = {
    "number": NONE,
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
    "speed of rotation": (0, 0, -1, 0, 0, 1),
    "speed": (1, 0, -1, 0, 0, 0),
    "area": (2, 0, 0, 0, 0, 0),
    "frequency": (0, 0, -1, 0, 0, 0),
    "power": (2, 1, -3, 0, 0, 0),
    "density": (-3, 1, 0, 0, 0, 0),
    "stiffness": (0, 1, -2, 0, 0, 0),
    "flow": (3, 0, -1, 0, 0, 0),
}

# dimension -> code: (spoken name, factor to the SI base); the first of each is what a result is given in
_TABLE: Final[dict[str, dict[str, tuple[str, Fraction]]]] = {
    "number": {"": ("", _F(1)), "%": ("percent", _F(1, 100))},
    "torque": {
        "N.m": ("newton metres", _F(1)),
        "kN.m": ("kilonewton metres", _F(1000)),
        "N.cm": ("newton centimetres", _F(1, 100)),
        "N.mm": ("newton millimetres", _F(1, 1000)),
        "lbf.ft": ("foot pounds", _LBF * _FOOT),
        "lbf.in": ("inch pounds", _LBF * _INCH),
        "ozf.in": ("inch ounces", _LBF / 16 * _INCH),
        "kgf.m": ("kilogram-force metres", _G),
        "kgf.cm": ("kilogram-force centimetres", _G / 100),
    },
    "length": {
        "mm": ("millimetres", _F(1, 1000)),
        "um": ("microns", _F(1, 10**6)),
        "cm": ("centimetres", _F(1, 100)),
        "m": ("metres", _F(1)),
        "km": ("kilometres", _F(1000)),
        "thou": ("thou", _INCH / 1000),
        "in": ("inches", _INCH),
        "ft": ("feet", _FOOT),
    },
    "angle": {"deg": ("degrees", _F(1)), "arcmin": ("minutes of arc", _F(1, 60)), "turn": ("turns", _F(360))},
    "pressure": {
        "bar": ("bar", _F(100_000)),
        "mbar": ("millibar", _F(100)),
        "Pa": ("pascals", _F(1)),
        "hPa": ("hectopascals", _F(100)),
        "kPa": ("kilopascals", _F(1000)),
        "MPa": ("megapascals", _F(10**6)),
        "GPa": ("gigapascals", _F(10**9)),
        "N/mm2": ("newtons per square millimetre", _F(10**6)),
        "psi": ("pounds per square inch", _LBF / _INCH**2),
        "inHg": ("inches of mercury", _MERCURY * _INCH),
        "mmHg": ("millimetres of mercury", _MERCURY / 1000),
    },
    "temperature": {"K": ("kelvins", _F(1))},
    "voltage": {"V": ("volts", _F(1)), "mV": ("millivolts", _F(1, 1000)), "kV": ("kilovolts", _F(1000))},
    "current": {"A": ("amps", _F(1)), "mA": ("milliamps", _F(1, 1000))},
    "resistance": {
        "ohm": ("ohms", _F(1)),
        "mohm": ("milliohms", _F(1, 1000)),
        "kohm": ("kilohms", _F(1000)),
        "Mohm": ("megohms", _F(10**6)),
    },
    "volume": {
        "l": ("litres", _F(1, 1000)),
        "ml": ("millilitres", _F(1, 10**6)),
        "cl": ("centilitres", _F(1, 10**5)),
        "dl": ("decilitres", _F(1, 10**4)),
        "cm3": ("cubic centimetres", _F(1, 10**6)),
        "mm3": ("cubic millimetres", _F(1, 10**9)),
        "m3": ("cubic metres", _F(1)),
        "in3": ("cubic inches", _INCH**3),
        "gal": ("US gallons", 231 * _INCH**3),
        "qt": ("US quarts", _F(231, 4) * _INCH**3),
        "pt": ("US pints", _F(231, 8) * _INCH**3),
        "floz": ("US fluid ounces", _F(231, 128) * _INCH**3),
        "impgal": ("imperial gallons", _F("0.00454609")),
        "imppt": ("imperial pints", _F("0.00454609") / 8),
    },
    "mass": {
        "kg": ("kilograms", _F(1)),
        "g": ("grams", _F(1, 1000)),
        "mg": ("milligrams", _F(1, 10**6)),
        "t": ("tonnes", _F(1000)),
        "lb": ("pounds", _POUND),
        "oz": ("ounces", _POUND / 16),
    },
    "time": {
        "s": ("seconds", _F(1)),
        "ms": ("milliseconds", _F(1, 1000)),
        "min": ("minutes", _F(60)),
        "h": ("hours", _F(3600)),
        "d": ("days", _F(86400)),
    },
    "force": {
        "N": ("newtons", _F(1)),
        "kN": ("kilonewtons", _F(1000)),
        "lbf": ("pounds-force", _LBF),
        "kgf": ("kilograms-force", _G),
    },
    "speed of rotation": {"rpm": ("revolutions per minute", _F(6)), "deg/s": ("degrees per second", _F(1))},
    "speed": {
        "km/h": ("kilometres per hour", _F(1000, 3600)),
        "m/s": ("metres per second", _F(1)),
        "mm/s": ("millimetres per second", _F(1, 1000)),
        "m/min": ("metres per minute", _F(1, 60)),
        "mph": ("miles per hour", _MILE / 3600),
    },
    "area": {
        "mm2": ("square millimetres", _F(1, 10**6)),
        "cm2": ("square centimetres", _F(1, 10**4)),
        "m2": ("square metres", _F(1)),
        "in2": ("square inches", _INCH**2),
    },
    "frequency": {"Hz": ("hertz", _F(1)), "kHz": ("kilohertz", _F(1000))},
    "power": {
        "kW": ("kilowatts", _F(1000)),
        "W": ("watts", _F(1)),
        "hp": ("horsepower", 550 * _FOOT * _LBF),
        "PS": ("metric horsepower", 75 * _G),
    },
    "density": {"kg/m3": ("kilograms per cubic metre", _F(1)), "g/cm3": ("grams per cubic centimetre", _F(1000))},
    "stiffness": {"N/mm": ("newtons per millimetre", _F(1000)), "kN/mm": ("kilonewtons per millimetre", _F(10**6))},
    "flow": {"l/min": ("litres per minute", _F(1, 60_000)), "ml/min": ("millilitres per minute", _F(1, 60 * 10**6))},
}

_SCALES: Final = (
    Unit("degC", "degrees Celsius", _DIMENSIONS["temperature"], _F(1), _F("273.15")),
    Unit("degF", "degrees Fahrenheit", _DIMENSIONS["temperature"], _F(5, 9), _F("273.15") - 32 * _F(5, 9)),
)

UNITS: Final[dict[str, Unit]] = {
    code: Unit(code, name, _DIMENSIONS[dimension], factor)
    for dimension, rows in _TABLE.items()
    for code, (name, factor) in rows.items()
} | {unit.code: unit for unit in _SCALES}
"""Code -> unit; "" is a plain number."""

NAMES: Final[dict[Dimension, str]] = {dimension: name for name, dimension in _DIMENSIONS.items()}
"""Dimension -> what is measured."""

USUAL: Final[dict[Dimension, str]] = {_DIMENSIONS[name]: next(iter(rows)) for name, rows in _TABLE.items()}
"""Dimension -> the code a result gets where nothing else says."""

# Other ways to write a unit: small letters, without hyphens, spaces and dots. Each has one meaning in a workshop.
_ALIASES: Final = {
    "nm": "N.m", "newtonmetre": "N.m", "newtonmeter": "N.m", "ftlb": "lbf.ft", "ftlbs": "lbf.ft", "ftlbf": "lbf.ft",
    "lbft": "lbf.ft", "lbfft": "lbf.ft", "footpound": "lbf.ft", "poundfoot": "lbf.ft", "poundfeet": "lbf.ft",
    "inlb": "lbf.in", "inlbs": "lbf.in", "inlbf": "lbf.in", "lbin": "lbf.in", "lbfin": "lbf.in", "inchpound": "lbf.in",
    "inoz": "ozf.in", "ozin": "ozf.in", "inozf": "ozf.in", "ozfin": "ozf.in", "kgm": "kgf.m", "mkg": "kgf.m",
    "kgfm": "kgf.m", "kgcm": "kgf.cm", "cmkg": "kgf.cm", "kgfcm": "kgf.cm",
    "µm": "um", "μm": "um", "micron": "um", "inch": "in", '"': "in", "foot": "ft", "feet": "ft",
    "°": "deg", "degree": "deg", "°c": "degC", "c": "degC", "celsius": "degC", "°f": "degF", "f": "degF",
    "fahrenheit": "degF", "kelvin": "K", "ω": "ohm", "litre": "l", "liter": "l", "millilitre": "ml", "milliliter": "ml",
    "cc": "cm3", "cm³": "cm3", "mm³": "mm3", "m³": "m3", "mm²": "mm2", "cm²": "cm2", "m²": "m2", "gallon": "gal",
    "usgal": "gal", "quart": "qt", "pint": "pt", "tonne": "t", "pound": "lb", "ounce": "oz", "lbs": "lb", "sec": "s",
    "second": "s", "minute": "min", "hr": "h", "hour": "h", "day": "d", "newton": "N", "kilonewton": "kN",
    "kmh": "km/h", "kph": "km/h", "percent": "%", "volt": "V", "amp": "A", "millimetre": "mm", "millimeter": "mm",
    "gram": "g", "kilogram": "kg", "kilo": "kg", "horsepower": "hp", "pascal": "Pa", "kilopascal": "kPa",
    "n/mm²": "N/mm2",
}  # fmt: skip

_AMBIGUOUS: Final = {
    "mil": '"mil" may be a thousandth of an inch or an angle; write "thou"',
    "mils": '"mils" may be thousandths of an inch or angles; write "thou"',
    "ozfl": 'write "floz"',
}


def unit(code: str) -> Unit:
    """The unit of a code, exactly as written.

    Raises:
        BayError: there is no such unit.
    """
    if code not in UNITS:
        raise BayError(f'there is no unit "{code[:30]}"', "", f"use one of {', '.join(c for c in UNITS if c)}")
    return UNITS[code]


def find(written: str) -> Unit | None:
    """The unit a person may have meant by `written` ("Nm", "ft-lb", "°C"), or None.

    Raises:
        BayError: it is written in a way that has two meanings ("mil").
    """
    plain = written.strip()
    if plain in UNITS:
        return UNITS[plain]
    if plain.lower() in _AMBIGUOUS:
        raise BayError(f'"{plain}" has two meanings', "", _AMBIGUOUS[plain.lower()])
    key = plain.lower().translate({ord(c): None for c in "-·.*_ ⋅"})
    for candidate in (key, key.removesuffix("s"), key.removesuffix("es")):
        if candidate in _ALIASES:
            return UNITS[_ALIASES[candidate]]
    # Small or capital decides between milli and mega, so only there it is not overlooked.
    same = [code for code in UNITS if code.lower() == plain.lower()]
    if len(same) != 1 or (plain[:1] in "mM" and plain[:1] != same[0][0] and plain != "MM"):
        return None
    return UNITS[same[0]]


def dimension_name(dimension: Dimension) -> str:
    """What is measured, for a sentence: "torque"; a dimension nobody uses is spelled out: "length2 mass-1"."""
    if dimension in NAMES:
        return NAMES[dimension]
    base = ("length", "mass", "time", "current", "temperature", "angle")
    return " ".join(f"{n}{'' if p == 1 else p}" for n, p in zip(base, dimension, strict=True) if p)


def convert(value: Decimal, source: str, target: str) -> Decimal:
    """`value` of unit `source` in unit `target`: exact where it can be written out, else rounded to 28 figures.

    Raises:
        BayError: a unit is unknown, the two measure different things, the value is no ordinary number, or it is a
            temperature below absolute zero.
    """
    one, other = unit(source), unit(target)
    if one.dimension != other.dimension:
        raise BayError(
            f"{source or 'a number'} measures {dimension_name(one.dimension)} and "
            f"{target or 'a number'} {dimension_name(other.dimension)}",
            "",
            f"give a unit of {dimension_name(one.dimension)}",
        )
    in_base = fraction(value) * one.factor + one.zero
    if (one.on_a_scale or other.on_a_scale) and in_base < 0:
        raise BayError(f"{value} {source} is below absolute zero", "", "check the temperature")
    if source == target:
        return value
    return to_decimal((in_base - other.zero) / other.factor)


def fraction(value: Decimal) -> Fraction:
    """`value` as a fraction.

    Raises:
        BayError: it is not finite, or longer or larger than any number of a workshop.
    """
    if not value.is_finite() or abs(value.adjusted()) > _LONGEST or len(value.as_tuple().digits) > _LONGEST:
        raise BayError(f"{str(value)[:20]} is not an ordinary number", "", "give an ordinary decimal number")
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
