"""Refusing numbers that no workshop has."""

from __future__ import annotations

import math

from bayvoice.errors import BayError
from bayvoice.language.texts import tell


def between(value: float, low: float, high: float, what: str, unit: str = "", above: bool = False) -> float:
    """`value`, if it is a number from `low` (or, with `above`, from above `low`) to `high`.

    Raises:
        BayError: it is not. `what` ("wrench-length") names the sentence's words for it, ``trade-a-wrench-length``, and
            `unit` is the code of its unit.
    """
    if math.isfinite(value) and low <= value <= high and not (above and value == low):
        return value
    behind = f" {tell('trade-degrees') if unit == 'deg' else unit}" if unit else ""
    limits = {"low": f"{low:g}", "high": f"{high:g}{behind}"}
    raise BayError(
        tell("trade-is-not-possible", what=tell(f"trade-a-{what}"), value=f"{value:g}{behind}"),
        "",
        tell("trade-give-one-above-up-to", **limits) if above else tell("trade-give-one-from-up-to", **limits),
    )
