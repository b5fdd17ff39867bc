"""Calendar days as ISO 8601 writes them ("2027-03-01"), so that earlier is smaller as text."""

from __future__ import annotations

import re
from typing import Final

from bayvoice.language.texts import tell

_DAY: Final = re.compile(r"(\d{4})-(\d{2})-(\d{2})", re.ASCII)
_SECONDS: Final = 86_400
_ERA: Final = 146_097
"""Days of 400 years of the Gregorian calendar, after which it repeats."""


def day_of(wall: float) -> str:
    """The day in Universal Time of `wall` seconds since 1970-01-01; years 0001 to 9999.

    Years are counted from 1 March, so that the leap day ends a year and the months before it have fixed lengths.
    """
    days = int(wall // _SECONDS) + 719_468  # days since 0000-03-01
    era, of_era = divmod(days, _ERA)
    year_of_era = (of_era - of_era // 1460 + of_era // 36_524 - of_era // 146_096) // 365
    of_year = of_era - (365 * year_of_era + year_of_era // 4 - year_of_era // 100)
    month_from_march = (5 * of_year + 2) // 153
    day = of_year - (153 * month_from_march + 2) // 5 + 1
    month = month_from_march + 3 if month_from_march < 10 else month_from_march - 9
    year = year_of_era + 400 * era + (month <= 2)
    return f"{year:04}-{month:02}-{day:02}"


def is_day(text: str) -> bool:
    """Whether `text` is a day of the calendar, "2027-03-01"."""
    found = _DAY.fullmatch(text)
    if found is None:
        return False
    year, month, day = (int(part) for part in found.groups())
    return year > 0 and 1 <= month <= 12 and 1 <= day <= _length(year, month)


def _length(year: int, month: int) -> int:
    if month == 2:
        return 29 if year % 4 == 0 and (year % 100 != 0 or year % 400 == 0) else 28
    return 30 if month in (4, 6, 9, 11) else 31


def written(day: str) -> str:
    """A day as it is said: "2027-03-01" -> "1 March 2027". Other text is given back."""
    if not is_day(day):
        return day
    month = tell(f"trade-month-{int(day[5:7])}")
    return tell("trade-day", day=int(day[8:]), month=month, year=int(day[:4]))
