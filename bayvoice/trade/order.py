"""Tightening orders: round a joint, over a rectangle, as given; and the exact reverse for undoing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from bayvoice.errors import BayError
from bayvoice.language.texts import tell

MOST: Final = 1000
"""Fasteners of one joint, at most."""


def star_order(count: int) -> tuple[int, ...]:
    """Cross-tightening order of `count` fasteners numbered 1..count round a joint.

    Multiples of four go in fours, a quarter turn between their members (1, 1+N/2, 1+N/4, 1+3N/4), other even counts
    in opposite pairs. The fours or pairs begin half of the remaining sector apart. This gives the published
    sequences for 4, 8, 12, 16, 20 and 24 bolts (flange assembly guideline ASME PCC-1, legacy cross pattern). Odd
    counts step round by (N-1)/2, the farthest two fasteners can be apart: five gives the five-point star 1-3-5-2-4.

    Raises:
        BayError: `count` is below 1 or above `MOST`.
    """
    _some(count)
    if count % 2:
        stride = max(1, (count - 1) // 2)
        return tuple(1 + i * stride % count for i in range(count))
    half = count // 2
    if count % 4:
        return tuple(n for start in _starts(half) for n in (start, start + half))
    quarter = count // 4
    return tuple(
        n for start in _starts(quarter) for n in (start, start + half, start + quarter, start + half + quarter)
    )


def row_order(count: int) -> tuple[int, ...]:
    """1, 2, 3 … `count`. BayError as `star_order`."""
    _some(count)
    return tuple(range(1, count + 1))


def rectangle_order(rows: int, columns: int, rim: bool = False) -> tuple[int, ...]:
    """From the middle of a rectangle outwards, each fastener followed by the one diagonally opposite.

    Args:
        rows, columns: how many fasteners stand over and beside each other, evenly spaced; at least 1 each.
        rim: only the outermost ones exist, numbered clockwise from the top left corner; else all do, numbered row by
            row from the top left corner.

    The distance from the middle never falls along the order. That covers with many bolts are drawn down from the
    middle, so that the gasket can flow outwards, is common practice, no source; a maker's own order goes before it.

    Raises:
        BayError: a count is below 1, or there are more than `MOST` fasteners.
    """
    if rows < 1 or columns < 1:
        raise BayError(
            tell("trade-rows-of-columns-fasteners-are-no", rows=rows, columns=columns),
            "",
            tell("trade-give-at-least-one-of-each"),
        )
    _some(rows * columns)
    places = _rim(rows, columns) if rim else [(row, column) for row in range(rows) for column in range(columns)]
    number = {place: index for index, place in enumerate(places, start=1)}

    def key(place: tuple[int, int]) -> tuple[int, int, int]:
        # Twice the distance from the middle, squared, is a whole number.
        down, across = 2 * place[0] - (rows - 1), 2 * place[1] - (columns - 1)
        return down * down + across * across, abs(across), number[place]

    order: list[int] = []
    done: set[tuple[int, int]] = set()
    for place in sorted(places, key=key):
        opposite = (rows - 1 - place[0], columns - 1 - place[1])
        for one in (place, opposite):
            if one not in done:
                done.add(one)
                order.append(number[one])
    return tuple(order)


def given_order(order: Sequence[int], count: int | None = None) -> tuple[int, ...]:
    """A maker's own order, checked: every fastener 1..count once.

    Raises:
        BayError: a number is missing, there twice, or out of range; it says which.
    """
    wanted = len(order) if count is None else count
    _some(wanted)
    for number in order:
        if not 1 <= number <= wanted:
            raise BayError(
                tell("trade-no-fastener-number-of-wanted", number=number, wanted=wanted),
                "",
                tell("trade-number-them-1-to-wanted", wanted=wanted),
            )
    twice = sorted({number for number in order if order.count(number) > 1})
    if twice:
        raise BayError(tell("trade-fastener-comes-twice", twice=twice[0]), "", tell("trade-name-each-once"))
    missing = sorted(set(range(1, wanted + 1)) - set(order))
    if missing:
        raise BayError(tell("trade-fastener-is-missing", missing=missing[0]), "", tell("trade-name-each-once"))
    return tuple(order)


def undoing(order: Sequence[int]) -> tuple[int, ...]:
    """The exact reverse, for loosening (common practice, no source)."""
    return tuple(reversed(order))


def _rim(rows: int, columns: int) -> list[tuple[int, int]]:
    """The places along the edge, clockwise from the top left corner."""
    top = [(0, column) for column in range(columns)]
    right = [(row, columns - 1) for row in range(1, rows)]
    bottom = [(rows - 1, column) for column in range(columns - 2, -1, -1)] if rows > 1 else []
    left = [(row, 0) for row in range(rows - 2, 0, -1)] if columns > 1 else []
    return top + right + bottom + left


def _some(count: int) -> None:
    if count < 1:
        raise BayError(tell("trade-joint-has-at-least-one", count=count), "", tell("trade-give-number-from-1"))
    if count > MOST:
        raise BayError(
            tell("trade-count-fasteners-are-more-than-one", count=count), "", tell("trade-give-at-most", most=MOST)
        )


def _starts(sector: int) -> list[int]:
    """The numbers 1..`sector`, half a sector between neighbours as far as that goes."""
    stride = max(1, sector // 2)
    return [n for first in range(1, stride + 1) for n in range(first, sector + 1, stride)]
