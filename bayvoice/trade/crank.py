"""Crank angles: before and after top dead centre, pulley scales, cams, teeth, valve timing.

Degrees of the crankshaft unless a name says cam. A four-stroke cycle is two turns of the crank, 720 degrees, and one of
the cam. The pulley scale runs 0 to 360 in the direction of rotation, 0 at top dead centre.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from bayvoice.errors import BayError
from bayvoice.language.texts import tell
from bayvoice.trade.checks import between
from bayvoice.units import fraction, to_decimal


@dataclass(frozen=True, slots=True)
class Mark:
    """One position of the crank.

    Attributes:
        scale: on the pulley, 0 to below 360.
        before: degrees before top dead centre, negative after it, above -180 to 180.
        cam: degrees the camshaft still turns until then, half of `before`.
    """

    scale: Decimal
    before: Decimal
    cam: Decimal


def before_top(degrees: Decimal) -> Mark:
    """The position `degrees` before top dead centre: 42 before is 360 - 42, the 318 mark.

    Negative degrees are after it.

    Raises:
        BayError: more than a half turn either way: then another dead centre is nearer, and a figure was misread.
    """
    between(float(fraction(degrees)), -180, 180, "position", "deg")
    exact = Fraction(degrees) if degrees != -180 else Fraction(180)
    return Mark(to_decimal(-exact % 360), to_decimal(exact), to_decimal(exact / 2))


def at_mark(scale: Decimal) -> Mark:
    """The position of a mark on the pulley, 0 to 360; 180 counts as before.

    Raises:
        BayError: not on the scale.
    """
    between(float(fraction(scale)), 0, 360, "mark", "deg")
    exact = Fraction(scale)
    return before_top(to_decimal(360 - exact if exact >= 180 else -exact))


@dataclass(frozen=True, slots=True)
class ToothOffset:
    """A belt or chain that sits some teeth off: the error at that sprocket, and at the crank and at the cam."""

    sprocket: Decimal
    crank: Decimal
    cam: Decimal


def tooth_offset(teeth_off: int, teeth: int, on_cam: bool = True) -> ToothOffset:
    """The error of `teeth_off` teeth on a sprocket of `teeth`; a cam sprocket's counts twice at the crank.

    Raises:
        BayError: fewer than 8 or more than 300 teeth, or an offset of half the sprocket or more.
    """
    between(teeth, 8, 300, "number-of-teeth")
    if 2 * abs(teeth_off) >= teeth:
        raise BayError(
            tell("trade-teeth-off-of-is-half", teeth_off=teeth_off, teeth=teeth), "", tell("trade-count-teeth-again")
        )
    sprocket = Fraction(360 * teeth_off, teeth)
    crank, cam = (2 * sprocket, sprocket) if on_cam else (sprocket, sprocket / 2)
    return ToothOffset(to_decimal(sprocket), to_decimal(crank), to_decimal(cam))


@dataclass(frozen=True, slots=True)
class ValveTiming:
    """One valve, or a pair.

    Attributes:
        duration: degrees it is open.
        centreline: middle of that, degrees after top dead centre for an inlet, before it for an exhaust valve.
    """

    duration: Decimal
    centreline: Decimal


def inlet(opens_before_top: Decimal, closes_after_bottom: Decimal) -> ValveTiming:
    """From the inlet's events: duration 180 + both, centreline duration / 2 - opening.

    Negative where it opens after top or closes before bottom dead centre.

    Raises:
        BayError: an event is not within 180 degrees of its dead centre, or the valve would never be open.
    """
    return _timing(opens_before_top, closes_after_bottom)


def exhaust(opens_before_bottom: Decimal, closes_after_top: Decimal) -> ValveTiming:
    """From the exhaust's events: duration 180 + both, centreline duration / 2 - closing. BayError as `inlet`."""
    return _timing(closes_after_top, opens_before_bottom)


def overlap(inlet_opens_before_top: Decimal, exhaust_closes_after_top: Decimal) -> Decimal:
    """Degrees both valves are open about top dead centre; negative where they are not. BayError as `inlet`."""
    for event in (inlet_opens_before_top, exhaust_closes_after_top):
        between(float(fraction(event)), -180, 180, "valve-event", "deg")
    return to_decimal(Fraction(inlet_opens_before_top) + Fraction(exhaust_closes_after_top))


@dataclass(frozen=True, slots=True)
class Events:
    """Valve events of a pair, degrees; negative on the other side of the dead centre."""

    inlet_opens_before_top: Decimal
    inlet_closes_after_bottom: Decimal
    exhaust_opens_before_bottom: Decimal
    exhaust_closes_after_top: Decimal
    overlap: Decimal


def events(inlet_duration: Decimal, exhaust_duration: Decimal, separation: Decimal, advance: Decimal) -> Events:
    """Events from a cam card: durations, lobe separation angle (cam degrees, which is crank degrees between the
    centrelines halved), advance of the cam in crank degrees.

    Raises:
        BayError: a duration outside 100 to 400, a separation outside 80 to 140, an advance beyond 30 degrees.
    """
    for value, low, high, what in (
        (inlet_duration, 100, 400, "inlet-duration"),
        (exhaust_duration, 100, 400, "exhaust-duration"),
        (separation, 80, 140, "lobe-separation"),
        (advance, -30, 30, "cam-advance"),
    ):
        between(float(fraction(value)), low, high, what, "deg")
    half_in, half_out = Fraction(inlet_duration) / 2, Fraction(exhaust_duration) / 2
    apart, ahead = Fraction(separation), Fraction(advance)
    return Events(
        to_decimal(half_in + ahead - apart),
        to_decimal(half_in - ahead + apart - 180),
        to_decimal(half_out + ahead + apart - 180),
        to_decimal(half_out - ahead - apart),
        to_decimal(half_in + half_out - 2 * apart),
    )


def arc(degrees: float, diameter: float) -> float:
    """Length along the rim of a pulley: pi D a / 360, in the unit of `diameter`.

    Raises:
        BayError: the diameter is not above 0, or the angle more than a turn.
    """
    between(degrees, -360, 360, "angle", "deg")
    return math.pi * between(diameter, 0, 1e5, "diameter", above=True) * degrees / 360


def _timing(about_top: Decimal, about_bottom: Decimal) -> ValveTiming:
    for event in (about_top, about_bottom):
        between(float(fraction(event)), -180, 180, "valve-event", "deg")
    duration = 180 + Fraction(about_top) + Fraction(about_bottom)
    if duration <= 0:
        raise BayError(tell("trade-valve-with-these-events-never"), "", tell("trade-check-events"))
    return ValveTiming(to_decimal(duration), to_decimal(duration / 2 - Fraction(about_top)))
