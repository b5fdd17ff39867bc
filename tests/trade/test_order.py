"""Tightening orders against published sequences, and what must hold for any number of fasteners."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayvoice.errors import BayError
from bayvoice.trade.order import MOST, given_order, rectangle_order, row_order, star_order, undoing

# ASME PCC-1, "Guidelines for Pressure Boundary Bolted Flange Joint Assembly", legacy cross-pattern tightening sequence,
# table of sequences by number of bolts; the standard itself was not read.
PUBLISHED = {
    4: "1-3-2-4",  # from memory
    8: "1-5-3-7-2-6-4-8",  # in a note that quotes the table, read at second hand
    12: "1-7-4-10-2-8-5-11-3-9-6-12",  # read in a copy of the table
    16: "1-9-5-13-3-11-7-15-2-10-6-14-4-12-8-16",  # as for 8
    20: "1-11-6-16-3-13-8-18-5-15-10-20-2-12-7-17-4-14-9-19",  # from memory
    24: "1-13-7-19-4-16-10-22-2-14-8-20-5-17-11-23-3-15-9-21-6-18-12-24",  # as for 8
    5: "1-3-5-2-4",  # common practice, no source: five wheel nuts
}


@pytest.mark.parametrize("count", PUBLISHED)
def test_order_is_the_published_one(count: int) -> None:
    """The rule gives the sequences that bolting guidelines print."""
    assert "-".join(map(str, star_order(count))) == PUBLISHED[count]


def apart(count: int, one: int, other: int) -> int:
    return min((one - other) % count, (other - one) % count)


@given(st.integers(1, 300))
def test_every_fastener_once(count: int) -> None:
    """An order is a permutation of 1..count that begins at 1."""
    order = star_order(count)
    assert sorted(order) == list(range(1, count + 1))
    assert order[0] == 1


@given(st.integers(1, 150))
def test_even_counts_go_in_opposite_pairs(half: int) -> None:
    """Each odd and even place of the order are half a turn apart, as they are in every published sequence."""
    order = star_order(2 * half)
    assert {apart(2 * half, a, b) for a, b in zip(order[::2], order[1::2], strict=True)} == {half}


@given(st.integers(1, 150))
def test_odd_counts_step_as_far_as_they_can(half: int) -> None:
    """Neighbours in the order are (N-1)/2 apart: no two of an odd number are farther."""
    count = 2 * half + 1
    order = star_order(count)
    assert {apart(count, a, b) for a, b in pairwise(order)} == {half}


@given(st.integers(6, 300))
def test_never_the_fastener_next_door(count: int) -> None:
    """From six fasteners on, two that follow each other are never neighbours round the joint."""
    order = star_order(count)
    assert all(apart(count, a, b) > 1 for a, b in pairwise(order))


def test_row_and_no_fastener() -> None:
    """A row counts up; no fasteners, and thousands, have no order."""
    assert row_order(3) == (1, 2, 3)
    for count in (0, -4, MOST + 1):
        with pytest.raises(BayError, match="fastener"):
            star_order(count)
        with pytest.raises(BayError, match="fastener"):
            row_order(count)


@given(st.integers(1, 300))
def test_undoing_is_the_exact_reverse(count: int) -> None:
    """Common practice, no source: loosen in the reverse of the tightening order."""
    order = star_order(count)
    assert undoing(order) == order[::-1]
    assert undoing(undoing(order)) == order


def test_rectangles_by_hand() -> None:
    """Two rows of five, a head of four cylinders: the middle pair, then crosswise outwards (common practice, no
    source)."""
    assert rectangle_order(2, 5) == (3, 8, 2, 9, 4, 7, 1, 10, 5, 6)
    assert rectangle_order(1, 5) == (3, 2, 4, 1, 5)
    assert rectangle_order(1, 1) == (1,)
    # Round a cover of 3 by 4, numbered clockwise 1 to 10: the middles of the long sides first, the corners last.
    assert rectangle_order(3, 4, rim=True) == (2, 7, 3, 8, 5, 10, 1, 6, 4, 9)


@given(st.integers(1, 12), st.integers(1, 12), st.booleans())
def test_rectangles_go_outwards_in_opposite_pairs(rows: int, columns: int, rim: bool) -> None:
    """Every fastener once, never back towards the middle, and every second one is opposite the one before."""
    order = rectangle_order(rows, columns, rim)
    count = rows * columns - (max(0, rows - 2) * max(0, columns - 2) if rim else 0)
    assert sorted(order) == list(range(1, count + 1))
    if rim:
        return
    places = [divmod(n - 1, columns) for n in order]
    distance = [(2 * r - rows + 1) ** 2 + (2 * c - columns + 1) ** 2 for r, c in places]
    assert distance == sorted(distance)
    first = 1 if distance[0] == 0 else 0
    for (r, c), other in zip(places[first::2], places[first + 1 :: 2], strict=True):
        assert other == (rows - 1 - r, columns - 1 - c)


def test_given_orders_are_checked() -> None:
    assert given_order([2, 1, 3]) == (2, 1, 3)
    for order, count, words in [
        ([1, 2, 2], None, "comes twice"),
        ([1, 3], None, "no fastener 3 of 2"),
        ([1, 2], 3, "fastener 3 is missing"),
        ([0, 1], 2, "no fastener 0"),
        ([], None, "at least one"),
    ]:
        with pytest.raises(BayError, match=words):
            given_order(order, count)
    with pytest.raises(BayError, match="no joint"):
        rectangle_order(0, 5)
    with pytest.raises(BayError, match="more than one joint"):
        rectangle_order(100, 100)
