"""Refusing numbers that no workshop has."""

from __future__ import annotations

import math

from bayvoice.errors import BayError


def between(value: float, low: float, high: float, what: str, unit: str = "", above: bool = False) -> float:
    """`value`, if it is a number from `low` (or, with `above`, from above `low`) to `high`.

    Raises:
        BayError: it is not; `what` and `unit` are for the sentence.
    """
    if math.isfinite(value) and low <= value <= high and not (above and value == low):
        return value
    behind = f" {unit}" if unit else ""
    article = "an" if what[0] in "aeiou" else "a"
    raise BayError(
        f"{article} {what} of {value:g}{behind} is not possible",
        "",
        f"give one {'above' if above else 'from'} {low:g} up to {high:g}{behind}",
    )
