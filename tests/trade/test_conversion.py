"""What a technician is told in the other unit, and how far it is rounded."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayvoice.errors import BayError
from bayvoice.trade.conversion import _COUNTERPART, convert_spoken, converted
from bayvoice.units import UNITS, convert


@pytest.mark.parametrize(
    ("value", "unit", "expected", "other"),
    [
        ("59", "lbf.ft", "80.0", "N.m"),
        ("40", "N.m", "29.5", "lbf.ft"),  # printed as 40 N.m (29.5 lbf.ft) in service literature
        ("122", "N.m", "90.0", "lbf.ft"),  # printed 122/90
        ("125", "N.m", "92.2", "lbf.ft"),  # printed 125/92
        ("32.5", "N.m", "23.97", "lbf.ft"),
        ("95", "lbf.in", "10.7", "N.m"),
        ("1", "mm", "39.4", "thou"),
        ("0.05", "mm", "1.97", "thou"),
        ("25.40", "mm", "1.0000", "in"),  # a hundredth of a millimetre is 0.0004 inches
        ("2", "thou", "0.0508", "mm"),
        ("2.5", "bar", "36.3", "psi"),
        ("32", "psi", "2.21", "bar"),
        ("220", "kPa", "31.9", "psi"),
        ("23", "degC", "73.4", "degF"),
        ("-40", "degC", "-40.0", "degF"),
        ("0", "degC", "32.0", "degF"),
        ("98.6", "degF", "37.00", "degC"),
        ("3.8", "l", "4.02", "qt"),
        ("70", "kg", "154", "lb"),
        ("50", "mph", "80.5", "km/h"),
        ("0", "mm", "0", "thou"),
        ("123456", "N.m", "91056.5", "lbf.ft"),
        ("12345678", "N.m", "9105700", "lbf.ft"),  # no more than six figures
    ],
)
def test_counterpart(value: str, unit: str, expected: str, other: str) -> None:
    """Digits count: the rounded value is written with exactly the figures it can bear."""
    found, code = convert_spoken(Decimal(value), unit)
    assert (str(found), code) == (expected, other)


def test_no_counterpart_and_nonsense() -> None:
    for value, unit, words in [
        ("12", "V", "volts have no second unit"),
        ("90", "deg", "degrees have no second unit"),
        ("1", "cubit", 'no unit "cubit"'),
        ("-300", "degC", "absolute zero"),
        ("nan", "mm", "not an ordinary number"),
    ]:
        with pytest.raises(BayError, match=words):
            convert_spoken(Decimal(value), unit)


def test_counterparts_measure_the_same() -> None:
    for code, other in _COUNTERPART.items():
        assert UNITS[code].dimension == UNITS[other].dimension


@given(st.decimals(-(10**5), 10**5, places=3), st.sampled_from(sorted(_COUNTERPART)))
def test_rounding_loses_less_than_the_value_had(value: Decimal, code: str) -> None:
    """Within half of what the last place of the value is worth, or half of its sixth figure, or under 0.5 percent."""
    if value == 0 or (UNITS[code].on_a_scale and value < -200):
        return
    found = converted(value, code, _COUNTERPART[code])
    exact = Fraction(convert(value, code, found.unit))
    worth = Fraction(1, 1000) * UNITS[code].factor / UNITS[found.unit].factor
    loss = abs(Fraction(found.rounded) - exact)
    assert loss <= max(worth / 2, abs(exact) * Fraction(5, 10**6))
    assert len(found.rounded.normalize().as_tuple().digits) <= 6
