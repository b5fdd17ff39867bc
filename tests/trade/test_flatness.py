"""Flatness against numpy's least squares and scipy's linear programming."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
import scipy.optimize
from hypothesis import given, settings
from hypothesis import strategies as st

from bayvoice.errors import BayError
from bayvoice.trade.flatness import MOST_POINTS, Point, flatness, grid


def rows(text: str) -> list[list[Decimal | None]]:
    return [[None if word == "-" else Decimal(word) for word in line.split()] for line in text.split("/")]


def test_a_tilted_plane_is_flat() -> None:
    """Readings that rise evenly are tilt and nothing else."""
    found = flatness(grid(rows("0.00 0.02 0.04 / 0.01 0.03 0.05 / 0.02 0.04 0.06"), Decimal(50), Decimal(40)))
    assert found.as_read == Decimal("0.06")
    assert found.least_squares == found.minimum_zone == 0


def test_a_twisted_face_by_hand() -> None:
    """Four corners, two up by 0.10 across from each other: least squares leaves 0.05 up and down everywhere, and so
    does the minimum zone: 0.10 all told."""
    found = flatness(grid(rows("0.10 0 / 0 0.10"), Decimal(1), Decimal(1)))
    assert found.least_squares == found.minimum_zone == Decimal("0.10")


def test_one_hollow_by_hand() -> None:
    """A flat 3 by 3 face with 0.09 mm under the middle: the zone is 0.09; least squares sinks the plane by 0.01 and
    leaves the same range. The low spot is named."""
    found = flatness(grid(rows("0 0 0 / 0 -0.09 0 / 0 0 0"), Decimal(30), Decimal(30)))
    assert found.minimum_zone == found.least_squares == Decimal("0.09")
    assert found.low == 4
    # In a corner it can be met half way by tilting.
    found = flatness(grid(rows("-0.09 0 0 / 0 0 0 / 0 0 0"), Decimal(30), Decimal(30)))
    assert found.minimum_zone < found.least_squares < found.as_read


def by_scipy(points: list[Point]) -> tuple[float, float]:
    """Range about numpy's least-squares plane, and scipy's minimum zone."""
    x, y, z = (np.array([float(p[i]) for p in points]) for i in range(3))
    a = np.column_stack([np.ones_like(x), x, y])
    residuals = z - a @ np.linalg.lstsq(a, z, rcond=None)[0]
    ones = np.ones((len(points), 1))
    answer = scipy.optimize.linprog(
        [0, 0, 0, 1],
        np.vstack([np.hstack([-a, -ones]), np.hstack([a, -ones])]),
        np.concatenate([-z, z]),
        bounds=[(None, None)] * 3 + [(0, None)],
    )
    return float(np.ptp(residuals)), 2 * float(answer.fun)


readings = st.integers(-50, 50).map(lambda n: Decimal(n) / 100)


@settings(max_examples=60, deadline=None)
@given(st.integers(2, 5), st.integers(2, 6), st.data())
def test_agrees_with_numpy_and_scipy(down: int, across: int, data: st.DataObject) -> None:
    table = data.draw(st.lists(st.lists(readings, min_size=across, max_size=across), min_size=down, max_size=down))
    points = grid(table, Decimal("37.5"), Decimal(20))
    found = flatness(points)
    least_squares, zone = by_scipy(points)
    assert float(found.least_squares) == pytest.approx(least_squares, abs=1e-9)
    assert float(found.minimum_zone) == pytest.approx(zone, abs=1e-7)
    assert found.minimum_zone <= found.least_squares + Decimal("1e-25")
    assert found.minimum_zone <= found.as_read


@settings(max_examples=40, deadline=None)
@given(st.lists(readings, min_size=12, max_size=12), readings, readings)
def test_tilt_changes_nothing_but_the_raw_range(values: list[Decimal], across: Decimal, down: Decimal) -> None:
    """Exactly: the face does not get worse by standing askew."""
    table = [values[4 * i : 4 * i + 4] for i in range(3)]
    tilted: list[list[Decimal | None]] = [
        [value + j * across + i * down for j, value in enumerate(row)] for i, row in enumerate(table)
    ]
    one, other = (flatness(grid(t, Decimal(10), Decimal(10))) for t in (table, tilted))
    assert (one.least_squares, one.minimum_zone) == (other.least_squares, other.minimum_zone)


def test_missing_points_and_scattered_ones() -> None:
    found = flatness(grid(rows("0 0 - / 0 -0.09 0 / 0 0 0"), Decimal(30), Decimal(30)))
    assert (found.points, found.low) == (8, 3)
    scattered: list[Point] = [
        (Fraction(x), Fraction(y), Fraction(z, 100))
        for x, y, z in [(0, 0, 3), (70, 10, 1), (20, 90, 4), (50, 40, 9), (9, 8, 2)]
    ]
    found = flatness(scattered)
    least_squares, zone = by_scipy(scattered)
    assert float(found.minimum_zone) == pytest.approx(zone, abs=1e-9)
    assert float(found.least_squares) == pytest.approx(least_squares, abs=1e-9)


def test_a_large_grid() -> None:
    """The most points that are taken, of a bowl with noise."""
    rng = np.random.default_rng(1)
    size = int(MOST_POINTS**0.5)
    table: list[list[Decimal | None]] = [
        [Decimal(int((i - 9) ** 2 + (j - 9) ** 2 + rng.integers(0, 9))) / 1000 for j in range(size)]
        for i in range(size)
    ]
    points = grid(table, Decimal(10), Decimal(10))
    found = flatness(points)
    assert float(found.minimum_zone) == pytest.approx(by_scipy(points)[1], abs=1e-7)


def test_refused() -> None:
    with pytest.raises(BayError, match="3 points do not show"):
        flatness(grid(rows("0 0 / 0 -"), Decimal(1), Decimal(1)))
    with pytest.raises(BayError, match="on one line"):
        flatness(grid(rows("0 1 0 1 0"), Decimal(1), Decimal(1)))
    with pytest.raises(BayError, match="not equally long"):
        grid(rows("0 1 / 0"), Decimal(1), Decimal(1))
    with pytest.raises(BayError, match="distance above 0"):
        grid(rows("0 1 / 0 1"), Decimal(0), Decimal(1))
    with pytest.raises(BayError, match="distance above 0"):
        grid(rows("0 1 / 0 1"), Decimal(1), Decimal(0))
    with pytest.raises(BayError, match="not an ordinary number"):
        grid([[Decimal("nan")]], Decimal(1), Decimal(1))
    with pytest.raises(BayError, match="one place"):
        flatness([(Fraction(0), Fraction(0), Fraction(0))] * 4)
