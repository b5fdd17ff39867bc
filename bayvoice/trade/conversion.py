"""A value in another unit, with as many figures as it can bear.

Rounding follows NIST Special Publication 811 (2008), B.7: the last place kept is worth no more than the last place of
what was converted. On top of that at least three figures are kept, so that "1 mm" is 39.4 thou and not 40, and at most
six.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Context, Decimal
from fractions import Fraction
from typing import Final

from bayvoice.errors import BayError
from bayvoice.language.texts import tell
from bayvoice.units import convert, dimension_name, unit

_WIDE: Final = Context(prec=90, rounding=ROUND_HALF_EVEN)
_LEAST, _MOST = 3, 6

# unit -> the unit people ask for beside it
_COUNTERPART: Final = {
    "N.m": "lbf.ft",
    "lbf.ft": "N.m",
    "lbf.in": "N.m",
    "ozf.in": "N.m",
    "kgf.m": "N.m",
    "kgf.cm": "N.m",
    "mm": "in",
    "in": "mm",
    "um": "thou",
    "thou": "mm",
    "cm": "in",
    "m": "ft",
    "ft": "m",
    "bar": "psi",
    "psi": "bar",
    "kPa": "psi",
    "MPa": "psi",
    "mbar": "psi",
    "inHg": "mbar",
    "mmHg": "mbar",
    "degC": "degF",
    "degF": "degC",
    "l": "qt",
    "ml": "floz",
    "cm3": "in3",
    "in3": "cm3",
    "qt": "l",
    "pt": "l",
    "gal": "l",
    "floz": "ml",
    "impgal": "l",
    "imppt": "l",
    "kg": "lb",
    "lb": "kg",
    "g": "oz",
    "oz": "g",
    "N": "lbf",
    "lbf": "N",
    "kN": "lbf",
    "kgf": "N",
    "km/h": "mph",
    "mph": "km/h",
    "kW": "hp",
    "hp": "kW",
    "PS": "kW",
    "mm2": "in2",
    "in2": "mm2",
}
_THOU_BELOW: Final = Decimal("2.54")


@dataclass(frozen=True, slots=True)
class Converted:
    """`exact`: to 28 figures where it does not end; `rounded`: as many as are meaningful; both in `unit`."""

    exact: Decimal
    rounded: Decimal
    unit: str


def convert_spoken(value: Decimal, unit: str) -> tuple[Decimal, str]:
    """The customary counterpart of a value: newton metres for foot pounds, psi for bar, thou for a small millimetre.

    Returns:
        The value rounded to what is meaningful, and its unit code.

    Raises:
        BayError: the unit is unknown or has no counterpart, the value is no ordinary number, or a temperature lies
            below absolute zero.
    """
    found = converted(value, unit, counterpart(value, unit))
    return found.rounded, found.unit


def counterpart(value: Decimal, code: str) -> str:
    """The unit that `convert_spoken` converts into. BayError as there."""
    found = unit(code)
    if code == "mm" and value.is_finite() and abs(value) < _THOU_BELOW:
        return "thou"
    if code not in _COUNTERPART:
        raise BayError(
            tell("trade-no-second-unit", unit=found.name)
            if found.name
            else tell("trade-plain-number-has-no-second-unit"),
            "",
            tell("trade-name-unit-wanted", measured=dimension_name(found.powers)),
        )
    return _COUNTERPART[code]


def converted(value: Decimal, source: str, target: str) -> Converted:
    """`value` of `source` in `target`, exact and rounded. BayError as `units.convert`."""
    exact = convert(value, source, target)
    if source == target:
        return Converted(value, value, target)
    ratio = unit(source).factor / unit(target).factor
    exponent = value.as_tuple().exponent
    assert isinstance(exponent, int)
    place = _tens(Fraction(10) ** exponent * ratio)
    if exact:
        place = max(min(place, exact.adjusted() - _LEAST + 1), exact.adjusted() - _MOST + 1)
    rounded = exact.quantize(Decimal(1).scaleb(place), context=_WIDE)
    # Tens and hundreds that rounding would leave as 1.2E+3 are written out.
    return Converted(exact, rounded if place <= 0 else rounded.quantize(Decimal(1), context=_WIDE), target)


def _tens(value: Fraction) -> int:
    """The power of ten at or below a positive value."""
    power = len(str(value.numerator)) - len(str(value.denominator))
    return power if Fraction(10) ** power <= value else power - 1
