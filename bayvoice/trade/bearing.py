"""End float of bearings, and the choice of shims. Everything in one unit, exact."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import combinations
from typing import Final

from bayvoice.errors import BayError
from bayvoice.language.texts import tell
from bayvoice.units import fraction, to_decimal

_MOST_SHIMS: Final = 6
_MOST_KINDS: Final = 60
_MOST_PACKS: Final = 300_000


def end_float(pushed: Decimal, pulled: Decimal) -> Decimal:
    """End float from two readings of a dial gauge: hub pulled outwards minus hub pushed inwards.

    Raises:
        BayError: negative: the readings are swapped or the gauge was moved.
    """
    found = fraction(pulled) - fraction(pushed)
    if found < 0:
        raise BayError(
            tell("trade-pulled-is-less-than-pushed", pulled=pulled, pushed=pushed),
            "",
            tell("trade-swap-readings-or-set-gauge"),
        )
    return to_decimal(found)


@dataclass(frozen=True, slots=True)
class ShimChoice:
    """A pack of shims.

    Attributes:
        shims: thicknesses, thickest first; empty where none is needed.
        total: their sum.
        expected: end float to expect with them; it must be measured again.
        wanted_low, wanted_high: total thickness the limits of the end float ask for.
    """

    shims: tuple[Decimal, ...]
    total: Decimal
    expected: Decimal
    wanted_low: Decimal
    wanted_high: Decimal


def choose_shims(
    measured: Decimal,
    low: Decimal,
    high: Decimal,
    stock: Sequence[Decimal],
    fitted: Decimal = Decimal(0),
    more_shim_more_float: bool = True,
    most: int = 3,
    reuse: bool = True,
) -> ShimChoice:
    """The pack that brings the end float nearest to the middle of its limits, with the fewest shims.

    Args:
        measured: end float with the pack that is fitted now; negative for preload.
        low, high: limits of the end float; negative for preload.
        stock: thicknesses at hand, each above 0.
        fitted: total thickness of that pack, 0 for none.
        more_shim_more_float: True where a thicker pack opens the bearing (shims under a cover that clamps it), False
            where it closes it (shims behind a race).
        most: shims in a pack at most, 1 to 6.
        reuse: whether one thickness may be taken more than once; False: `stock` names every single shim.

    Raises:
        BayError: a number is unphysical, or no pack from the stock brings the end float within its limits; the
            sentence says what total is wanted.
    """
    for number in (measured, low, high, fitted, *stock):
        fraction(number)
    if low > high:
        raise BayError(tell("trade-lower-limit-low-is-above", low=low, high=high), "", tell("trade-swap-limits"))
    if fitted < 0 or any(shim <= 0 for shim in stock):
        raise BayError(tell("trade-shim-has-thickness-above-0"), "", tell("trade-check-thicknesses"))
    if not 1 <= most <= _MOST_SHIMS:
        raise BayError(
            tell("trade-pack-of-up-to-most", most=most), "", tell("trade-allow-1-to-most-shims", most_shims=_MOST_SHIMS)
        )
    kinds = sorted(set(stock)) if reuse else sorted(stock)
    if len(kinds) > _MOST_KINDS:
        raise BayError(
            tell("trade-count-shims-are-too-many", count=len(kinds)),
            "",
            tell("trade-name-most-kinds-nearest", most_kinds=_MOST_KINDS),
        )
    sign = 1 if more_shim_more_float else -1
    # float = measured + sign * (total - fitted), so the total for a wanted float:
    ends = sorted(Fraction(fitted) + sign * (Fraction(wanted) - Fraction(measured)) for wanted in (low, high))
    if ends[1] < 0:
        raise BayError(
            tell("trade-pack-would-have-to-be-ends", ends=_plain(ends[1])),
            "",
            tell("trade-check-which-way-shims-work"),
        )
    middle = (ends[0] + ends[1]) / 2
    best: tuple[tuple[Fraction, int, tuple[Fraction, ...]], tuple[Decimal, ...]] | None = None
    for pack in _packs(kinds, most, reuse):
        total = sum((Fraction(shim) for shim in pack), Fraction(0))
        if ends[0] <= total <= ends[1]:
            rank = (abs(total - middle), len(pack), tuple(Fraction(shim) for shim in pack))
            if best is None or rank < best[0]:
                best = rank, pack
    if best is None:
        span = f"{_plain(max(ends[0], Fraction(0)))} to {_plain(ends[1])}"
        raise BayError(
            tell("trade-no-pack-of-up-to-most", most=most, span=span),
            "",
            tell("trade-get-other-shims-do-not-leave"),
        )
    total = sum((Fraction(shim) for shim in best[1]), Fraction(0))
    expected = Fraction(measured) + sign * (total - Fraction(fitted))
    return ShimChoice(
        tuple(sorted(best[1], reverse=True)),
        to_decimal(total),
        to_decimal(expected),
        to_decimal(ends[0]),
        to_decimal(ends[1]),
    )


def _packs(kinds: list[Decimal], most: int, reuse: bool) -> list[tuple[Decimal, ...]]:
    """Every pack of up to `most` shims, the empty one first."""
    count, packs = 1, 1
    for size in range(1, most + 1):
        # with repetition: one more kind to choose from for each further place
        choices = len(kinds) + (size - 1 if reuse else 1 - size)
        count = count * max(choices, 0) // size
        packs += count
    if packs > _MOST_PACKS:
        raise BayError(tell("trade-too-many-packs-to-try"), "", tell("trade-allow-fewer-shims-or-name"))
    found: list[tuple[Decimal, ...]] = [()]
    if not reuse:
        for size in range(1, most + 1):
            found += combinations(kinds, size)
        return found
    last: list[tuple[Decimal, ...]] = [()]
    for _ in range(most):
        last = [(*pack, shim) for pack in last for shim in kinds if not pack or shim >= pack[-1]]
        found += last
    return found


def _plain(value: Fraction) -> str:
    return format(to_decimal(value), "f")
