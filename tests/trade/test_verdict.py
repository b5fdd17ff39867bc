"""The decision rule of ISO 14253-1:2013 on cases worked by hand, and what must hold for any reading.

ISO 14253-1:1998 and 2013, "Geometrical product specifications (GPS), Inspection by measurement of workpieces and
measuring equipment, Part 1: Decision rules for proving conformity or nonconformity with specifications", 5.2 to 5.4
(from memory): conformity is proven within the specification reduced by U at each limit, nonconformity outside the
specification widened by U. What the edition of 2017 does otherwise: `test_the_third_edition_decides_no_less`.
"""

from __future__ import annotations

from decimal import Decimal, localcontext
from fractions import Fraction

import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from bayvoice.errors import BayError
from bayvoice.trade.verdict import guarded, judge, verdict

# Shaft 24.97 to 25.03 mm, U = 0.01 mm: proven within 24.98 to 25.02, proven outside below 24.96 and above 25.04.
TWO_SIDED = [
    ("25.000", "within"),
    ("24.980", "within"),  # the whole of 24.97 to 24.99 conforms
    ("25.020", "within"),
    ("24.979", "close"),
    ("24.970", "close"),  # on the limit: may be either
    ("24.960", "close"),  # 24.97, a permissible value, is still possible
    ("24.959", "low"),
    ("25.021", "close"),
    ("25.040", "close"),
    ("25.041", "high"),
]


@pytest.mark.parametrize(("reading", "expected"), TWO_SIDED)
def test_two_limits(reading: str, expected: str) -> None:
    assert judge(Decimal(reading), Decimal("24.97"), Decimal("25.03"), Decimal("0.01")) == expected


@pytest.mark.parametrize(
    ("reading", "low", "high", "expected"),
    [
        ("0.08", None, "0.10", "within"),  # run-out at most 0.10, U 0.02
        ("0.081", None, "0.10", "close"),
        ("0.12", None, "0.10", "close"),
        ("0.1200001", None, "0.10", "high"),
        ("-5", None, "0.10", "within"),
        ("6.52", "6.50", None, "within"),  # lining at least 6.50
        ("6.51", "6.50", None, "close"),
        ("6.48", "6.50", None, "close"),
        ("6.47", "6.50", None, "low"),
        ("1e6", None, None, "within"),
    ],
)
def test_one_limit(reading: str, low: str | None, high: str | None, expected: str) -> None:
    """One-sided limits have a guard band on their one side only."""
    assert judge(Decimal(reading), low and Decimal(low), high and Decimal(high), Decimal("0.02")) == expected  # type: ignore[arg-type]


def test_the_third_edition_decides_no_less() -> None:
    """ISO 14253-1:2017 wants 95 % probability, by default, for either verdict (from memory), which is a guard band of
    1.65 standard uncertainties (its p. 16, read at second hand) where the limits are far apart. The probabilities are
    scipy's, for a normal distribution about the reading with U = 2 u (k = 2): at the edge of what is proven here they
    are 97.7 %, so our verdicts are the third edition's too; between 1.65 u and 2 u only the third edition decides."""
    low, high, u = 10.0, 20.0, 0.05
    assert scipy.stats.norm.sf(-1.65) == pytest.approx(0.95, abs=0.001)

    def conforms(reading: str) -> float:
        return float(scipy.stats.norm.cdf(high, float(reading), u) - scipy.stats.norm.cdf(low, float(reading), u))

    def ours(reading: str) -> str:
        return judge(Decimal(reading), Decimal(10), Decimal(20), Decimal("0.10"))

    for reading, verdict_here, chance in [
        ("19.90", "within", 0.977),
        ("10.10", "within", 0.977),
        ("20.101", "high", 0.022),
        ("9.899", "low", 0.022),
        ("19.91", "close", 0.964),
        ("10.09", "close", 0.964),
        ("20.09", "close", 0.036),
        ("20.00", "close", 0.5),
    ]:
        assert ours(reading) == verdict_here
        assert conforms(reading) == pytest.approx(chance, abs=0.001)


def test_simple_acceptance_without_uncertainty() -> None:
    """No uncertainty given: inclusive limits decide and nothing is too close to call."""
    for reading, expected in [("0.04", "low"), ("0.05", "within"), ("0.15", "within"), ("0.1500000001", "high")]:
        assert judge(Decimal(reading), Decimal("0.05"), Decimal("0.15")) == expected
        assert judge(Decimal(reading), Decimal("0.05"), Decimal("0.15"), Decimal(0)) == expected
        assert verdict(Decimal(reading), Decimal("0.05"), Decimal("0.15")) == expected


def test_a_gauge_too_coarse_for_the_limits_proves_nothing_within() -> None:
    """0.05 to 0.15 with U = 0.06: no reading is within, gross ones are still proven outside, and it is told."""
    bands = guarded(Decimal("0.05"), Decimal("0.15"), Decimal("0.06"))
    assert not bands.provable
    assert (bands.below, bands.above) == (Decimal("-0.01"), Decimal("0.21"))
    assert {judge(Decimal(n) / 100, Decimal("0.05"), Decimal("0.15"), Decimal("0.06")) for n in range(-1, 22)} == {
        "close"
    }
    assert judge(Decimal("0.22"), Decimal("0.05"), Decimal("0.15"), Decimal("0.06")) == "high"
    assert judge(Decimal("-0.02"), Decimal("0.05"), Decimal("0.15"), Decimal("0.06")) == "low"


def test_exactly_room_for_one_reading() -> None:
    """Limits 2U apart leave the middle, and only it, provable."""
    assert guarded(Decimal("0.05"), Decimal("0.15"), Decimal("0.05")).provable
    assert judge(Decimal("0.10"), Decimal("0.05"), Decimal("0.15"), Decimal("0.05")) == "within"
    assert judge(Decimal("0.101"), Decimal("0.05"), Decimal("0.15"), Decimal("0.05")) == "close"


@pytest.mark.parametrize(
    ("value", "low", "high", "uncertainty", "words"),
    [
        ("1", "0", "2", "-0.1", "below nought"),
        ("1", "2", "0", "0.1", "above the upper limit"),
        ("nan", "0", "2", "0.1", "not a number"),
        ("1", "-inf", "2", "0.1", "not a number"),
        ("1", "0", "2", "inf", "not a number"),
        ("1e-999999", "0", "2", "0.1", "not a number"),
    ],
)
def test_what_cannot_be_judged(value: str, low: str, high: str, uncertainty: str, words: str) -> None:
    with pytest.raises(BayError, match=words) as caught:
        judge(Decimal(value), Decimal(low), Decimal(high), Decimal(uncertainty))
    assert caught.value.mend.split()[0] in ("give", "swap")
    assert caught.value.where == ""


@pytest.mark.parametrize("digits", ["1e60", "1e-60", "1" * 60])
def test_the_longest_number_that_is_judged(digits: str) -> None:
    """Sixty places in either direction; one more is refused, and told by no more than its first twenty characters."""
    assert judge(Decimal(digits), None, None) == "within"
    more = digits.replace("60", "61") if "e" in digits else f"{digits}1"
    with pytest.raises(BayError, match="not a number") as caught:
        judge(Decimal(more), None, None)
    assert str(Decimal(more))[:20] in caught.value.what
    assert str(Decimal(more))[:21] not in caught.value.what or len(str(Decimal(more))) <= 20


numbers = st.decimals(-(10**6), 10**6, allow_nan=False, allow_infinity=False, places=6)


@given(numbers, numbers, numbers, st.decimals(0, 1000, places=6))
def test_it_is_what_intervals_say(value: Decimal, a: Decimal, b: Decimal, uncertainty: Decimal) -> None:
    """Within: all of value ± U is permissible. Low or high: none of it is. Worked in fractions, at low precision."""
    low, high = min(a, b), max(a, b)
    at, u = Fraction(value), Fraction(uncertainty)
    with localcontext(prec=3):
        found = judge(value, low, high, uncertainty)
        assert (found == "within") == (Fraction(low) <= at - u and at + u <= Fraction(high))
        assert (found == "low") == (at + u < low)
        assert (found == "high") == (at - u > high)
        assert judge(value, low, high) == verdict(value, low, high)
