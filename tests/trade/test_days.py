"""Calendar days, against the standard library's."""

from __future__ import annotations

from datetime import UTC, date, datetime

from hypothesis import given
from hypothesis import strategies as st

from bayvoice.trade.days import day_of, is_day, written

LAST = datetime(9999, 12, 31, 23, 59, 59, tzinfo=UTC).timestamp()
FIRST = datetime(1, 1, 1, tzinfo=UTC).timestamp()


@given(st.floats(FIRST, LAST))
def test_the_day_of_a_moment_is_the_librarys(wall: float) -> None:
    """`datetime`, for every moment it knows."""
    assert day_of(wall) == datetime.fromtimestamp(int(wall // 1), UTC).date().isoformat()


def test_every_day_of_four_centuries_is_one_later_than_the_day_before() -> None:
    """All of a Gregorian cycle, each day once, in the order of the library."""
    first = date(1999, 12, 31).toordinal()
    for ordinal in range(first, first + 146_098):
        wall = (ordinal - date(1970, 1, 1).toordinal()) * 86_400
        assert day_of(wall) == date.fromordinal(ordinal).isoformat()


@given(st.text(alphabet="0123456789-", min_size=8, max_size=11) | st.dates().map(date.isoformat))
def test_what_is_a_day_is_what_the_library_reads(text: str) -> None:
    """Only the long form with hyphens is a day here, the library also reads others."""
    try:
        known = date.fromisoformat(text).isoformat() == text
    except ValueError:
        known = False
    assert is_day(text) == known


def test_a_day_is_said_in_words() -> None:
    """As people write it."""
    assert written("2027-03-01") == "1 March 2027"
    assert written("soon") == "soon"
