"""Numbers, times, torques as files write them."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayvoice.procedure import amounts
from bayvoice.procedure.model import Stage


@given(st.integers(0, 999), st.integers(0, 59), st.integers(0, 59))
def test_durations_agree_with_timedelta(hours: int, minutes: int, seconds: int) -> None:
    """Outside check: `datetime.timedelta` of the standard library. Writing and reading again changes nothing."""
    total = int(timedelta(hours=hours, minutes=minutes, seconds=seconds).total_seconds())
    if total:
        assert amounts.duration(f"{hours} h {minutes} min {seconds} s") == total
        assert amounts.duration(amounts.written(total)) == total


@pytest.mark.parametrize(
    ("text", "seconds"), [("45 s", 45), ("12 min", 720), ("24 h", 86400), ("1 h 30 min", 5400), ("90min", 5400)]
)
def test_durations_of_the_format(text: str, seconds: int) -> None:
    """The forms that README promises."""
    assert amounts.duration(text) == seconds


@pytest.mark.parametrize(
    "raw", ["", "12", "min", "0 s", "-5 s", "1.5 h", "5 s 1 min", "3 weeks", "2000 h", 12, True, "٣ s"]
)
def test_what_is_no_duration(raw: object) -> None:
    """No unit, nothing at all, the wrong way round, other digits: refused in a phrase."""
    with pytest.raises(ValueError, match=r"^is "):
        amounts.duration(raw)


@pytest.mark.parametrize(
    ("raw", "digits"),
    [
        (Decimal("0.10"), "0.10"),
        ("0.10", "0.10"),
        (3, "3"),
        ("-0.5", "-0.5"),
        (Decimal("1E+2"), "100"),
        ("999999.9999", "999999.9999"),
        (-999_999, "-999999"),
        ("0.1234", "0.1234"),
    ],
)
def test_numbers_keep_their_digits(raw: object, digits: str) -> None:
    """A limit of 0.10 is not 0.1: the digits tell how fine the gauge must read."""
    assert str(amounts.number(raw)) == digits


@pytest.mark.parametrize(
    "raw",
    [
        "",
        "abc",
        "1,5",
        "0x10",
        "1e5",
        "nan",
        True,
        None,
        [],
        Decimal("inf"),
        Decimal("nan"),
        Decimal("1E-7"),
        Decimal("1E+400"),
        "1234567890",
        10**12,
        "1.0000001",
        "1000000",
        10**6,
        Decimal("1E+6"),
        "-1000000",
        "0.00001",
    ],
)
def test_what_is_no_number(raw: object) -> None:
    """Text, commas, endless, or more digits than anybody says."""
    with pytest.raises(ValueError, match=r"^(is|has|cannot)"):
        amounts.number(raw)


def test_stages() -> None:
    """Torque in either unit, or an angle; the space is not essential."""
    assert amounts.stage("24 N.m") == Stage(Decimal("24"), "N.m")
    assert amounts.stage("7.50 lbf.ft") == Stage(Decimal("7.50"), "lbf.ft")
    assert amounts.stage("90deg") == Stage(Decimal("90"), "deg")


@pytest.mark.parametrize("raw", ["24", "N.m", "24 mm", "24 Nm", "0 N.m", "-3 N.m", "361 deg", "2,4 N.m", 24, ""])
def test_what_is_no_stage(raw: object) -> None:
    """No unit, a unit of something else, nothing to turn, more than a turn."""
    with pytest.raises(ValueError, match=r"^(is|has) "):
        amounts.stage(raw)
