"""Chain wear against makers' guides, worked examples and misprints."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayvoice.errors import BayError
from bayvoice.trade.chain import PITCHES, between_rollers, elongation, limit, pitch_of


def test_worked_example_in_print() -> None:
    """24 pitches of 19.05 mm are 457.2 mm; 462.3 measured are 1.12 percent (worked example of a web calculator, which
    names no publication; by hand (462.3 - 457.2) / 457.2)."""
    found = elongation(pitch_of("12B"), 24, Decimal("462.3"))
    assert found.new_length == Decimal("457.2")
    assert round(found.percent, 2) == Decimal("1.12")


def test_limits_of_a_chain_makers_guide() -> None:
    """Diamond Chain Company, guide to chain wear on its site: about 3 percent, 1.5 on fixed
    centres, 200/N percent on large sprockets; 3 holds to 67 teeth."""
    assert limit().percent == 3
    assert limit([15, 38], fixed_centres=True).percent == Decimal("1.5")
    assert limit([17, 66]).percent == 3
    assert limit([17, 67]).percent == pytest.approx(Decimal("2.985"), abs=Decimal("0.001"))
    assert limit([19, 100]).percent == 2
    assert limit([19, 150], fixed_centres=True).percent == Decimal(200) / 150
    assert "200 by 100" in limit([19, 100]).rule


def test_misprints_are_not_followed() -> None:
    """One supplier prints 1.5 percent as 0.36 inch per foot, which is 3 percent; one prints the large-sprocket rule as
    2.00/teeth percent, a hundredth of it; one prints 08B as 08 x 1.6 = 12.7, where the unit is 1/16 inch."""
    per_foot = elongation(Decimal("12.7"), 24, Decimal("304.8") + Decimal("0.36") * Decimal("25.4"))
    assert per_foot.percent == 3
    assert limit([100]).percent == Decimal(100) * Decimal("2.00") / 100
    assert pitch_of("08B") == Decimal(8) * Decimal("25.4") / 16
    assert pitch_of("08B") != Decimal(8) * Decimal("1.6")


def test_pitches_are_sixteenths_and_eighths_of_an_inch() -> None:
    """The number of a B chain is its pitch in sixteenths, that of an A chain (without the last figure) in eighths; the
    metric 05B alone is 8 mm (from memory). ISO 606, table of chain dimensions, read as suppliers print it: 06B and 35
    9.525, 08B and 40 12.70, 10B and 50 15.875, 12B and 60 19.05, 16B 25.4 mm."""
    for name, pitch in PITCHES.items():
        if name == "05B":
            assert pitch == 8
        elif name.endswith("B"):
            assert pitch == int(name[:-1]) * Decimal("25.4") / 16
        else:
            assert pitch == int(name[:-1]) * Decimal("25.4") / 8
    assert pitch_of(" 16b-1 ") == Decimal("25.4")


def test_roller_method() -> None:
    """L = (L1 + L2) / 2, inside and outside of the rollers, over 6 to 10 links (JCS Hoisting, its page on chain wear):
    ten new pitches of 12.7 with rollers of 8.51."""
    length = between_rollers(Decimal(127) - Decimal("8.51"), Decimal(127) + Decimal("8.51"))
    assert length == 127
    assert elongation(Decimal("12.70"), 10, length).percent == 0


@given(st.sampled_from(sorted(PITCHES)), st.integers(6, 200), st.decimals(-1, 10, places=3))
def test_what_was_put_in_comes_out(name: str, pitches: int, percent: Decimal) -> None:
    measured = PITCHES[name] * pitches * (1 + percent / 100)
    assert elongation(PITCHES[name], pitches, measured).percent == percent


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: pitch_of("99B"), 'no chain "99B"'),
        (lambda: elongation(Decimal(1), 10, Decimal(10)), "pitch of 1 mm"),
        (lambda: elongation(Decimal("12.7"), 5, Decimal("63.5")), "not a length to measure wear over"),
        (lambda: elongation(Decimal("12.7"), 10, Decimal("152.4")), "count the pitches again"),
        (lambda: elongation(Decimal("12.7"), 10, Decimal("114.3")), "count the pitches again"),
        (lambda: elongation(Decimal("12.7"), 10, Decimal("nan")), "not an ordinary number"),
        (lambda: between_rollers(Decimal(10), Decimal(9)), "do not fit"),
        (lambda: between_rollers(Decimal(0), Decimal(9)), "do not fit"),
        (lambda: elongation(Decimal("12.7"), 10, Decimal(127) * Decimal("1.1501")), "count the pitches again"),
        (lambda: elongation(Decimal("12.7"), 10, Decimal(127) * Decimal("0.9799")), "count the pitches again"),
        (lambda: limit([4]), "sprocket of 4 teeth"),
    ],
)
def test_unphysical_is_refused(call: Callable[[], object], words: str) -> None:
    with pytest.raises(BayError, match=words):
        call()
