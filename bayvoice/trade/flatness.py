"""Flatness of a face from a grid of readings: gaps under a straight edge, or heights of a dial gauge.

Three figures, which must not be taken for each other:

* the range of the readings as they are, tilt and all;
* the range about the least-squares plane (ISO 12781 allows it as a reference plane: from memory);
* the minimum zone: the least distance of two parallel planes with all points between, which is what a flatness
  tolerance means (ISO 1101: from memory). It is never more than the second.

Distances are along the readings, not square to the plane; with tilts of a workshop's face (0.1 mm over 100 mm) the
difference is less than a millionth. A few points see only a part of the face: the true figure is at least this.
Everything is exact, in fractions.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from bayvoice.errors import BayError
from bayvoice.language.texts import tell
from bayvoice.units import fraction, to_decimal

MOST_POINTS: Final = 400

Point = tuple[Fraction, Fraction, Fraction]
"""Across, down, reading."""


@dataclass(frozen=True, slots=True)
class Flatness:
    """All in the unit of the readings.

    Attributes:
        points: how many.
        as_read: range of the readings.
        least_squares: range about the least-squares plane.
        minimum_zone: least distance of two parallel planes that hold all points.
        high, low: which points, from 0 in the order given, stand highest and lowest over the least-squares plane.
    """

    points: int
    as_read: Decimal
    least_squares: Decimal
    minimum_zone: Decimal
    high: int
    low: int


def grid(rows: Sequence[Sequence[Decimal | None]], across: Decimal, down: Decimal) -> list[Point]:
    """The points of a grid of readings, row by row; None where nothing could be measured.

    Args:
        rows: rows of equal length.
        across, down: distance of neighbours in a row, and of rows; any unit, the same for both, above 0.

    Raises:
        BayError: rows of unequal length, or a distance not above 0.
    """
    if fraction(across) <= 0 or fraction(down) <= 0:
        raise BayError(tell("trade-points-of-grid-are-distance"), "", tell("trade-check-distances"))
    if len({len(row) for row in rows}) > 1:
        raise BayError(tell("trade-rows-of-grid-are-not-equally"), "", tell("trade-write-dash-for-no-reading"))
    return [
        (column * Fraction(across), row * Fraction(down), fraction(reading))
        for row, readings in enumerate(rows)
        for column, reading in enumerate(readings)
        if reading is not None
    ]


def flatness(points: Sequence[Point]) -> Flatness:
    """The flatness of the points.

    Raises:
        BayError: fewer than four points, more than `MOST_POINTS`, two at one place, or all on one line.
    """
    if not 4 <= len(points) <= MOST_POINTS:
        raise BayError(
            tell("trade-count-points-do-not-show", count=len(points)),
            "",
            tell("trade-measure-4-to-most-points", most_points=MOST_POINTS),
        )
    if len({(x, y) for x, y, _ in points}) < len(points):
        raise BayError(tell("trade-two-readings-are-of-one"), "", tell("trade-give-one-for-each-place"))
    heights = [z for _, _, z in points]
    over = _over_least_squares(points)
    zone = 2 * _half_zone(_centred(points))
    return Flatness(
        len(points),
        to_decimal(max(heights) - min(heights)),
        to_decimal(max(over) - min(over)),
        to_decimal(zone),
        over.index(max(over)),
        over.index(min(over)),
    )


def _centred(points: Sequence[Point]) -> list[Point]:
    count = len(points)
    middle = [sum((p[i] for p in points), Fraction(0)) / count for i in range(3)]
    return [(x - middle[0], y - middle[1], z - middle[2]) for x, y, z in points]


def _over_least_squares(points: Sequence[Point]) -> list[Fraction]:
    """Heights over the least-squares plane, by the normal equations about the middle of the points."""
    centred = _centred(points)
    xx, yy, xy, xz, yz = (
        sum((one[i] * one[j] for one in centred), Fraction(0)) for i, j in ((0, 0), (1, 1), (0, 1), (0, 2), (1, 2))
    )
    determinant = xx * yy - xy * xy
    if not determinant:
        raise BayError(tell("trade-points-lie-on-one-line"), "", tell("trade-plane-needs-three-points"))
    a, b = (xz * yy - yz * xy) / determinant, (yz * xx - xz * xy) / determinant
    return [z - a * x - b * y for x, y, z in centred]


def _half_zone(points: Sequence[Point]) -> Fraction:
    """Half the width of the minimum zone: the least h with |z - (a + b x + c y)| <= h for all points.

    A linear programme; its dual (weights u, v >= 0 of the points above and below, with sum(u - v) (1, x, y) = 0 and
    sum(u + v) = 1, greatest sum(u - v) z) has only four rows, so the simplex tableau stays small. Bland's rule keeps
    it from going in circles.
    """
    columns = [(1, x, y, 1, z) for x, y, z in points] + [(-1, -x, -y, 1, -z) for x, y, z in points]
    # Rows 0..3 are constraints over all columns and the right-hand side. The basis begins with four artificial columns
    # from `count` on; they never come back, so they are not written down.
    table = [[Fraction(column[row]) for column in columns] + [Fraction(row == 3)] for row in range(4)]
    count = len(columns)
    basis = [count + k for k in range(4)]
    # First away with the artificial ones, then up with the height.
    zero = [Fraction(0)]
    _climb(table, basis, zero * count + [Fraction(-1)] * 4, count)
    return _climb(table, basis, [Fraction(column[4]) for column in columns] + zero * 4, count)


def _climb(table: list[list[Fraction]], basis: list[int], worth: list[Fraction], usable: int) -> Fraction:
    """Pivot until no column improves the worth; the greatest worth. Columns from `usable` on never come in."""
    while True:
        entering = next(
            (
                j
                for j in range(usable)
                if j not in basis and worth[j] > sum((worth[basis[i]] * table[i][j] for i in range(4)), Fraction(0))
            ),
            None,
        )
        if entering is None:
            return sum((worth[basis[i]] * table[i][-1] for i in range(4)), Fraction(0))
        # An artificial column left in the basis at zero may go out through any figure but zero.
        rows = [
            i
            for i in range(4)
            if table[i][entering] > 0 or (basis[i] >= usable and table[i][entering] and not table[i][-1])
        ]
        leaving = min(rows, key=lambda i: (table[i][-1] / table[i][entering], basis[i]))
        _pivot(table, leaving, entering)
        basis[leaving] = entering


def _pivot(table: list[list[Fraction]], row: int, column: int) -> None:
    scale = table[row][column]
    table[row] = [value / scale for value in table[row]]
    for i in range(4):
        if i != row and table[i][column]:
            times = table[i][column]
            table[i] = [value - times * pivot for value, pivot in zip(table[i], table[row], strict=True)]
