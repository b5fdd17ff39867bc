"""How long a wait must and may last: as written, or worked out from the surroundings. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from bayvoice.errors import BayError
from bayvoice.procedure.model import Law, Wait
from bayvoice.trade.cure import (
    Row,
    Side,
    arrhenius_factor,
    doubling_factor,
    time_for_depth,
    window_by_rate,
    window_from_table,
)

UNITS: Final[Mapping[str, str]] = {"temperature": "degC", "humidity": "%", "depth": "mm"}
"""What a wait may be worked out from -> its unit code."""

SENSIBLE: Final[Mapping[str, tuple[Decimal, Decimal]]] = {
    "temperature": (Decimal(-40), Decimal(80)),
    "humidity": (Decimal(0), Decimal(100)),
    "depth": (Decimal(0), Decimal(100)),
}
"""Between which such a value can be meant at all."""

SIDES: Final[tuple[tuple[str, Side], ...]] = (("at_least", "longer"), ("at_most", "shorter"))


@dataclass(frozen=True, slots=True)
class Window:
    """Limits in seconds, None where there is none; `model`, `from_`: as in the fact "wait_started"."""

    at_least: int | None
    at_most: int | None
    model: str = "fixed"
    from_: str = ""


def needs(wait: Wait) -> tuple[str, ...]:
    """Names of the values `wait` is worked out from, in the order they are asked for."""
    if wait.rows:
        return ("temperature", "humidity") if wait.rows[0].humidity is not None else ("temperature",)
    if wait.law is None:
        return ()
    if wait.law.model == "depth":
        return ("depth",) if wait.law.depth is None else ()
    return ("temperature",)


def window(wait: Wait, values: Mapping[str, Decimal]) -> Window:
    """The window of `wait` with the `values` of everything it `needs`, in `UNITS`.

    A minimum is rounded up and a maximum down.

    Raises:
        BayError: a value is outside what the maker's table or law covers, or the limits leave no window.
    """
    if wait.rows:
        found = {limit: _from_table(wait, limit, side, values) for limit, side in SIDES}
    elif wait.law is not None:
        law = wait.law
        found = {limit: _by_law(law, getattr(wait, limit), side, values) for limit, side in SIDES}
    else:
        return Window(wait.at_least, wait.at_most)
    least, most = found["at_least"], found["at_most"]
    if least is not None and most is not None and least > most:
        raise BayError("there the time at least is longer than the time at most", wait.name, "ask the maker")
    given = {name: values[name] for name in needs(wait)}
    if wait.law is not None and wait.law.depth is not None:
        given["depth"] = wait.law.depth
    from_ = ", ".join(f"{name} {value:f} {UNITS[name]}" for name, value in given.items())
    return Window(least, most, "table" if wait.law is None else wait.law.model, from_)


def astray(wait: Wait, values: Mapping[str, Decimal]) -> str:
    """Name of the first of `values` that the maker's table or law does not cover, "" where all are covered."""
    for name in needs(wait):
        if wait.law is not None:
            low, high = wait.law.low, wait.law.high
        else:
            points = [getattr(row, name) for row in wait.rows]
            low, high = min(points), max(points)
        if name in values and not low <= values[name] <= high:
            return name
    return ""


def _from_table(wait: Wait, limit: str, side: Side, values: Mapping[str, Decimal]) -> int | None:
    rows = [
        Row(row.temperature, Decimal(time), row.humidity)
        for row in wait.rows
        if (time := getattr(row, limit)) is not None
    ]
    if not rows:
        return None
    return window_from_table(rows, values["temperature"], values.get("humidity"), side).seconds


def _by_law(law: Law, seconds: int | None, side: Side, values: Mapping[str, Decimal]) -> int | None:
    if seconds is None:
        return None
    if law.model == "depth":
        depth = law.depth if law.depth is not None else values["depth"]
        return time_for_depth(depth, law.reference, Decimal(seconds), law.high).seconds
    temperature = values["temperature"]
    reference, span, now = float(law.reference), float(law.span), float(temperature)
    if law.model == "doubling":
        factor = doubling_factor(reference, now, 2.0, span)
    else:
        factor = arrhenius_factor(span * 1000, reference, now)
    return window_by_rate(Decimal(seconds), factor, temperature, (law.low, law.high), side).seconds
