"""The ways a person writes a unit in an expression or behind a figure. The units themselves: `bayvoice.units`."""

from __future__ import annotations

from typing import Final

from bayvoice.errors import BayError
from bayvoice.language.texts import tell
from bayvoice.units import UNITS, Unit

# Other ways to write a unit: small letters, without hyphens, spaces and dots. Each has one meaning in a workshop.
_ALIASES: Final = {
    "nm": "N.m",
    "newtonmetre": "N.m",
    "newtonmeter": "N.m",
    "ftlb": "lbf.ft",
    "ftlbs": "lbf.ft",
    "ftlbf": "lbf.ft",
    "lbft": "lbf.ft",
    "lbfft": "lbf.ft",
    "footpound": "lbf.ft",
    "poundfoot": "lbf.ft",
    "poundfeet": "lbf.ft",
    "inlb": "lbf.in",
    "inlbs": "lbf.in",
    "inlbf": "lbf.in",
    "lbin": "lbf.in",
    "lbfin": "lbf.in",
    "inchpound": "lbf.in",
    "inoz": "ozf.in",
    "ozin": "ozf.in",
    "inozf": "ozf.in",
    "ozfin": "ozf.in",
    "kgm": "kgf.m",
    "mkg": "kgf.m",
    "kgfm": "kgf.m",
    "kgcm": "kgf.cm",
    "cmkg": "kgf.cm",
    "kgfcm": "kgf.cm",
    "µm": "um",
    "μm": "um",
    "micron": "um",
    "inch": "in",
    '"': "in",
    "foot": "ft",
    "feet": "ft",
    "°": "deg",
    "degree": "deg",
    "°c": "degC",
    "c": "degC",
    "celsius": "degC",
    "°f": "degF",
    "f": "degF",
    "fahrenheit": "degF",
    "kelvin": "K",
    "ω": "ohm",
    "litre": "l",
    "liter": "l",
    "millilitre": "ml",
    "milliliter": "ml",
    "cc": "cm3",
    "cm³": "cm3",
    "mm³": "mm3",
    "m³": "m3",
    "mm²": "mm2",
    "cm²": "cm2",
    "m²": "m2",
    "gallon": "gal",
    "usgal": "gal",
    "quart": "qt",
    "pint": "pt",
    "tonne": "t",
    "pound": "lb",
    "ounce": "oz",
    "lbs": "lb",
    "sec": "s",
    "second": "s",
    "minute": "min",
    "hr": "h",
    "hour": "h",
    "day": "d",
    "newton": "N",
    "kilonewton": "kN",
    "kmh": "km/h",
    "kph": "km/h",
    "percent": "%",
    "volt": "V",
    "amp": "A",
    "millimetre": "mm",
    "millimeter": "mm",
    "gram": "g",
    "kilogram": "kg",
    "kilo": "kg",
    "horsepower": "hp",
    "pascal": "Pa",
    "kilopascal": "kPa",
    "n/mm²": "N/mm2",
}

_AMBIGUOUS: Final = {"mil": "trade-mil-or-thou", "mils": "trade-mils-or-thou", "ozfl": "trade-write-floz"}
"""What has two meanings -> the sentence that says which, and what to write."""


def find(written: str) -> Unit | None:
    """The unit a person may have meant by `written` ("Nm", "ft-lb", "°C"), or None.

    Raises:
        BayError: it is written in a way that has two meanings ("mil").
    """
    plain = written.strip()
    if plain in UNITS:
        return UNITS[plain]
    if plain.lower() in _AMBIGUOUS:
        raise BayError(tell("trade-unit-has-two-meanings", plain=plain), "", tell(_AMBIGUOUS[plain.lower()]))
    key = plain.lower().translate({ord(c): None for c in "-·.*_ ⋅"})
    for candidate in (key, key.removesuffix("s"), key.removesuffix("es")):
        if candidate in _ALIASES:
            return UNITS[_ALIASES[candidate]]
    # Small or capital decides between milli and mega, so only there it is not overlooked.
    same = [code for code in UNITS if code.lower() == plain.lower()]
    if len(same) != 1 or (plain[:1] in "mM" and plain[:1] != same[0][0] and plain != "MM"):
        return None
    return UNITS[same[0]]
