"""Is a reading inside its limits, and can its gauge prove it?

ISO 14253-1:2013 (second edition, decision rules for proving conformity or nonconformity with specifications; its rule
is that of 1998): a workpiece is shown to conform only where the reading lies inside the limits by at least the expanded
uncertainty U of the measurement, and shown not to conform only where it lies outside them by more than U. In between
neither is proven. Limits are permissible values themselves, so a reading exactly U inside a limit conforms, and one
exactly U outside it is still in doubt.

ISO 14253-1:2017 (third edition, decision rules for verifying conformity or nonconformity) goes by probability instead:
by default 95 % that the workpiece conforms, or does not, as the case may be. Where U is small beside the width between
the limits its guard band is 1.65 standard uncertainties, 0.825 U where U has a coverage factor of 2; the whole of U
stands for 97.7 %. So whatever is "within", "low" or "high" here is so by the third edition too, which decides some
readings that are "close" here. The second edition is kept because it needs no coverage factor and is the more careful.

Sources: both editions from memory; the 1.65 (p. 16 of the third) from a laboratory's procedure that quotes it.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import MAX_PREC, Context, Decimal
from typing import Final, Literal

from bayvoice.errors import BayError
from bayvoice.language.texts import tell

Verdict = Literal["within", "low", "high", "close"]
""" "close": too close to a limit to call with this gauge."""

# Sums and differences of readings are exact whatever precision the caller has set.
_EXACT: Final = Context(prec=MAX_PREC)
_WIDEST: Final = 60


@dataclass(frozen=True, slots=True)
class Guarded:
    """What a gauge of a given uncertainty can prove, all in the unit of the limits; None: no limit on that side.

    Attributes:
        low, high: readings from `low` to `high` are proven within.
        below, above: readings under `below` are proven low, over `above` proven high.
        provable: False where the limits are nearer than twice the uncertainty: then no reading is proven within.
    """

    low: Decimal | None
    high: Decimal | None
    below: Decimal | None
    above: Decimal | None
    provable: bool


def verdict(value: Decimal, low: Decimal | None, high: Decimal | None) -> str:
    """ "within", "low" or "high" against inclusive limits in the same unit; None is no limit on that side."""
    if low is not None and value < low:
        return "low"
    if high is not None and value > high:
        return "high"
    return "within"


def guarded(low: Decimal | None, high: Decimal | None, uncertainty: Decimal) -> Guarded:
    """Limits drawn in and pushed out by the expanded uncertainty.

    Raises:
        BayError: a number is not finite or absurdly long, the uncertainty is negative, or `low` is above `high`.
    """
    given = [limit for limit in (low, high) if limit is not None]
    for number in (*given, uncertainty):
        _ordinary(number)
    if uncertainty < 0:
        raise BayError(
            tell("trade-uncertainty-of-is-below-nought", uncertainty=uncertainty),
            "",
            tell("trade-give-expanded-uncertainty-as-positive"),
        )
    if low is not None and high is not None and low > high:
        raise BayError(tell("trade-lower-limit-low-is-above", low=low, high=high), "", tell("trade-swap-limits"))
    inner_low = None if low is None else _EXACT.add(low, uncertainty)
    inner_high = None if high is None else _EXACT.subtract(high, uncertainty)
    return Guarded(
        inner_low,
        inner_high,
        None if low is None else _EXACT.subtract(low, uncertainty),
        None if high is None else _EXACT.add(high, uncertainty),
        inner_low is None or inner_high is None or inner_low <= inner_high,
    )


def judge(value: Decimal, low: Decimal | None, high: Decimal | None, uncertainty: Decimal | None = None) -> Verdict:
    """The verdict on a reading; everything in one unit.

    Args:
        value: the reading.
        low, high: inclusive limits; None is no limit on that side, both None is within.
        uncertainty: expanded uncertainty U of the measurement (k = 2 is usual); None or 0: the plain limits decide.

    Returns:
        "within", "low" or "high" where that is proven, else "close". Where the limits are nearer to each other than
        twice the uncertainty nothing can be proven within (`guarded(…).provable` is False), and a reading between
        them is "close".

    Raises:
        BayError: as `guarded`, or the reading is not finite.
    """
    _ordinary(value)
    bands = guarded(low, high, uncertainty or Decimal(0))
    if bands.below is not None and value < bands.below:
        return "low"
    if bands.above is not None and value > bands.above:
        return "high"
    if (bands.low is None or value >= bands.low) and (bands.high is None or value <= bands.high):
        return "within"
    return "close"


def _ordinary(number: Decimal) -> None:
    if not number.is_finite() or abs(number.adjusted()) > _WIDEST or len(number.as_tuple().digits) > _WIDEST:
        raise BayError(
            tell("trade-no-measurement", number=str(number)[:20]),
            "",
            tell("trade-give-ordinary-decimal-number"),
        )
