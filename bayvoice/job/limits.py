"""The limits of a measurement: the step's own, or worked out from earlier readings, or both; said and shown."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from typing import Final

from bayvoice.errors import BayError
from bayvoice.job.readings import Measured
from bayvoice.language import units
from bayvoice.language.wording import amount, listed
from bayvoice.procedure.model import Measure, Procedure
from bayvoice.trade import expression

_FINEST: Final = Decimal("0.000001")


@dataclass(frozen=True, slots=True)
class Limits:
    """Inclusive limits in the measurement's unit, None where there is none.

    Attributes:
        come_from: the sums, with the values that went in and which limit decides where the step has its own on the
            same side; "" where the procedure gives the limits itself.
        low_by, high_by: names of the readings that give the limit, as a list in words; "" where the step's own does.
    """

    low: Decimal | None
    high: Decimal | None
    come_from: str = ""
    low_by: str = ""
    high_by: str = ""


def limits(detail: Measure, measured: Measured) -> Limits:
    """The limits of a measurement: the step's own and those worked out from earlier readings, of each side the tighter.

    A limit that can't be written with six places is drawn inwards to them, so that rounding accepts nothing more. Only
    values that are in order, taken with a gauge in date, give limits.

    Args:
        measured: what has been measured so far.

    Raises:
        BayError: a reading that a sum needs is missing or unfit, or the limits cross.
    """
    if not detail.low_from and not detail.high_from:
        return Limits(detail.low, detail.high)
    given = {name: (value, unit) for name, value, unit in measured.values}
    places = max((_places(value) for value, unit in given.values() if unit == detail.unit), default=0)
    told: list[str] = []
    used: dict[str, str] = {}
    found: dict[str, tuple[Decimal | None, str]] = {}
    for side, own, text in (("low", detail.low, detail.low_from), ("high", detail.high, detail.high_from)):
        found[side] = (own, "")
        if not text:
            continue
        names = _fit(detail, text, measured)
        limit = _inwards(expression.evaluate(text, given, detail.unit)[0], side, places)
        mine = own is not None and (own >= limit if side == "low" else own <= limit)
        found[side] = (own, "") if mine else (limit, listed(tuple(f"the {name}" for name in names)))
        told.append(f"{side} = {text} = {amount(limit, detail.unit)}{_deciding(own, detail.unit, mine)}")
        used |= {name: amount(*given[name]) for name in names}
    (low, low_by), (high, high_by) = found["low"], found["high"]
    if low is not None and high is not None and low > high:
        raise BayError(
            f"the limits cross: {amount(low, detail.unit)} is above {amount(high, detail.unit)}",
            detail.name,
            f"check {listed(tuple(f'the {name}' for name in used))}" if used else "check the procedure",
        )
    told += [f"{name} = {value}" for name, value in used.items()]
    return Limits(low, high, "; ".join(told), low_by, high_by)


def _fit(detail: Measure, text: str, measured: Measured) -> tuple[str, ...]:
    """The measurements a sum needs, by the names they are logged under. BayError: one gives no limit."""
    found = []
    known = {expression.plain_name(name): name for name, _, _ in measured.values}
    for plain in expression.names(text):
        name = known.get(plain)
        if name is None:
            raise BayError(f"the {plain} is not measured", detail.name, f"go back and measure the {plain}")
        unfit = measured.unfit(name)
        if unfit:
            stands = measured.value(name)
            value = amount(*stands) if stands else ""
            raise BayError(
                f"it is judged by the {name}, and {_UNFIT[unfit].format(value=value)}",
                detail.name,
                f"put the {name} right and measure it again, or correct its value",
            )
        found.append(name)
    return tuple(found)


_UNFIT: Final = {
    "low": "{value} is below its limit",
    "high": "{value} is above its limit",
    "close": "{value} is too close to its limit to call",
    "scattered": "the readings behind {value} lie too far apart",
    "gauge": "{value} was taken with a gauge that is out of date",
    "again": "{value} is from before that work was begun anew",
    "open": "{value} can't be judged itself",
}
"""What `Measured.unfit` says of a value."""


def _inwards(exact: Decimal, side: str, places: int) -> Decimal:
    """A limit to six places at most, and with as many as the readings have: 0.10 mm beside 12.50 mm, not 0.1 mm."""
    rounding = ROUND_CEILING if side == "low" else ROUND_FLOOR
    limit = exact if exact == exact.quantize(_FINEST) else exact.quantize(_FINEST, rounding)
    return limit.quantize(Decimal(1).scaleb(-places)) if _places(limit) < places else limit


def _deciding(own: Decimal | None, unit: str, mine: bool) -> str:
    """Which of a step's own limit and the worked-out one decides."""
    if own is None:
        return ""
    return f", the step's own {amount(own, unit)} {'decides' if mine else 'is wider'}"


def _places(value: Decimal) -> int:
    return max(0, -int(value.as_tuple().exponent))


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


def limits_text(found: Limits, unit: str) -> str:
    """Limits in words."""
    if found.low is None:
        return "no limit" if found.high is None else f"at most {amount(found.high, unit)}"
    if found.high is None:
        return f"at least {amount(found.low, unit)}"
    return f"{found.low:f} to {amount(found.high, unit)}"


def limit_fields(found: Limits | Measure, unit: str) -> dict[str, str]:
    """The limits as shown and said."""
    return {
        "low": "" if found.low is None else f"{found.low:f}",
        "low_unit": "" if found.low is None else amount(found.low, unit),
        "high_unit": "" if found.high is None else amount(found.high, unit),
    }
