"""Mixing ratios, correcting a mixture, fill volumes. Exact where the figures are, in one unit of volume."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from bayvoice.errors import BayError
from bayvoice.language.texts import tell
from bayvoice.trade.checks import between
from bayvoice.units import fraction, to_decimal

_MOST_PARTS: Final = 1000


def parts(ratio: Sequence[Decimal], total: Decimal) -> tuple[Decimal, ...]:
    """How much of each, where `ratio` is in parts (3 to 1) and all together are `total`.

    Raises:
        BayError: fewer than two parts, one not above 0 or above 1000, or a total not above 0.
    """
    whole = sum(_ratio(ratio), Fraction(0))
    return tuple(to_decimal(_volume(total) * part / whole) for part in _ratio(ratio))


def parts_for(ratio: Sequence[Decimal], which: int, amount: Decimal) -> tuple[Decimal, ...]:
    """How much of each to go with `amount` of part `which` (from 0): oil for a can of petrol.

    Raises:
        BayError: as `parts`, or there is no such part.
    """
    shares = _ratio(ratio)
    if not 0 <= which < len(shares):
        raise BayError(
            tell("trade-no-part-which-in-ratio", which=which + 1, count=len(shares)), "", tell("trade-count-from-1")
        )
    return tuple(to_decimal(_volume(amount) * share / shares[which]) for share in shares)


@dataclass(frozen=True, slots=True)
class Exchange:
    """`drain` that much of the mixture and fill up with as much of the other: `share` percent is then in it."""

    drain: Decimal
    share: Decimal


def exchange(volume: Decimal, now: Decimal, wanted: Decimal, filled_with: Decimal) -> Exchange:
    """How much of a full system to drain and replace, so that it holds `wanted` percent.

    Args:
        volume: of the system, full, well mixed.
        now: percent in it.
        wanted: percent.
        filled_with: percent in what is filled up with, 100 for concentrate, 0 for water.

    V (wanted - now) / (filled_with - now), by the balance of the concentrate. Volumes are taken as adding up.

    Raises:
        BayError: a share is not from 0 to 100, or the wanted one does not lie between the two others.
    """
    shares = [fraction(share) for share in (now, wanted, filled_with)]
    if any(not 0 <= share <= 100 for share in shares):
        raise BayError(tell("trade-share-is-from-0-to-100"), "", tell("trade-check-percentages"))
    have, want, fill = shares
    if not min(have, fill) <= want <= max(have, fill):
        raise BayError(
            tell("trade-now-percent-with-filled-never", now=now, filled_with=filled_with, wanted=wanted),
            "",
            tell("trade-fill-up-with-something-on-other"),
        )
    if have == fill:
        return Exchange(Decimal(0), now)
    return Exchange(to_decimal(_volume(volume) * (want - have) / (fill - have)), wanted)


def cylinder(diameter: float, height: float) -> float:
    """Litres in a cylinder of so many millimetres: pi/4 D^2 h.

    Raises:
        BayError: a length is not above 0 or above 100 m.
    """
    between(diameter, 0, 1e5, "diameter", "mm", above=True)
    between(height, 0, 1e5, "height", "mm", above=True)
    return math.pi / 4 * diameter**2 * height / 1e6


def lying_cylinder(diameter: float, length: float, depth: float) -> float:
    """Litres in a lying cylindrical tank filled to `depth`, all in millimetres.

    Length times the circle's segment, r^2 (a - sin a cos a) with cos a = (r - d)/r.

    Raises:
        BayError: a length is out of range, or the depth is more than the diameter.
    """
    between(diameter, 0, 1e5, "diameter", "mm", above=True)
    between(length, 0, 1e5, "length", "mm", above=True)
    between(depth, 0, diameter, "depth", "mm")
    r = diameter / 2
    half = 2 * math.asin(math.sqrt(depth / diameter))  # half the angle of the segment; acos would lose a shallow one
    segment = r**2 * (half - math.sin(half) * math.cos(half))
    return max(0.0, segment) * length / 1e6


def box(width: Decimal, length: Decimal, depth: Decimal) -> Decimal:
    """Litres in a box of so many millimetres.

    Raises:
        BayError: a length is not above 0 or above 100 m.
    """
    for side, what in ((width, "width"), (length, "length"), (depth, "depth")):
        between(float(fraction(side)), 0, 1e5, what, "mm", above=True)
    return to_decimal(Fraction(width) * Fraction(length) * Fraction(depth) / 10**6)


def to_fill(capacity: Decimal, left: Decimal = Decimal(0), share: Decimal = Decimal(100)) -> Decimal:
    """What goes in until `share` percent of `capacity` is reached, with `left` still inside.

    Raises:
        BayError: the capacity is not above 0, the share not from 0 to 100, or more is left than wanted.
    """
    if not 0 <= fraction(share) <= 100:
        raise BayError(tell("trade-share-is-from-0-to-100"), "", tell("trade-check-percentage"))
    room = _volume(capacity) * Fraction(share) / 100 - fraction(left)
    if fraction(left) < 0 or room < 0:
        raise BayError(
            tell("trade-left-does-not-fit-fill", left=left, share=share, capacity=capacity),
            "",
            tell("trade-check-volumes"),
        )
    return to_decimal(room)


def _ratio(ratio: Sequence[Decimal]) -> list[Fraction]:
    shares = [fraction(part) for part in ratio]
    if len(shares) < 2 or any(not 0 < share <= _MOST_PARTS for share in shares):
        raise BayError(tell("trade-mixing-ratio-has-two-or-more"), "", tell("trade-write-like-50-1"))
    return shares


def _volume(volume: Decimal) -> Fraction:
    exact = fraction(volume)
    if exact <= 0:
        raise BayError(tell("trade-volume-of-is-not-possible", volume=volume), "", tell("trade-give-one-above-0"))
    return exact
