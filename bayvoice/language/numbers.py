"""Spoken numbers and their values, both ways.

What may be said at all is the business of ``grammars/en/numbers.gram``; this module gives the value of everything that
grammar accepts. Words with more than one reading give all of them, and `choose` picks by the limits of the
measurement where these leave one; nothing here guesses. Words follow common practice of spoken British and American
English, no source.

Figures said one by one ("one oh five") are one number, 105: who spells says the point too. Groups ("five fifty") leave
the point out as prices do, so they are two, 550 and 5.50. A nought in front ("double oh five") is a point that was
swallowed or a number from a list, so it is three: 5, 0.05 and 0.005.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Final

DIGITS: Final = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
TEENS: Final = (
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
)
TENS: Final = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
PARTS: Final = {
    "half": 2,
    "halves": 2,
    "quarter": 4,
    "quarters": 4,
    "eighth": 8,
    "eighths": 8,
    "sixteenth": 16,
    "sixteenths": 16,
    "tenth": 10,
    "tenths": 10,
    "hundredth": 100,
    "hundredths": 100,
    "thousandth": 1000,
    "thousandths": 1000,
}
"""Parts of one with an exact decimal value; thirty-seconds are left out because they sound like a time."""

HEDGES: Final = ("about", "roughly", "nearly", "plus or minus")
"""What makes a value none that can be judged; it is heard so that it can be refused by name."""

_DIGIT: Final = {word: n for n, word in enumerate(DIGITS)} | {"oh": 0}
_TEEN: Final = {word: n for n, word in enumerate(TEENS, 10)}
_TEN: Final = {word: n for n, word in enumerate(TENS, 2)}
_TIMES: Final = {"double": 2, "triple": 3}
_SIGNS: Final = {"minus": -1, "negative": -1, "plus": 1}
LIMIT: Final = 10**6
"""What can be said is smaller than this."""


def readings(words: Sequence[str]) -> tuple[Decimal, ...]:
    """Every value the words can have, the most usual first.

    Args:
        words: lower-case words, or figures ("32.50") as one word.

    Returns:
        No value where the words are not a number, several where they are grouped ("five fifty") or begin with a
        nought ("double oh five"). Trailing zeros that were said are kept.
    """
    said = list(words)
    if len(said) == 1 and (figures := _figures(said[0])) is not None:
        return (figures,)
    sign = 1
    if said and said[0] in _SIGNS:
        sign, said = _SIGNS[said[0]], said[1:]
    found = _point(said) if "point" in said else (*_mixed(said), *_plain(said))
    return tuple(dict.fromkeys(-value if sign < 0 and value else value for value in found))


def value_of(words: Sequence[str]) -> Decimal | None:
    """The value of words with exactly one reading, else None."""
    found = readings(words)
    return found[0] if len(found) == 1 else None


def far_off(value: Decimal, low: Decimal | None, high: Decimal | None, times: int = 10) -> bool:
    """Whether `value` is so far outside its limits that it was probably heard or said wrongly.

    Args:
        value: what was said, in the unit of the limits.
        low, high: the limits, inclusive; None where there is none.
        times: how far is too far.

    Returns:
        True for `times` the upper limit or more, and for a `times`-th of the lower limit or less, for limits above
        zero; the mirror image for limits below zero. Where they lie on both sides of zero, or touch it, the greater of
        the two in size says what is too far either way. A side without a limit has no too far. What is within the
        limits is never too far, and a limit of zero alone has no scale, so nothing is.
    """
    if (low is None or value >= low) and (high is None or value <= high):
        return False
    size = max(abs(limit) for limit in (low, high) if limit is not None)
    if high is not None and value > high:
        bound = high / times if high < 0 and (low is None or low < 0) else size * times
        return size > 0 and value >= bound
    assert low is not None
    bound = low / times if low > 0 else -size * times
    return size > 0 and value <= bound


def plausible(
    readings: Sequence[Decimal], low: Decimal | None, high: Decimal | None, times: int = 10
) -> tuple[Decimal, ...]:
    """Those of `readings` that are not `far_off`, in their order; all in the unit of the limits."""
    return tuple(value for value in readings if not far_off(value, low, high, times))


def choose(readings: Sequence[Decimal], low: Decimal | None, high: Decimal | None, times: int = 10) -> Decimal | None:
    """The one reading that was meant, None where that is open and has to be asked.

    A single reading is it, however far off. Of several it is the one that is `plausible`, if exactly one is; whether
    the others are also outside the limits does not matter, since a value outside its limits is still a value.
    """
    if len(readings) == 1:
        return readings[0]
    left = plausible(readings, low, high, times)
    return left[0] if len(left) == 1 else None


def digits_of(words: Sequence[str]) -> str | None:
    """The figures of words said digit by digit ("oh four double seven" -> "0477"), None where they are not digits."""
    if words and all(word.isascii() and word.isdigit() for word in words):
        return "".join(words)
    out, times = "", 1
    for word in words:
        if word in _TIMES and times == 1:
            times = _TIMES[word]
        elif word in _DIGIT:
            out, times = out + str(_DIGIT[word]) * times, 1
        else:
            return None
    return out if out and times == 1 else None


def to_words(value: Decimal) -> str:
    """`value` as it is said, digit by digit after the point: ``Decimal("32.50")`` -> "thirty two point five zero".

    Raises:
        ValueError: the value is not finite or not smaller than a million.
    """
    if not value.is_finite() or abs(value) >= LIMIT:
        raise ValueError(f"{value} is outside what can be said, less than a million")
    whole, _, part = f"{abs(value):f}".partition(".")
    said = [*(["minus"] if value < 0 else []), *_cardinal(int(whole))]
    if part:
        said += ["point", *(DIGITS[int(figure)] for figure in part)]
    return " ".join(said)


def _cardinal(number: int) -> list[str]:
    if number < 10:
        return [DIGITS[number]]
    if number < 20:
        return [TEENS[number - 10]]
    if number < 100:
        return [TENS[number // 10 - 2], *([DIGITS[number % 10]] if number % 10 else [])]
    if number < 1000:
        rest = number % 100
        return [DIGITS[number // 100], "hundred", *(["and", *_cardinal(rest)] if rest else [])]
    rest = number % 1000
    tail = [] if not rest else ["and", *_cardinal(rest)] if rest < 100 else _cardinal(rest)
    return [*_cardinal(number // 1000), "thousand", *tail]


def _figures(word: str) -> Decimal | None:
    """The value of "32.50" or "-4"; None for anything else, exponents and other scripts included."""
    body = word[1:] if word[:1] in "+-" else word
    whole, sep, part = body.partition(".")
    plain = body.isascii() and (whole.isdigit() or (not whole and sep)) and (part.isdigit() if sep else True)
    return Decimal(word) if plain else None


def _below_hundred(words: Sequence[str]) -> int | None:
    """The value of 1 to 99 as one group."""
    if len(words) == 1:
        return _TEEN.get(words[0], _TEN.get(words[0], 0) * 10 or _DIGIT.get(words[0]) or None)
    if len(words) == 2 and words[0] in _TEN and words[1] in DIGITS[1:]:
        return _TEN[words[0]] * 10 + _DIGIT[words[1]]
    return None


def _below_thousand(words: Sequence[str]) -> int | None:
    """The value of 1 to 9999 said in hundreds: "a hundred and five", "twelve hundred"."""
    if "hundred" not in words:
        return _below_hundred(words)
    at = words.index("hundred")
    head = 1 if list(words[:at]) == ["a"] else _below_hundred(words[:at])
    rest = _after_and(words[at + 1 :])
    tail = 0 if at + 1 == len(words) else _below_hundred(rest)
    if head is None or tail is None or (head > 9 and head % 10 == 0):
        return None
    return head * 100 + tail


def _after_and(words: Sequence[str]) -> Sequence[str]:
    return words[1:] if words and words[0] == "and" else words


def _whole(words: Sequence[str]) -> int | None:
    """The value of a cardinal from 1 to 999,999."""
    if "thousand" not in words:
        return _below_thousand(words)
    at = words.index("thousand")
    head = 1 if list(words[:at]) == ["a"] else _below_thousand(words[:at])
    if at + 1 == len(words):
        tail: int | None = 0
    elif words[at + 1] == "and":
        tail = _below_hundred(words[at + 2 :])
    else:
        tail = _below_thousand(words[at + 1 :])
    if head is None or tail is None or head > 999 or tail > 999:
        return None
    return head * 1000 + tail


def _plain(words: Sequence[str]) -> tuple[Decimal, ...]:
    """Numbers without a point or a part."""
    if len(words) == 1 and words[0] in ("zero", "oh"):
        return (Decimal(0),)
    whole = _whole(words)
    if whole is not None:
        return (Decimal(whole),)
    figures = digits_of(words)
    if figures is None:
        return _grouped(words)
    if len(figures) > 1 and figures.startswith("0"):
        return (Decimal(figures), Decimal(f"0.{figures[1:]}"), Decimal(f"0.{figures}"))
    return (Decimal(figures),)


def _grouped(words: Sequence[str]) -> tuple[Decimal, ...]:
    """Two groups with nothing between, "five fifty": 550 or 5.50; "twelve oh five": 1205 or 12.05."""
    found: list[Decimal] = []
    for at in range(1, len(words)):
        head = _below_hundred(words[:at])
        tail = _pair(words[at:])
        if head is not None and tail is not None:
            found += [Decimal(f"{head}{tail}"), Decimal(f"{head}.{tail}")]
    return tuple(found)


def _pair(words: Sequence[str]) -> str | None:
    """Two figures said as one group: "fifty", "twelve", "oh five"."""
    if len(words) == 2 and words[0] in ("oh", "zero") and words[1] in DIGITS:
        return f"0{_DIGIT[words[1]]}"
    value = _below_hundred(words)
    return str(value) if value is not None and value > 9 else None


def _mixed(words: Sequence[str]) -> tuple[Decimal, ...]:
    """Parts of one, alone or after a whole number: "three quarters", "two and a half"."""
    if not words or words[-1] not in PARTS:
        return ()
    below = PARTS[words[-1]]
    for at in range(len(words) - 1, -1, -1):
        count = words[at:-1]
        if list(count) == ["a"] or (at == 0 and words[0] == "half"):
            over: int | None = 1
        else:
            over = _below_hundred(count)
        head = 0 if at == 0 else _whole(words[: at - 1]) if words[at - 1] == "and" else None
        if over is None or head is None or not 0 < over < below or (over == 1) == words[-1].endswith("s"):
            continue
        if below % 10:
            return (Decimal(head) + Decimal(over) / Decimal(below),)
        if head < 100:  # "a hundred and five thousandths" may be 0.105
            return (head + Decimal(over).scaleb(1 - len(str(below))),)
    return ()


def _point(words: Sequence[str]) -> tuple[Decimal, ...]:
    """Decimals: a cardinal, digits or nothing before the point; digits or one group of two after it."""
    at = words.index("point")
    before, after = words[:at], words[at + 1 :]
    head: str | None
    if not before:
        head = "0"
    elif (whole := _whole(before)) is not None:
        head = str(whole)
    else:
        head = digits_of(before)
    tail = digits_of(after)
    if tail is None and (value := _below_hundred(after)) is not None:
        tail = str(value)
    return () if head is None or tail is None else (Decimal(f"{head}.{tail}"),)
