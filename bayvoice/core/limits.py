"""The limits of a measurement: as the procedure gives them, or worked out from earlier readings; said and shown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from typing import Final

from bayvoice.core.wording import amount
from bayvoice.errors import BayError
from bayvoice.procedure.model import Measure, Procedure
from bayvoice.speech import units
from bayvoice.trade import expression

_FINEST: Final = Decimal("0.000001")

Values = Sequence[tuple[str, Decimal, str]]
"""(name, value, unit) of what has been measured."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Inclusive limits in the measurement's unit, None where there is none. `come_from`: the sums, with the values that
    went in, "" where the procedure gives the limits itself."""

    low: Decimal | None
    high: Decimal | None
    come_from: str = ""


def limits(detail: Measure, values: Values) -> Limits:
    """The limits of a measurement.

    A limit that can't be written with six places is drawn inwards to them, so that rounding accepts nothing more.

    Args:
        values: what has been measured so far.

    Raises:
        BayError: a reading that a sum needs is missing, or the limits cross.
    """
    if not detail.low_from and not detail.high_from:
        return Limits(detail.low, detail.high)
    given = {name: (value, unit) for name, value, unit in values}
    low, high = detail.low, detail.high
    told: list[str] = []
    used: dict[str, str] = {}
    for side, text, rounding in (("low", detail.low_from, ROUND_CEILING), ("high", detail.high_from, ROUND_FLOOR)):
        if not text:
            continue
        exact = _worked_out(text, given, detail.unit)
        limit = exact if exact == exact.quantize(_FINEST) else exact.quantize(_FINEST, rounding)
        limit = _with_places(limit, max((_places(v) for _, v, code in values if code == detail.unit), default=0))
        told.append(f"{side} = {text} = {amount(limit, detail.unit)}")
        for name in expression.names(text):
            known = next(n for n in given if expression.plain_name(n) == name)
            used[known] = amount(*given[known])
        low, high = (limit, high) if side == "low" else (low, limit)
    if low is not None and high is not None and low > high:
        raise BayError(
            f"the limits cross: {amount(low, detail.unit)} is above {amount(high, detail.unit)}",
            detail.name,
            f"check {_listed(used)}" if used else "check the procedure",
        )
    told += [f"{name} = {value}" for name, value in used.items()]
    return Limits(low, high, "; ".join(told))


def _worked_out(text: str, given: dict[str, tuple[Decimal, str]], unit: str) -> Decimal:
    known = {expression.plain_name(name) for name in given}
    for name in expression.names(text):
        if name not in known:
            raise BayError(f"the {name} is not measured", text, f"go back and measure the {name}")
    return expression.evaluate(text, given, unit)[0]


def _places(value: Decimal) -> int:
    return max(0, -int(value.as_tuple().exponent))


def _with_places(value: Decimal, places: int) -> Decimal:
    """`value` with as many places at least as the readings have: 0.10 mm beside 12.50 mm, not 0.1 mm."""
    return value.quantize(Decimal(1).scaleb(-places)) if _places(value) < places else value


def _listed(names: dict[str, str]) -> str:
    return " and ".join(f"the {name}" for name in names)


def depends(detail: Measure, name: str) -> bool:
    """Whether a limit of `detail` is worked out from the measurement called `name`."""
    plain = expression.plain_name(name)
    return any(plain in expression.names(text) for text in (detail.low_from, detail.high_from) if text)


def uncertainty_of(procedure: Procedure, detail: Measure) -> Decimal | None:
    """Expanded uncertainty of the measurement's gauge in the measurement's unit, None where it is not known."""
    gauge = procedure.gauge(detail.gauge)
    if gauge is None or gauge.uncertainty is None:
        return None
    return units.convert(gauge.uncertainty, gauge.unit, detail.unit)


def shown(value: Decimal | None) -> str:
    """A number as a fact holds it, "" for none."""
    return "" if value is None else f"{value:f}"


def limits_key(found: Limits | Measure) -> str:
    """Which limits there are: "both", "low", "high" or "none"."""
    if found.low is None and found.high is None:
        return "none"
    return "both" if None not in (found.low, found.high) else "low" if found.high is None else "high"


def limit_fields(found: Limits | Measure, unit: str) -> dict[str, str]:
    """The limits as shown and said."""
    return {
        "low": "" if found.low is None else f"{found.low:f}",
        "low_unit": "" if found.low is None else amount(found.low, unit),
        "high_unit": "" if found.high is None else amount(found.high, unit),
    }
