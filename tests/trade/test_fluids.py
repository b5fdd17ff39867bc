"""Mixtures and fills: worked by hand, by balance, and against numerical integration."""

from __future__ import annotations

import math
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction

import pytest
import scipy.integrate
from hypothesis import given
from hypothesis import strategies as st

from bayvoice.errors import BayError
from bayvoice.trade.fluids import box, cylinder, exchange, lying_cylinder, parts, parts_for, to_fill


def test_two_stroke_by_hand() -> None:
    """5 l of petrol at 50:1 take 100 ml of oil (common practice, no source)."""
    assert parts_for([Decimal(50), Decimal(1)], 0, Decimal(5)) == (Decimal(5), Decimal("0.1"))
    assert parts([Decimal(1), Decimal(1)], Decimal("7.6")) == (Decimal("3.8"), Decimal("3.8"))
    assert parts([Decimal(4), Decimal(1), Decimal("0.5")], Decimal(11)) == (Decimal(8), Decimal(2), Decimal(1))


volumes = st.decimals(Decimal("0.1"), 1000, places=2)


@given(st.lists(st.decimals(Decimal("0.1"), 100, places=1), min_size=2, max_size=4), volumes)
def test_parts_add_up_in_their_ratio(ratio: list[Decimal], total: Decimal) -> None:
    found = parts(ratio, total)
    assert math.isclose(sum(found), total, rel_tol=1e-20)
    for one, share in zip(found, ratio, strict=True):
        assert math.isclose(float(one / found[0]), float(share / ratio[0]), rel_tol=1e-12)
    again = parts_for(ratio, 1, found[1])
    assert all(math.isclose(a, b, rel_tol=1e-12) for a, b in zip(again, found, strict=True))


def test_coolant_by_hand() -> None:
    """8 l at 30 percent to 50 with concentrate: 8 * 20/70 = 2.286 l out and in."""
    assert round(exchange(Decimal(8), Decimal(30), Decimal(50), Decimal(100)).drain, 3) == Decimal("2.286")
    assert exchange(Decimal(8), Decimal(60), Decimal(45), Decimal(0)).drain == 2
    assert exchange(Decimal(8), Decimal(50), Decimal(50), Decimal(50)).drain == 0


@given(volumes, st.integers(0, 100), st.integers(0, 100), st.integers(0, 100))
def test_the_balance_of_the_concentrate(volume: Decimal, now: int, wanted: int, fill: int) -> None:
    """What stays plus what comes in is what was wanted."""
    if not min(now, fill) <= wanted <= max(now, fill):
        with pytest.raises(BayError, match="never gives"):
            exchange(volume, Decimal(now), Decimal(wanted), Decimal(fill))
        return
    drain = Fraction(exchange(volume, Decimal(now), Decimal(wanted), Decimal(fill)).drain)
    inside = (Fraction(volume) - drain) * now + drain * fill
    assert abs(inside - Fraction(volume) * wanted) < Fraction(1, 10**15)
    assert 0 <= drain <= Fraction(volume)


def test_volumes() -> None:
    """A litre is a cube of 100 mm; a cylinder is pi/4 of its box."""
    assert box(Decimal(100), Decimal(100), Decimal(100)) == 1
    assert cylinder(100, 100) == pytest.approx(math.pi / 4)
    assert lying_cylinder(400, 1000, 200) == pytest.approx(cylinder(400, 1000) / 2)
    assert lying_cylinder(400, 1000, 400) == pytest.approx(cylinder(400, 1000))
    assert lying_cylinder(400, 1000, 0) == 0
    assert to_fill(Decimal("2.0"), Decimal("0.3"), Decimal(90)) == Decimal("1.5")
    assert to_fill(Decimal("2.0"), Decimal(0), Decimal(0)) == 0


@given(st.floats(10, 2000), st.floats(0, 1))
def test_lying_tank_by_integration(diameter: float, part: float) -> None:
    """The chord integrated over the depth, by scipy."""
    r, depth = diameter / 2, diameter * part
    area, _ = scipy.integrate.quad(lambda h: 2 * math.sqrt(max(0.0, r * r - (r - h) ** 2)), 0, depth)
    assert lying_cylinder(diameter, 1000, depth) == pytest.approx(area / 1000, rel=1e-4, abs=1e-6)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: parts([Decimal(1)], Decimal(1)), "two or more parts"),
        (lambda: parts([Decimal(1), Decimal(0)], Decimal(1)), "parts above 0"),
        (lambda: parts([Decimal(1), Decimal(1)], Decimal(0)), "volume of 0"),
        (lambda: parts_for([Decimal(1), Decimal(1)], 2, Decimal(1)), "no part 3"),
        (lambda: exchange(Decimal(8), Decimal(30), Decimal(101), Decimal(100)), "0 to 100 percent"),
        (lambda: exchange(Decimal(0), Decimal(30), Decimal(50), Decimal(100)), "volume of 0"),
        (lambda: cylinder(0, 10), "diameter of 0 mm"),
        (lambda: lying_cylinder(100, 100, 101), "depth of 101 mm"),
        (lambda: box(Decimal(0), Decimal(1), Decimal(1)), "width of 0 mm"),
        (lambda: to_fill(Decimal(2), Decimal(3)), "does not fit"),
        (lambda: to_fill(Decimal(2), Decimal(-1)), "does not fit"),
        (lambda: to_fill(Decimal(2), Decimal(0), Decimal(120)), "0 to 100 percent"),
    ],
)
def test_unphysical_is_refused(call: Callable[[], object], words: str) -> None:
    with pytest.raises(BayError, match=words):
        call()
