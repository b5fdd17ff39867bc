"""Shims: worked by hand, and against trying every pack."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from itertools import combinations_with_replacement

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bayvoice.errors import BayError
from bayvoice.trade.bearing import choose_shims, end_float

SET = [Decimal(x) for x in ("0.05", "0.10", "0.20", "0.50")]


def test_end_float() -> None:
    assert end_float(Decimal("0.02"), Decimal("0.15")) == Decimal("0.13")
    assert end_float(Decimal("-0.04"), Decimal("0.06")) == Decimal("0.10")
    assert end_float(Decimal("0.1"), Decimal("0.1")) == 0
    with pytest.raises(BayError, match="less than pushed"):
        end_float(Decimal("0.2"), Decimal("0.1"))


def test_by_hand() -> None:
    """Hub with 0.35 mm of shims and 0.02 mm float, wanted 0.05 to 0.15: the pack goes from 0.38 to 0.48, and 0.45 is
    nearer to the middle 0.43 than 0.40; with at most two shims 0.40 remains. Arithmetic by hand (that float is measured
    again after shimming is common practice, no source)."""
    found = choose_shims(Decimal("0.02"), Decimal("0.05"), Decimal("0.15"), SET, fitted=Decimal("0.35"))
    assert (found.wanted_low, found.wanted_high) == (Decimal("0.38"), Decimal("0.48"))
    assert found.shims == (Decimal("0.20"), Decimal("0.20"), Decimal("0.05"))
    assert (found.total, found.expected) == (Decimal("0.45"), Decimal("0.12"))
    found = choose_shims(Decimal("0.02"), Decimal("0.05"), Decimal("0.15"), SET, fitted=Decimal("0.35"), most=2)
    assert found.shims == (Decimal("0.20"), Decimal("0.20"))


def test_the_other_way_round() -> None:
    """Behind a race a thicker pack takes float away: 0.30 of float, 0.05 to 0.15 wanted, so 0.15 to 0.25 are added."""
    found = choose_shims(Decimal("0.30"), Decimal("0.05"), Decimal("0.15"), SET, more_shim_more_float=False)
    assert found.shims == (Decimal("0.20"),)
    assert found.expected == Decimal("0.10")


def test_single_shims_are_taken_once() -> None:
    stock = [Decimal("0.20"), Decimal("0.10")]
    assert choose_shims(Decimal(0), Decimal("0.3"), Decimal("0.3"), stock, reuse=False).total == Decimal("0.3")
    with pytest.raises(BayError, match=r"no pack of up to 3 shims from the stock is 0.4 to 0.4 thick"):
        choose_shims(Decimal(0), Decimal("0.4"), Decimal("0.4"), stock, reuse=False)
    assert choose_shims(Decimal(0), Decimal("0.4"), Decimal("0.4"), stock).shims == (Decimal("0.20"), Decimal("0.20"))


def test_nothing_needed() -> None:
    """The float is right without shims: an empty pack, and preload limits may be negative."""
    assert choose_shims(Decimal("0.10"), Decimal("0.05"), Decimal("0.15"), SET).shims == ()
    found = choose_shims(Decimal("0.10"), Decimal("-0.06"), Decimal("-0.04"), SET, more_shim_more_float=False)
    assert found.total == Decimal("0.15")
    assert found.expected == Decimal("-0.05")


thicknesses = st.lists(st.integers(1, 60).map(lambda n: Decimal(n) / 100), min_size=1, max_size=6)
hundredths = st.integers(-50, 150).map(lambda n: Decimal(n) / 100)


@settings(max_examples=150)
@given(thicknesses, hundredths, hundredths, st.integers(0, 30), st.integers(1, 4), st.booleans())
def test_no_other_pack_is_better(
    stock: list[Decimal], measured: Decimal, low: Decimal, width: int, most: int, opens: bool
) -> None:
    """Against every pack there is, tried in the plainest way."""
    high = low + Decimal(width) / 100
    sign = 1 if opens else -1
    packs = [p for n in range(most + 1) for p in combinations_with_replacement(sorted(set(stock)), n)]
    good = [p for p in packs if low <= measured + sign * sum(p, Decimal(0)) <= high]
    try:
        found = choose_shims(measured, low, high, stock, more_shim_more_float=opens, most=most)
    except BayError:
        assert not good
        return
    assert low <= found.expected <= high
    middle = (low + high) / 2
    nearest = min(abs(measured + sign * sum(p, Decimal(0)) - middle) for p in good)
    assert abs(found.expected - middle) == nearest
    fewest = min(len(p) for p in good if abs(measured + sign * sum(p, Decimal(0)) - middle) == nearest)
    assert len(found.shims) == fewest


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: choose_shims(Decimal(0), Decimal(2), Decimal(1), SET), "above the upper limit"),
        (lambda: choose_shims(Decimal(0), Decimal(0), Decimal(1), [Decimal(0)]), "thickness above 0"),
        (lambda: choose_shims(Decimal(0), Decimal(0), Decimal(1), SET, fitted=Decimal(-1)), "thickness above 0"),
        (lambda: choose_shims(Decimal(0), Decimal(0), Decimal(1), SET, most=9), "not provided for"),
        (lambda: choose_shims(Decimal(2), Decimal(0), Decimal(1), SET), "below nothing"),
        (lambda: choose_shims(Decimal("inf"), Decimal(0), Decimal(1), SET), "not an ordinary number"),
        (lambda: choose_shims(Decimal(0), Decimal(5), Decimal(6), SET), "no pack"),
        (lambda: choose_shims(Decimal(0), Decimal(5), Decimal(6), []), "no pack"),
        (lambda: choose_shims(Decimal(0), Decimal(1), Decimal(1), [Decimal(n) for n in range(1, 90)]), "too many"),
        (lambda: choose_shims(Decimal(0), Decimal(1), Decimal(1), [Decimal(n) for n in range(1, 50)], most=6), "packs"),
    ],
)
def test_unphysical_is_refused(call: Callable[[], object], words: str) -> None:
    with pytest.raises(BayError, match=words):
        call()
