"""Torque wrenches, adapters, bolt preload, stages and angles.

The maker's figures go before anything worked out here: nut factors scatter, and a torque from a table knows neither the
joint nor its lubricant.
"""

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
from bayvoice.trade.order import given_order
from bayvoice.units import fraction, to_decimal

_MOST_TORQUE: Final = 1e6


def wrench_setting(torque: float, wrench: float, adapter: float, angle: float = 0.0) -> float:
    """What to set a torque wrench to so that the fastener behind an adapter gets `torque`: T L / (L + E cos a).

    Args:
        torque: wanted at the fastener, any unit; above 0. The result is in the same unit.
        wrench: L, from the middle of the square drive to the middle of the grip, where the hand pulls; above 0.
        adapter: E, from the middle of the square drive to the middle of the fastener; same unit as `wrench`, from 0.
        angle: of the adapter against the wrench's own axis, degrees, -180 to 180: 0 straight ahead (the setting
            falls), 90 square to it (no change), 180 pointing back along the handle (the setting rises).

    Sources: US Army TM 1-1500-204-23-9 section 8 and the US Navy's mechanics' manuals for straight adapters; TM 9-254
    for the cosine; both say that a right angle changes nothing.

    Raises:
        BayError: a number out of its range, or an adapter that points back so far that less than a tenth of the
            wrench's arm is left.
    """
    return between(torque, 0, _MOST_TORQUE, "torque", above=True) * wrench / _arm(wrench, adapter, angle)


def torque_reached(setting: float, wrench: float, adapter: float, angle: float = 0.0) -> float:
    """What the fastener gets when the wrench reads `setting`; the inverse of `wrench_setting`, BayError as there."""
    return between(setting, 0, _MOST_TORQUE, "torque", above=True) * _arm(wrench, adapter, angle) / wrench


def _arm(wrench: float, adapter: float, angle: float) -> float:
    between(wrench, 0, 1e5, "wrench-length", above=True)
    between(adapter, 0, 1e5, "adapter-length")
    between(angle, -180, 180, "angle", "deg")
    # Exactly square is exactly no change; cos(pi/2) in floating point is not.
    arm = wrench + (0.0 if abs(angle) == 90 else adapter * math.cos(math.radians(angle)))
    if arm < wrench / 10:
        raise BayError(tell("trade-adapter-points-back-so-far"), "", tell("trade-turn-adapter-or-use-longer"))
    return arm


@dataclass(frozen=True, slots=True)
class Preload:
    """Clamping force of a bolt in newtons: nominal, and the least and most with the scatter of the nut factor."""

    nominal: float
    least: float
    most: float
    nut_factor: float
    scatter: float


def preload(torque: float, diameter: float, nut_factor: float, scatter: float) -> Preload:
    """Preload from torque: F = T / (K D).

    Args:
        torque: N.m, above 0.
        diameter: nominal thread diameter, mm, 1 to 200.
        nut_factor: K, 0.05 to 0.6: about 0.2 dry or lightly oiled, less with lubricant (common practice, no source);
            the value for a joint comes from its maker or a trial.
        scatter: how far K strays for one torque, as a share of it, from 0 to below 1: with a torque wrench about
            0.25 to 0.35 (common practice, no source). It must be said: the force is known no better than that.

    Raises:
        BayError: a number is out of its range.
    """
    _joint(diameter, nut_factor)
    between(torque, 0, _MOST_TORQUE, "torque", "N.m", above=True)
    between(scatter, 0, 0.95, "scatter")
    nominal = torque / (nut_factor * diameter / 1000)
    return Preload(nominal, nominal / (1 + scatter), nominal / (1 - scatter), nut_factor, scatter)


def torque_for(force: float, diameter: float, nut_factor: float) -> float:
    """Torque in N.m for a preload in newtons: T = K D F; diameter in mm. BayError as `preload`."""
    _joint(diameter, nut_factor)
    return nut_factor * diameter / 1000 * between(force, 0, 1e8, "force", "N", above=True)


def _joint(diameter: float, nut_factor: float) -> None:
    between(diameter, 1, 200, "diameter", "mm")
    between(nut_factor, 0.05, 0.6, "nut-factor")


# ISO 261, coarse pitch series (from memory)
_COARSE: Final = {
    3: 0.5,
    4: 0.7,
    5: 0.8,
    6: 1.0,
    8: 1.25,
    10: 1.5,
    12: 1.75,
    14: 2.0,
    16: 2.0,
    18: 2.5,
    20: 2.5,
    22: 2.5,
    24: 3.0,
    27: 3.0,
    30: 3.5,
    33: 3.5,
    36: 4.0,
}
# ISO 898-1: stress under proof load, MPa, up to 16 mm and above
_PROOF: Final = {"8.8": (580.0, 600.0), "10.9": (830.0, 830.0), "12.9": (970.0, 970.0)}


@dataclass(frozen=True, slots=True)
class Bolt:
    """A metric bolt of coarse thread: stress area in mm2, proof load in N (what it bears without permanent set)."""

    diameter: int
    pitch: float
    grade: str
    stress_area: float
    proof_load: float


def bolt(diameter: int, grade: str) -> Bolt:
    """Stress area pi/4 (d - 0.9382 P)^2 (ISO 898-1) and proof load of a metric bolt, coarse thread.

    Raises:
        BayError: a diameter that is not of the coarse series M3 to M36, or a class other than 8.8, 10.9, 12.9.
    """
    if diameter not in _COARSE:
        sizes = ", ".join(f"M{size}" for size in _COARSE)
        raise BayError(
            tell("trade-no-coarse-thread-known", diameter=diameter), "", tell("trade-use-one-of-sizes", sizes=sizes)
        )
    if grade not in _PROOF:
        raise BayError(
            tell("trade-no-property-class-grade-here", grade=grade),
            "",
            tell("trade-use-one-of-grades", grades=", ".join(_PROOF)),
        )
    pitch = _COARSE[diameter]
    area = math.pi / 4 * (diameter - 0.9382 * pitch) ** 2
    return Bolt(diameter, pitch, grade, area, area * _PROOF[grade][diameter > 16])


def permissible_deviation(torque: float) -> float:
    """How far a setting torque wrench may be off, as a share: 0.06 up to 10 N.m, 0.04 above.

    ISO 6789 for setting tools (type II, class A, adjustable with a scale), as a wrench maker's manual states it.

    Raises:
        BayError: `torque` in N.m is not above 0.
    """
    return 0.06 if between(torque, 0, _MOST_TORQUE, "torque", "N.m", above=True) <= 10 else 0.04


def in_range(torque: float, largest: float) -> bool:
    """Whether a wrench is used where it is calibrated: from 20 % of its largest value on (ISO 6789, as above).

    Raises:
        BayError: a number is not above 0.
    """
    between(largest, 0, _MOST_TORQUE, "largest-torque", above=True)
    return 0.2 * largest <= between(torque, 0, _MOST_TORQUE, "torque", above=True) <= largest


@dataclass(frozen=True, slots=True)
class Pass:
    """One pass over a joint. `until_none_turns`: the last one is gone round again until no nut turns."""

    number: int
    percent: Decimal
    torque: Decimal
    order: tuple[int, ...]
    until_none_turns: bool


CROSS_PERCENT: Final = (Decimal(30), Decimal(60), Decimal(100))


def passes(final: Decimal, order: Sequence[int], percents: Sequence[Decimal] = CROSS_PERCENT) -> tuple[Pass, ...]:
    """The passes that bring a joint to its torque: in `order` at each percentage, then round and round.

    The defaults (30, 60, 100 %, then 100 % again until no nut turns) are what a gasket maker prints for flanges;
    ASME PCC-1, as quoted, has 20-30, 50-70 and 100 %. Stages of the maker of a joint go before them.

    Args:
        final: the torque, any unit, above 0.
        order: of the fasteners 1..N.
        percents: rising, ending with 100.

    Raises:
        BayError: the torque is not above 0, the order names a fastener twice or leaves one out, or the percentages
            do not rise to 100.
    """
    checked = given_order(order)
    if fraction(final) <= 0:
        raise BayError(tell("trade-torque-of-final-is-not-possible", final=final), "", tell("trade-give-one-above-0"))
    rising = list(percents)
    if not rising or rising != sorted(set(rising)) or rising[0] <= 0 or rising[-1] != 100:
        raise BayError(tell("trade-stages-do-not-rise-to-100"), "", tell("trade-write-them-like-30-60"))
    cross = [
        Pass(i, percent, to_decimal(Fraction(final) * Fraction(percent) / 100), checked, False)
        for i, percent in enumerate(rising, start=1)
    ]
    return (*cross, Pass(len(cross) + 1, Decimal(100), final, tuple(sorted(checked)), True))


@dataclass(frozen=True, slots=True)
class Turned:
    """After one angle of a torque-plus-angle stage: `angle` of it, `total` since the torque, `mark`: where a paint
    mark that stood at 0 now points, 0 to below 360; `flats`: sixths of a turn of a hexagon that makes."""

    angle: Decimal
    total: Decimal
    mark: Decimal
    flats: Decimal


def turning(angles: Sequence[Decimal]) -> tuple[Turned, ...]:
    """Running total of angles in degrees after the snug torque.

    Raises:
        BayError: there is none, one is not above 0 or more than a turn, or together they pass two turns: then a
            figure was misread.
    """
    if not angles:
        raise BayError(tell("trade-no-angle"), "", tell("trade-give-at-least-one-in-degrees"))
    found: list[Turned] = []
    total = Fraction(0)
    for angle in angles:
        between(float(fraction(angle)), 0, 360, "angle", "deg", above=True)
        total += Fraction(angle)
        if total > 720:
            raise BayError(
                tell("trade-total-degrees-are-more-than-two", total=to_decimal(total)), "", tell("trade-check-angles")
            )
        found.append(Turned(angle, to_decimal(total), to_decimal(total % 360), to_decimal(total / 60)))
    return tuple(found)
