"""Wear of roller chains: elongation over some pitches, and the limits it is held against."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from bayvoice.errors import BayError
from bayvoice.language.texts import tell
from bayvoice.units import fraction, to_decimal

# Pitch in millimetres. ISO 606 B and A series, as chain makers print it; 05B from memory.
PITCHES: Final = {
    "05B": Decimal("8.00"),
    "06B": Decimal("9.525"),
    "08B": Decimal("12.70"),
    "10B": Decimal("15.875"),
    "12B": Decimal("19.05"),
    "16B": Decimal("25.40"),
    "35": Decimal("9.525"),
    "40": Decimal("12.70"),
    "50": Decimal("15.875"),
    "60": Decimal("19.05"),
    "80": Decimal("25.40"),
}
FEWEST_PITCHES: Final = 6
_MOST_PITCHES: Final = 1000
_ABSURD: Final = (Fraction(-2), Fraction(15))
USUAL_LIMIT: Final = Decimal(3)
FIXED_CENTRES_LIMIT: Final = Decimal("1.5")


@dataclass(frozen=True, slots=True)
class Elongation:
    """New length and measured length in mm, and the elongation in percent of the new length; negative: shorter."""

    new_length: Decimal
    measured: Decimal
    percent: Decimal


def pitch_of(designation: str) -> Decimal:
    """Pitch in mm of a chain by its designation ("12B" or "12B-1", "60"). BayError if unknown."""
    plain = designation.strip().upper().partition("-")[0]
    if plain not in PITCHES:
        raise BayError(
            tell("trade-no-chain-designation-here", designation=designation[:20]),
            "",
            tell("trade-use-one-of-pitches-or-pitch", pitches=", ".join(PITCHES)),
        )
    return PITCHES[plain]


def elongation(pitch: Decimal, pitches: int, measured: Decimal) -> Elongation:
    """Elongation of a taut chain over `pitches` pitches.

    Args:
        pitch: mm, 3 to 200.
        pitches: from 6, so that the error of the rule does not look like wear; makers ask for 6 to 10 or more.
        measured: length over them, mm; with the ruler from roller to roller see `between_rollers`.

    Raises:
        BayError: a number is out of its range, or the length is so far off (below -2 or above 15 percent) that the
            pitches were miscounted.
    """
    if not 3 <= fraction(pitch) <= 200:
        raise BayError(tell("trade-pitch-of-mm-is-not-possible", pitch=pitch), "", tell("trade-give-one-from-3-to-200"))
    if not FEWEST_PITCHES <= pitches <= _MOST_PITCHES:
        raise BayError(
            tell("trade-pitches-are-not-length-to-measure", pitches=pitches),
            "",
            tell("trade-measure-over-fewest-pitches-or-more", fewest_pitches=FEWEST_PITCHES),
        )
    new = Fraction(pitch) * pitches
    percent = (fraction(measured) / new - 1) * 100
    if not _ABSURD[0] <= percent <= _ABSURD[1]:
        raise BayError(
            tell(
                "trade-measured-mm-over-pitches-of-pitch",
                measured=measured,
                pitches=pitches,
                pitch=pitch,
                percent=f"{float(percent):+.1f}",
            ),
            "",
            tell("trade-count-pitches-again"),
        )
    return Elongation(to_decimal(new), measured, to_decimal(percent))


def between_rollers(inside: Decimal, outside: Decimal) -> Decimal:
    """Length over whole pitches from two readings, between the inner and over the outer sides of the same two rollers:
    their mean, (L1 + L2) / 2, so that the roller's diameter drops out.

    Raises:
        BayError: a reading is not above 0, or the outside is not the larger.
    """
    if not 0 < fraction(inside) < fraction(outside):
        raise BayError(
            tell("trade-inside-mm-and-outside-do", inside=inside, outside=outside),
            "",
            tell("trade-outer-reading-is-larger"),
        )
    return to_decimal((Fraction(inside) + Fraction(outside)) / 2)


@dataclass(frozen=True, slots=True)
class Limit:
    """The elongation at which a chain is replaced, percent, and the rule that sets it."""

    percent: Decimal
    rule: str


def limit(teeth: Sequence[int] = (), fixed_centres: bool = False) -> Limit:
    """The lowest of the limit rules that apply.

    3 percent in general; 1.5 percent on fixed centres, where nothing takes up the slack; 200/N percent where the larger
    sprocket has N teeth, which is less than 3 from 67 teeth on, as the chain climbs a large sprocket sooner (a chain
    maker's wear guide). The maker of the machine may allow less.

    Args:
        teeth: of the sprockets, each 5 to 300; may be empty.

    Raises:
        BayError: a number of teeth is out of range.
    """
    for count in teeth:
        if not 5 <= count <= 300:
            raise BayError(
                tell("trade-sprocket-of-count-teeth-is-not-possible", count=count), "", tell("trade-give-5-to-300")
            )
    rules = [Limit(USUAL_LIMIT, tell("trade-3-percent-in-general"))]
    if fixed_centres:
        rules.append(Limit(FIXED_CENTRES_LIMIT, tell("trade-1-5-percent-on-fixed")))
    if teeth:
        most = max(teeth)
        rules.append(Limit(to_decimal(Fraction(200, most)), tell("trade-200-by-most-teeth", most=most)))
    return min(rules, key=lambda rule: rule.percent)
