"""The picture of the fasteners: every one is there, none covers another, and it shows where they sit."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayvoice.screen.bolts import DONE, NOW, TO_COME, Mark, pattern_of, placed
from bayvoice.screen.signs import UNICODE
from bayvoice.trade.order import rectangle_order, row_order, star_order


def marks(order: tuple[int, ...], done: int = 0) -> list[Mark]:
    """`done` are done, the next is now, the rest to come."""
    return [Mark(n, DONE if at < done else NOW if at == done else TO_COME) for at, n in enumerate(order)]


@given(
    st.integers(1, 40),
    st.sampled_from(["circle", "row", "rectangle", "list"]),
    st.integers(1, 5),
    st.integers(1, 60),
    st.integers(1, 20),
)
def test_all_are_inside_the_box_and_apart(count: int, pattern: str, lines: int, width: int, height: int) -> None:
    found = placed(marks(row_order(count)), pattern, lines, width, height, UNICODE)
    if not found:
        return
    assert sorted(one.mark.number for one in found) == list(range(1, count + 1))
    for one in found:
        assert 0 <= one.row < height
        assert one.column >= 0
        assert one.column + len(one.text.rstrip()) <= width
    cells = [(one.row, one.column + at) for one in found for at in range(len(one.text.rstrip()))]
    assert len(set(cells)) == len(cells)


@pytest.mark.parametrize("count", [4, 6, 8, 10, 12])
def test_a_circle_goes_clockwise_from_the_top(count: int) -> None:
    """Seen as on the machine: 1 at twelve o'clock, opposite fasteners opposite each other."""
    found = {one.mark.number: one for one in placed(marks(star_order(count)), "circle", 0, 28, 11, UNICODE)}
    assert min(found.values(), key=lambda one: one.row) is found[1]
    middle_row = sum(one.row for one in found.values()) / count
    middle = sum(one.column for one in found.values()) / count
    angles = [
        math.atan2(found[n].column - middle, 2.2 * (middle_row - found[n].row)) % (2 * math.pi)
        for n in range(1, count + 1)
    ]
    turned = [(angle - angles[0]) % (2 * math.pi) for angle in angles]
    assert turned == sorted(turned)
    for n in range(1, count // 2 + 1):
        assert abs((turned[n - 1 + count // 2] - turned[n - 1]) - math.pi) < 0.45


def test_where_a_circle_has_no_room_the_order_is_shown() -> None:
    order = star_order(24)
    found = placed(marks(order), "circle", 0, 28, 8, UNICODE)
    assert [one.mark.number for one in sorted(found, key=lambda one: (one.row, one.column))] == list(order)


def test_a_sign_says_what_is_done_now_and_to_come() -> None:
    found = placed(marks((1, 3, 2), 1), "list", 0, 28, 8, UNICODE)
    assert [one.text.rstrip() for one in found] == ["✓1", "▶3", "○2"]


def test_the_pattern_is_read_off_the_order() -> None:
    """A picture that disagreed with the order would send somebody to the wrong bolt."""
    assert pattern_of(star_order(8)) == ("circle", 0)
    assert pattern_of(row_order(6)) == ("row", 1)
    assert pattern_of(rectangle_order(2, 5)) == ("rectangle", 2)
    assert pattern_of(rectangle_order(3, 4)) == ("rectangle", 3)
    assert pattern_of((2, 1, 3, 5, 4)) == ("list", 0)
    assert pattern_of((1,)) == ("row", 1)
