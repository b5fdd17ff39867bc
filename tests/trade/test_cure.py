"""Cure and dwell times against what makers print, and what must hold between the lines of a table."""

from __future__ import annotations

import math
from decimal import Decimal
from typing import cast

import pytest
import scipy.constants
from hypothesis import given
from hypothesis import strategies as st

from bayvoice.errors import BayError
from bayvoice.trade.cure import (
    GAS_CONSTANT,
    Row,
    Side,
    arrhenius_factor,
    depth_after,
    doubling_factor,
    time_for_depth,
    time_words,
    window_by_rate,
    window_from_table,
)

DAY = Decimal(86_400)


def table(*rows: tuple[str, str] | tuple[str, str, str]) -> list[Row]:
    """(temperature, seconds) or (temperature, humidity, seconds)."""
    return [
        Row(Decimal(r[0]), Decimal(r[1])) if len(r) == 2 else Row(Decimal(r[0]), Decimal(r[2]), Decimal(r[1]))
        for r in rows
    ]


# Bonstone Materials, note on its site on the 10 degree rule for two-part epoxy, worked example: 25 °C gel 10 min, cure
# 60 min; 35 °C 5 and 30 min; halved again at 45 °C.
BONSTONE_CURE = table(("25", "3600"), ("35", "1800"))
BONSTONE_GEL = table(("35", "300"), ("25", "600"))


def test_ten_degree_rule_of_a_maker() -> None:
    """The rule gives the maker's own figures, exactly; 45 °C halves once more."""
    for seconds, at_35, at_45 in [(3600, 1800, 900), (600, 300, 150)]:
        for degrees, expected in [(35, at_35), (45, at_45), (25, seconds)]:
            for side in ("longer", "shorter"):
                found = window_by_rate(
                    Decimal(seconds), doubling_factor(25, degrees), Decimal(degrees), (Decimal(15), Decimal(45)), side
                )
                assert found.seconds == expected
    assert window_from_table(BONSTONE_CURE, Decimal(35)).seconds == 1800
    assert window_from_table(BONSTONE_GEL, Decimal(25), side="shorter").seconds == 600


def test_rates_are_rounded_to_the_safe_side() -> None:
    """60 min / sqrt 2 = 2545.58 s: a minimum is a second longer than a maximum."""
    valid = (Decimal(30), Decimal(30))
    for side, seconds in [("longer", 2546), ("shorter", 2545)]:
        factor = doubling_factor(25, 30)
        assert window_by_rate(Decimal(3600), factor, Decimal(30), valid, cast(Side, side)).seconds == seconds


def test_lengths_of_time_in_words() -> None:
    assert [time_words(n) for n in (0, 45, 60, 5400, 86_400, 90_061)] == [
        "0 s",
        "45 s",
        "1 min",
        "1 h 30 min",
        "1 d",
        "1 d 1 h 1 min 1 s",
    ]


def test_ten_degree_rule_is_refused_where_its_maker_ends_it() -> None:
    """Henkel Adhesive Technologies, "next" site, on heat-curing epoxies: every 10 °C halves the cure time; do not
    exceed 150 °C."""
    valid = (Decimal(100), Decimal(150))
    assert window_by_rate(Decimal(3600), doubling_factor(120, 150), Decimal(150), valid).seconds == 450
    with pytest.raises(BayError, match="160 °C is outside the range the model holds for, 100 to 150 °C"):
        window_by_rate(Decimal(3600), doubling_factor(120, 160), Decimal(160), valid)


def test_arrhenius_energy_of_an_exact_doubling() -> None:
    """E = R ln 2 / (1/T1 - 1/T2): 52.9 kJ/mol from 25 to 35 °C, computed here; R by scipy (CODATA)."""
    assert pytest.approx(scipy.constants.R, rel=1e-9) == GAS_CONSTANT
    energy = scipy.constants.R * math.log(2) / (1 / 298.15 - 1 / 308.15)
    assert energy == pytest.approx(52_900, rel=1e-3)
    assert arrhenius_factor(energy, 25, 35) == pytest.approx(2, rel=1e-9)
    # The rule of ten degrees and Arrhenius part elsewhere: the same energy gives less than double higher up.
    assert arrhenius_factor(energy, 65, 75) < 1.8 < doubling_factor(65, 75)


@given(st.floats(1000, 300_000), st.floats(-60, 300), st.floats(-60, 300))
def test_arrhenius_is_a_ratio(energy: float, one: float, other: float) -> None:
    """There and back is 1, and warmer is never slower."""
    factor = arrhenius_factor(energy, one, other)
    assert factor * arrhenius_factor(energy, other, one) == pytest.approx(1)
    assert (factor >= 1) == (other >= one) or factor == pytest.approx(1)


def test_factor_met_in_practice() -> None:
    """A laboratory's note (IncureLab, secondary) gives 1.5 to 2.5 for each 10 °C, so the factor can be stated."""
    assert doubling_factor(25, 35, 1.5) == pytest.approx(1.5)
    assert doubling_factor(25, 15, 2.5) == pytest.approx(0.4)
    assert doubling_factor(25, 30, 2.0, 5.0) == pytest.approx(2)


def test_between_the_lines_to_the_safe_side() -> None:
    """30 °C, half way: 45 min on the straight line for a minimum; 42 min 25 s in proportion for a maximum, which is
    what the maker's own rule gives (60 min / sqrt 2 = 2545.6 s)."""
    longer = window_from_table(BONSTONE_CURE, Decimal(30), side="longer")
    shorter = window_from_table(BONSTONE_CURE, Decimal(30), side="shorter")
    assert (longer.seconds, shorter.seconds) == (2700, 2545)
    assert longer.why == "between 1 h at 25 °C and 30 min at 35 °C in the table"
    assert window_from_table(BONSTONE_CURE, Decimal("25")).why == "from the table: 1 h at 25 °C"


MOIST = table(
    ("5", "50", "14400"),
    ("5", "80", "10800"),
    ("23", "50", "7200"),
    ("23", "80", "3600"),
    ("35", "50", "3600"),
    ("35", "80", "1800"),
)


def test_temperature_and_humidity() -> None:
    """Bilinear, worked by hand: at 14 °C and 65 %: the mean of the four corners, 9000 s."""
    assert window_from_table(MOIST, Decimal(14), Decimal(65)).seconds == 9000
    geometric = (14400 * 10800 * 7200 * 3600) ** 0.25
    assert window_from_table(MOIST, Decimal(14), Decimal(65), "shorter").seconds == math.floor(geometric)
    assert window_from_table(MOIST, Decimal(23), Decimal(65)).seconds == 5400
    assert window_from_table(MOIST, Decimal(29), Decimal(80)).seconds == 2700
    assert window_from_table(BONSTONE_CURE, Decimal(25), Decimal(40)).seconds == 3600  # no humidity in the table


@pytest.mark.parametrize(
    ("rows", "temperature", "humidity", "words"),
    [
        (BONSTONE_CURE, "24.9", None, "24.9 °C is outside the maker's table, which holds for 25 to 35 °C"),
        (BONSTONE_CURE, "36", None, "outside the maker's table"),
        (BONSTONE_CURE[:1], "26", None, "which holds for 25 °C"),
        (MOIST, "23", "49", "49 % humidity is outside the maker's table, which holds for 50 to 80"),
        (MOIST, "23", None, "goes by humidity"),
        (MOIST[:-1], "23", "60", "has gaps"),
        ([*MOIST, Row(Decimal(23), Decimal(60))], "23", "60", "only some lines"),
        ([*BONSTONE_CURE, Row(Decimal(25), Decimal(3601))], "25", None, "two things"),
        ([], "25", None, "empty"),
        (table(("25", "0")), "25", None, "not one to wait for"),
        (table(("-300", "60")), "25", None, "not possible"),
        (table(("25", "101", "60")), "25", "101", "not possible"),
        (table(("nan", "60")), "25", None, "not an ordinary number"),
    ],
)
def test_outside_the_table_is_refused(rows: list[Row], temperature: str, humidity: str | None, words: str) -> None:
    with pytest.raises(BayError, match=words):
        window_from_table(rows, Decimal(temperature), None if humidity is None else Decimal(humidity))


lines = st.dictionaries(st.integers(-10, 60), st.integers(1, 10**6), min_size=1, max_size=6)


@given(lines, st.data(), st.sampled_from(["longer", "shorter"]))
def test_between_its_neighbours_and_on_the_safe_side(points: dict[int, int], data: st.DataObject, side: Side) -> None:
    """Never beyond the two lines it lies between; a minimum is never below a maximum of the same table; the lines
    themselves come out unchanged."""
    rows = [Row(Decimal(t), Decimal(s)) for t, s in points.items()]
    at = data.draw(st.decimals(min(points), max(points), places=1))
    below = max(t for t in points if t <= at)
    above = min(t for t in points if t >= at)
    found = window_from_table(rows, at, side=side).seconds
    low, high = sorted((points[below], points[above]))
    assert low <= found <= high
    assert window_from_table(rows, at, side="shorter").seconds <= window_from_table(rows, at).seconds
    assert window_from_table(rows, Decimal(below), side=side).seconds == points[below]


def test_depth_grows_with_the_root_of_time() -> None:
    """A sharp front that the permeability of the cured layer slows: J. Comyn, "Moisture cure of adhesives and
    sealants", Int. J. Adhesion and Adhesives 18 (1998; title from memory), doi 10.1016/S0143-7496(97)00031-6, abstract.
    A paper citing it measures 7.5 mm after 7 days: 2.83 mm after one, which agrees with the 2 to 3 mm in 24 h of
    generic one-part silicones (IncureLab, secondary); 3 mm a day on a straight line would claim 21 mm."""
    deepest = Decimal(25)
    assert depth_after(DAY, Decimal("7.5"), 7 * DAY, deepest) == Decimal("2.83")
    assert depth_after(7 * DAY, Decimal(3), DAY, deepest) == Decimal("7.93")
    assert depth_after(7 * DAY, Decimal("7.5"), 7 * DAY, deepest) == Decimal("7.50")
    assert depth_after(Decimal(0), Decimal(3), DAY, deepest) == 0
    assert time_for_depth(Decimal(6), Decimal(3), DAY, deepest).seconds == 4 * 86_400
    # Sika, product data sheet Sikaflex-265: 3 mm in 24 h at 23 °C and 50 %; twice the depth takes four times as long,
    # not twice
    assert time_for_depth(Decimal(6), Decimal(3), DAY, Decimal(15)).seconds == 4 * 86_400
    # "7 mm after 7 days" is not 1 mm a day
    assert depth_after(DAY, Decimal(7), 7 * DAY, deepest) == Decimal("2.64")


def test_never_deeper_than_the_maker_claims() -> None:
    """Momentive, data sheet RTV102 as a seller's page gives it: section depth up to 6 mm."""
    assert depth_after(30 * DAY, Decimal("2.5"), DAY, Decimal(6)) == 6
    with pytest.raises(BayError, match="7 mm is deeper than it cures through, 6 mm"):
        time_for_depth(Decimal(7), Decimal("2.5"), DAY, Decimal(6))


@given(st.decimals(Decimal("0.1"), 20, places=1), st.decimals(2, 20, places=1), st.integers(3600, 10**6))
def test_when_the_time_is_over_it_is_deep_enough(depth: Decimal, known: Decimal, seconds: int) -> None:
    """The time promised for a depth reaches it (to the hundredth the depth is cut off at)."""
    promised = time_for_depth(depth, known, Decimal(seconds), Decimal(20)).seconds
    assert depth_after(Decimal(promised), known, Decimal(seconds), Decimal(20)) >= depth
    assert depth_after(Decimal(promised - 1) * Decimal("0.99"), known, Decimal(seconds), Decimal(20)) < depth


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: arrhenius_factor(500, 25, 35), "activation energy of 500 J/mol is not possible"),
        (lambda: arrhenius_factor(50_000, -300, 35), "temperature of -300"),
        (lambda: arrhenius_factor(math.nan, 25, 35), "not possible"),
        (lambda: doubling_factor(25, 35, 0.5), "factor of 0.5 is not possible"),
        (lambda: doubling_factor(25, 35, 2, 0), "step of 0"),
        (lambda: window_by_rate(Decimal(0), 2, Decimal(25), (Decimal(20), Decimal(30))), "not one to wait for"),
        (lambda: window_by_rate(Decimal(9), 0, Decimal(25), (Decimal(20), Decimal(30))), "0 times as fast"),
        (lambda: window_by_rate(Decimal(9), 2, Decimal(25), (Decimal(30), Decimal(20))), "is none"),
        (lambda: window_by_rate(Decimal(9), 1e-300, Decimal(25), (Decimal(20), Decimal(30))), "check the model"),
        (lambda: depth_after(Decimal(-1), Decimal(3), DAY, Decimal(6)), "not a time"),
        (lambda: depth_after(DAY, Decimal(7), DAY, Decimal(6)), "deeper than"),
        (lambda: depth_after(DAY, Decimal(3), Decimal(0), Decimal(6)), "time of 0"),
        (lambda: time_for_depth(Decimal(0), Decimal(3), DAY, Decimal(6)), "is none"),
        (lambda: time_for_depth(Decimal(6), Decimal("0.001"), DAY, Decimal(6)), "ten years"),
    ],
)
def test_unphysical_is_refused(call: object, words: str) -> None:
    assert callable(call)
    with pytest.raises(BayError, match=words):
        call()
