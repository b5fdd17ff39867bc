"""Statistics of repeated readings, capability of a process, and gauge studies.

Sums run in fractions, so readings that agree in their first seven figures lose nothing ("32.501, 32.502"): the one-pass
formula in floating point gives a negative variance there. Readings are Decimal and in one unit, their results too.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Context, Decimal
from fractions import Fraction
from statistics import NormalDist
from typing import Final

from bayvoice.errors import BayError
from bayvoice.language.texts import tell
from bayvoice.units import fraction, to_decimal

_FIGURES: Final = Context(prec=28, rounding=ROUND_HALF_EVEN)
_ROOT: Final = Context(prec=60)
_ENOUGH: Final = 30


@dataclass(frozen=True, slots=True)
class Summary:
    """What some readings have in common.

    Attributes:
        count: how many, at least 1.
        mean: exact where it can be written out, else to 28 figures.
        sd: sample standard deviation (denominator n - 1), to 28 figures; None for a single reading.
        least, most: the extremes as they were read.
        spread: most - least.
        places: decimal places of the finest reading; `mean_as_read` is the mean rounded to them (halves to even).
    """

    count: int
    mean: Decimal
    sd: Decimal | None
    least: Decimal
    most: Decimal
    spread: Decimal
    places: int

    @property
    def mean_as_read(self) -> Decimal:
        """The mean with no more figures than the readings have."""
        return self.mean.quantize(Decimal(1).scaleb(-self.places), context=_ROOT)


def summary(readings: Sequence[Decimal]) -> Summary:
    """Mean, standard deviation and extremes.

    Raises:
        BayError: there is no reading, or one is not an ordinary number.
    """
    if not readings:
        raise BayError(tell("trade-no-reading"), "", tell("trade-give-at-least-one"))
    exact = [fraction(reading) for reading in readings]
    mean = sum(exact, Fraction(0)) / len(exact)
    sd = None
    if len(exact) > 1:
        sd = root(sum(((x - mean) ** 2 for x in exact), Fraction(0)) / (len(exact) - 1))
    least, most = min(readings), max(readings)
    places = max(0, *(-int(reading.as_tuple().exponent) for reading in readings))
    return Summary(len(exact), to_decimal(mean), sd, least, most, _ROOT.subtract(most, least), places)


def root(square: Fraction) -> Decimal:
    """The square root of a fraction not below zero, to 28 figures."""
    quotient = _ROOT.divide(Decimal(square.numerator), Decimal(square.denominator))
    return _FIGURES.plus(_ROOT.sqrt(quotient))


@dataclass(frozen=True, slots=True)
class Capability:
    """How a process fills its limits.

    Attributes:
        count, mean, sd: what it is worked out from.
        cp: (high - low) / 6 sd; None with one limit only.
        cpk: distance from the mean to the nearer limit / 3 sd; negative where the mean lies outside.
        cp_range, cpk_range: two-sided interval of `confidence`; `cp_range` by chi-squared, `cpk_range` by the normal
            approximation of the NIST/SEMATECH e-Handbook, 6.1.6.
        confidence: of the intervals, 0.95 say.
        conditions: what must hold for the figures to mean anything, and what does not hold here; sentences.
    """

    count: int
    mean: float
    sd: float
    cp: float | None
    cpk: float
    cp_range: tuple[float, float] | None
    cpk_range: tuple[float, float]
    confidence: float
    conditions: tuple[str, ...]


def capability(
    readings: Sequence[Decimal], low: Decimal | None, high: Decimal | None, confidence: float = 0.95
) -> Capability:
    """Cp and Cpk of single readings in their order. BayError as `capability_of`, or there are fewer than two."""
    found = summary(readings)
    if found.sd is None:
        raise BayError(tell("trade-one-reading-shows-no-spread"), "", tell("trade-capability-needs-at-least-two"))
    return capability_of(float(found.mean), float(found.sd), found.count, low, high, confidence)


def capability_of(
    mean: float, sd: float, count: int, low: Decimal | None, high: Decimal | None, confidence: float = 0.95
) -> Capability:
    """Cp and Cpk from mean and sample standard deviation of `count` readings, against limits in the same unit.

    Raises:
        BayError: no limit, limits not in order, no spread, fewer than two readings, or `confidence` not between
            0.5 and 1.
    """
    if low is None and high is None:
        raise BayError(tell("trade-capability-is-against-limits-and-none"), "", tell("trade-give-low-or-high-limit"))
    if low is not None and high is not None and low >= high:
        raise BayError(tell("trade-lower-limit-low-is-not-below", low=low, high=high), "", tell("trade-swap-limits"))
    if count < 2:
        raise BayError(tell("trade-too-few-for-spread", count=count), "", tell("trade-capability-needs-two"))
    if not (math.isfinite(mean) and math.isfinite(sd)) or sd <= 0:
        raise BayError(tell("trade-readings-do-not-differ"), "", tell("trade-use-gauge-fine-enough-to-show"))
    if not 0.5 <= confidence < 1:
        raise BayError(
            tell("trade-confidence-of-makes-no-interval", confidence=confidence), "", tell("trade-give-one-from-0-5")
        )
    sides = [float(high) - mean] if high is not None else []
    sides += [mean - float(low)] if low is not None else []
    cpk = min(sides) / (3 * sd)
    cp = (float(high) - float(low)) / (6 * sd) if low is not None and high is not None else None
    tail = (1 - confidence) / 2
    free = count - 1
    cp_range = None
    if cp is not None:
        cp_range = tuple(cp * math.sqrt(chi_squared(p, free) / free) for p in (tail, 1 - tail))
    half = NormalDist().inv_cdf(1 - tail) * math.sqrt(1 / (9 * count) + cpk**2 / (2 * free))
    conditions = [
        tell("trade-holds-for-steady-process-whose"),
        tell("trade-spread-of-gauge-is-in"),
    ]
    if count < _ENOUGH:
        conditions.append(tell("trade-count-readings-are-few-below", count=count, enough=_ENOUGH))
    if cp is None:
        conditions.append(tell("trade-one-limit-only-so-no"))
    return Capability(
        count,
        mean,
        sd,
        cp,
        cpk,
        (cp_range[0], cp_range[1]) if cp_range else None,
        (cpk - half, cpk + half),
        confidence,
        tuple(conditions),
    )


def chi_squared(probability: float, free: int) -> float:
    """The value that a chi-squared variable of `free` degrees of freedom stays below with `probability`.

    Bisection on the incomplete gamma function, to about 12 figures.
    """
    low, high = 0.0, float(free) + 10
    while _gamma_p(free / 2, high / 2) < probability:
        high *= 2
    while high - low > 1e-13 * high:
        middle = (low + high) / 2
        if not low < middle < high:
            break
        if _gamma_p(free / 2, middle / 2) < probability:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _gamma_p(a: float, x: float) -> float:
    """Regularised lower incomplete gamma function, by its series below a + 1 and its continued fraction above."""
    if x <= 0:
        return 0.0
    scale = math.exp(a * math.log(x) - x - math.lgamma(a))
    if x < a + 1:
        term = total = 1 / a
        n = a
        while abs(term) > abs(total) * 1e-16:
            n += 1
            term *= x / n
            total += term
        return total * scale
    tiny = 1e-300
    b = x + 1 - a
    c, d = 1 / tiny, 1 / b
    fraction_so_far = d
    for i in range(1, 10_000):
        step = -i * (i - a)
        b += 2
        d = 1 / ((step * d + b) or tiny)
        c = (b + step / c) or tiny
        fraction_so_far *= d * c
        if abs(d * c - 1) < 1e-16:
            break
    return 1 - scale * fraction_so_far


# Average and range method for gauge studies: reciprocals of d2* of the normal distribution's range. Printed in
# the measurement systems analysis sheets of the car industry; tests work them out from the distribution.
_K1: Final = {2: 0.8862, 3: 0.5908}
_K2: Final = {2: 0.7071, 3: 0.5231}
_K3: Final = {2: 0.7071, 3: 0.5231, 4: 0.4467, 5: 0.4030, 6: 0.3742, 7: 0.3534, 8: 0.3375, 9: 0.3249, 10: 0.3146}
_D4: Final = {2: 3.267, 3: 2.575}


@dataclass(frozen=True, slots=True)
class GaugeStudy:
    """A crossed gauge study by averages and ranges, all as standard deviations in the unit of the readings.

    Attributes:
        repeatability: one person, one part, again and again (EV).
        reproducibility: between persons (AV); 0 where it drowns in the repeatability.
        gauge: both together (GRR).
        parts: between parts (PV).
        total: everything (TV).
        percent: gauge of total.
        percent_of_tolerance: 6 gauge of the width of the limits; None without both limits.
        categories: how many sorts of part the gauge can tell apart, 1.41 parts / gauge, cut off; None where the gauge
            shows no variation at all.
        range_limit: a set of trials that spreads more than this is suspect.
        suspects: (person, part), from 1, whose trials spread more.
    """

    repeatability: float
    reproducibility: float
    gauge: float
    parts: float
    total: float
    percent: float
    percent_of_tolerance: float | None
    categories: int | None
    range_limit: float
    suspects: tuple[tuple[int, int], ...]


def gauge_study(
    trials: Sequence[Sequence[Sequence[Decimal]]], low: Decimal | None = None, high: Decimal | None = None
) -> GaugeStudy:
    """A gauge study by averages and ranges.

    Args:
        trials: [person][part][trial]; 2 or 3 persons, 2 to 10 parts, 2 or 3 trials, every cell full.
        low, high: limits, for the share of the tolerance.

    Raises:
        BayError: another shape, no variation at all, or limits not in order.
    """
    persons, parts = len(trials), len(trials[0]) if trials else 0
    runs = len(trials[0][0]) if parts else 0
    if persons not in _K2 or parts not in _K3 or runs not in _K1:
        raise BayError(
            tell("trade-study-of-persons-parts-and-runs", persons=persons, parts=parts, runs=runs),
            "",
            tell("trade-use-2-or-3-persons"),
        )
    if any(len(row) != parts or any(len(cell) != runs for cell in row) for row in trials):
        raise BayError(tell("trade-study-has-gaps"), "", tell("trade-every-person-measures-part-as-many"))
    if low is not None and high is not None and low >= high:
        raise BayError(tell("trade-lower-limit-low-is-not-below", low=low, high=high), "", tell("trade-swap-limits"))
    cells = [[[fraction(reading) for reading in cell] for cell in row] for row in trials]
    ranges = [[max(cell) - min(cell) for cell in row] for row in cells]
    mean_range = sum((sum(row, Fraction(0)) for row in ranges), Fraction(0)) / (persons * parts)
    by_person = [_mean([x for cell in row for x in cell]) for row in cells]
    by_part = [_mean([x for row in cells for x in row[part]]) for part in range(parts)]
    repeatability = float(mean_range) * _K1[runs]
    between = (float(max(by_person) - min(by_person)) * _K2[persons]) ** 2 - repeatability**2 / (parts * runs)
    reproducibility = math.sqrt(max(0.0, between))
    gauge = math.hypot(repeatability, reproducibility)
    part = float(max(by_part) - min(by_part)) * _K3[parts]
    total = math.hypot(gauge, part)
    if not total:
        raise BayError(tell("trade-every-reading-is-same"), "", tell("trade-use-parts-that-differ"))
    limit = float(mean_range) * _D4[runs]
    suspects = tuple(
        (i + 1, j + 1) for i, row in enumerate(ranges) for j, spread in enumerate(row) if float(spread) > limit
    )
    width = float(high - low) if low is not None and high is not None else None
    return GaugeStudy(
        repeatability,
        reproducibility,
        gauge,
        part,
        total,
        100 * gauge / total,
        100 * 6 * gauge / width if width else None,
        int(math.sqrt(2) * part / gauge) if gauge else None,
        limit,
        suspects,
    )


def _mean(values: list[Fraction]) -> Fraction:
    return sum(values, Fraction(0)) / len(values)
