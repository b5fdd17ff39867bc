"""Every unit against pint, the printed factors of NIST SP 811, and what pint itself reads wrongly."""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction

import pint
import pytest
import scipy.constants
from hypothesis import given
from hypothesis import strategies as st

from bayvoice.errors import BayError
from bayvoice.language import units as spoken_units
from bayvoice.trade.units import find
from bayvoice.units import UNITS, convert, dimension_name, unit

REGISTRY: pint.UnitRegistry[float] = pint.UnitRegistry()

# Our code -> pint's spelling, where pint does not read the code itself, or reads something else.
PINT = {
    "": "dimensionless",
    "%": "percent",
    "N.m": "N*m",
    "kN.m": "kN*m",
    "N.cm": "N*cm",
    "N.mm": "N*mm",
    "lbf.ft": "lbf*ft",
    "lbf.in": "lbf*inch",
    "ozf.in": "force_ounce*inch",
    "kgf.m": "kgf*m",
    "kgf.cm": "kgf*cm",
    "in": "inch",
    "N/mm2": "N/mm**2",
    "inHg": "inHg",
    "mohm": "milliohm",
    "kohm": "kiloohm",
    "Mohm": "megaohm",
    "l": "liter",
    "ml": "milliliter",
    "cl": "centiliter",
    "dl": "deciliter",
    "cm3": "cm**3",
    "mm3": "mm**3",
    "m3": "m**3",
    "in3": "inch**3",
    "gal": "US_liquid_gallon",
    "qt": "US_liquid_quart",
    "pt": "US_pint",
    "floz": "US_fluid_ounce",
    "impgal": "imperial_gallon",
    "imppt": "imperial_pint",
    "t": "tonne",
    "rpm": "rpm",
    "deg/s": "deg/s",
    "mm2": "mm**2",
    "cm2": "cm**2",
    "m2": "m**2",
    "in2": "inch**2",
    "PS": "metric_horsepower",
    "kg/m3": "kg/m**3",
    "g/cm3": "g/cm**3",
    "l/min": "liter/minute",
    "ml/min": "milliliter/minute",
    "min": "minute",
    "h": "hour",
    "d": "day",
    "lb": "pound",
    "oz": "ounce",
    "ft": "foot",
    "psi": "psi",
    "thou": "thou",
}


def of_pint(value: float, source: str, target: str) -> float:
    quantity = REGISTRY.Quantity(value, PINT.get(source, source))
    return float(quantity.to(PINT.get(target, target)).magnitude)


@pytest.mark.parametrize("code", UNITS)
def test_every_unit_is_that_of_pint(code: str) -> None:
    """One unit of each, and a value with figures, into every other unit of its dimension."""
    for other, target in UNITS.items():
        if target.powers != UNITS[code].powers:
            continue
        for value in ("1", "32.50"):
            ours = float(convert(Decimal(value), code, other))
            assert math.isclose(ours, of_pint(float(value), code, other), rel_tol=1e-12), (code, other)


def test_there_is_one_table() -> None:
    """What can be said is part of it, unit by unit the same object, and converted by the same function."""
    assert all(UNITS[code] is unit for code, unit in spoken_units.UNITS.items())
    assert spoken_units.convert is convert
    assert {code for code, unit in UNITS.items() if unit.likely} == set(spoken_units.UNITS)


@pytest.mark.parametrize("code", spoken_units.UNITS)
def test_what_is_likely_is_alike_in_all_units_of_a_dimension(code: str) -> None:
    """A slipped point in the table: the greatest likely value, in the first unit of the dimension, is within a
    hundred times of that unit's own, but for electrical units, whose small ones are for small things."""
    mine = UNITS[code]
    first = next(unit for unit in spoken_units.UNITS.values() if unit.dimension == mine.dimension)
    assert mine.likely is not None
    assert first.likely is not None
    assert mine.likely[0] < mine.likely[1]
    highest = convert(mine.likely[1], code, first.code) / first.likely[1]
    low = (
        Decimal("0.00001") if mine.dimension in ("length", "volume", "mass", "current", "voltage") else Decimal("0.01")
    )
    assert low <= highest <= 1_000_000 if mine.dimension == "resistance" else low <= highest <= 100


def test_printed_factors_of_torque() -> None:
    """NIST SP 811, appendix B, seven figures (from memory); scipy's constants; a table citing SP 811 in full."""
    assert convert(Decimal(1), "lbf.ft", "N.m") == Decimal("1.3558179483314004")
    for code, printed in [
        ("lbf.ft", "1.355818"),
        ("lbf.in", "0.1129848"),
        ("kgf.m", "9.80665"),
        ("ozf.in", "0.007061552"),
    ]:
        found = convert(Decimal(1), code, "N.m")
        assert round(found, len(printed.partition(".")[2])) == Decimal(printed)
    assert math.isclose(
        float(convert(Decimal(1), "lbf.ft", "N.m")), scipy.constants.lbf * scipy.constants.foot, rel_tol=1e-15
    )
    assert math.isclose(float(convert(Decimal(1), "psi", "Pa")), scipy.constants.psi, rel_tol=1e-15)


@pytest.mark.parametrize(
    ("celsius", "fahrenheit"),
    [("-40", "-40"), ("0", "32"), ("100", "212"), ("37.0", "98.6"), ("-273.15", "-459.67")],
)
def test_temperatures(celsius: str, fahrenheit: str) -> None:
    """Fixed points of the Fahrenheit scale (common practice, no source) and pint."""
    assert convert(Decimal(celsius), "degC", "degF") == Decimal(fahrenheit)
    assert convert(Decimal(fahrenheit), "degF", "degC") == Decimal(celsius)
    assert convert(Decimal(celsius), "degC", "K") == Decimal(celsius) + Decimal("273.15")
    assert math.isclose(of_pint(float(celsius), "degC", "degF"), float(fahrenheit), abs_tol=1e-9)


def test_dual_figures_in_print() -> None:
    """Pairs printed in service literature; they are roundings, one of them further off than rounding explains."""
    for metric, imperial, other, percent in [
        ("40", "29.5", "lbf.ft", "-0.01"),
        ("122", "90", "lbf.ft", "0.02"),
        ("125", "92", "lbf.ft", "-0.21"),
        ("20", "15.0", "lbf.ft", "1.69"),
        ("48", "35", "lbf.ft", "-1.14"),
        ("11", "95", "lbf.in", "-2.42"),
    ]:
        exact = convert(Decimal(imperial), other, "N.m")
        assert round((exact / Decimal(metric) - 1) * 100, 2) == Decimal(percent)


@given(st.decimals(-(10**6), 10**6, places=4), st.data())
def test_there_and_back(value: Decimal, data: st.DataObject) -> None:
    """Every conversion undoes itself to 25 figures or exactly."""
    one = data.draw(st.sampled_from([code for code in UNITS if not UNITS[code].on_a_scale]))
    other = data.draw(st.sampled_from([c for c in UNITS if UNITS[c].powers == UNITS[one].powers]))
    if UNITS[other].on_a_scale:
        return
    back = convert(convert(value, one, other), other, one)
    assert abs(Fraction(back) - Fraction(value)) <= abs(Fraction(value)) / 10**25


@given(st.decimals(Decimal("-273.15"), 10**5, places=3))
def test_scales_there_and_back(value: Decimal) -> None:
    assert abs(convert(convert(value, "degC", "degF"), "degF", "degC") - value) < Decimal("1e-20")


@pytest.mark.parametrize(
    ("written", "code"),
    [
        ("Nm", "N.m"),
        ("N·m", "N.m"),
        ("nm", "N.m"),
        ("ft-lb", "lbf.ft"),
        ("ft.lbs", "lbf.ft"),
        ("ft*lbf", "lbf.ft"),
        ("in-lb", "lbf.in"),
        ("mkg", "kgf.m"),
        ("cmkg", "kgf.cm"),
        ("°C", "degC"),
        ("C", "degC"),
        ("PSI", "psi"),
        ("BAR", "bar"),
        ("µm", "um"),
        ("inches", "in"),
        ("foot pounds", "lbf.ft"),
        ("Litres", "l"),
        ("cc", "cm3"),
    ],
)
def test_ways_to_write_a_unit(written: str, code: str) -> None:
    found = find(written)
    assert found is not None
    assert found.code == code


def test_where_pint_reads_something_else() -> None:
    """ "Nm" is a textile count to pint and "mil" may be an angle: why units are read by our table first."""
    assert REGISTRY("32.5 Nm").dimensionality != REGISTRY("1 N*m").dimensionality
    assert find("Nm") == unit("N.m")
    assert REGISTRY("25 mil").dimensionless
    for written in ("mil", "mils"):
        with pytest.raises(BayError, match="two meanings"):
            find(written)
    with pytest.raises(pint.DimensionalityError):
        REGISTRY("59 ft-lb")
    assert find("ft-lb") == unit("lbf.ft")
    assert find("Mohm") == unit("Mohm")
    assert find("mohm") == unit("mohm")
    assert find("MOHM") is None  # milli or mega: not guessed
    for written in ("MV", "MA", "mpa", "ML", "Mg"):  # likewise
        assert find(written) is None
    assert (find("MM"), find("KG"), find("mV")) == (unit("mm"), unit("kg"), unit("mV"))
    assert find("furlong") is None


@pytest.mark.parametrize(
    ("value", "source", "target", "words"),
    [
        ("1", "N.m", "mm", "measures torque and mm length"),
        ("1", "degC", "deg", "temperature"),
        ("-274", "degC", "degF", "below absolute zero"),
        ("-1", "K", "degC", "below absolute zero"),
        ("nan", "mm", "in", "not an ordinary number"),
        ("1e400", "mm", "in", "not an ordinary number"),
        ("1", "ell", "mm", 'no unit "ell"'),
    ],
)
def test_refused(value: str, source: str, target: str, words: str) -> None:
    with pytest.raises(BayError, match=words):
        convert(Decimal(value), source, target)


def test_dimensions_have_names() -> None:
    assert dimension_name(unit("psi").powers) == "pressure"
    assert dimension_name((2, 1, 0, 0, 0, 0)) == "length2 mass"
