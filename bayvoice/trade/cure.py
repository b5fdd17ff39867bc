"""How long a chemical takes at another temperature or humidity, and how deep it has cured.

Times are seconds, temperatures degrees Celsius, humidities percent relative, depths millimetres. Nothing here knows a
product: tables, activation energies and their valid ranges come from the maker's data sheet, and outside them every
function refuses instead of guessing.

A time that is a minimum must come out too long rather than too short, a maximum the other way round: that is `side`.
"longer" interpolates along straight lines and rounds up; "shorter" interpolates in proportions (straight in the
logarithm, the way reactions really go), which never lies above the straight line, and rounds down.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final, Literal

from bayvoice.errors import BayError
from bayvoice.language.texts import tell
from bayvoice.units import fraction

Side = Literal["longer", "shorter"]
GAS_CONSTANT: Final = 8.314462618
"""J/(mol K); CODATA 2018, exact: the product of the Avogadro and Boltzmann constants, cut off."""
ZERO_CELSIUS: Final = 273.15
_COLDEST, _HOTTEST = -60.0, 300.0
_LONGEST: Final = 10 * 366 * 86_400


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a maker's table: so many seconds at this temperature, and humidity where the table has it."""

    temperature: Decimal
    seconds: Decimal
    humidity: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Window:
    """A time worked out: whole seconds, and in words where it comes from (without a full stop)."""

    seconds: int
    why: str


def window_from_table(
    rows: Sequence[Row], temperature: Decimal, humidity: Decimal | None = None, side: Side = "longer"
) -> Window:
    """The time of a maker's table at a temperature (and humidity), interpolated between its lines.

    Args:
        rows: in any order. Either none has a humidity, or all have, and every temperature is there with every
            humidity. Where the table has none, `humidity` plays no part.
        temperature, humidity: of the bay.
        side: see the module.

    Raises:
        BayError: outside the table, a humidity is needed, or the table is empty, has gaps, says two things of one
            point, or a number is unphysical.
    """
    table = _table(rows)
    if humidity is None and table.moist:
        raise BayError(tell("trade-table-goes-by-humidity-too"), "", tell("trade-give-relative-humidity-in-percent"))
    at = _placed(table.temperatures, temperature, "°C")
    damp = (
        _placed(table.humidities, humidity, tell("trade-percent-humidity"))
        if table.moist and humidity is not None
        else _Place(0, 0)
    )
    corners = {
        (i, j): table.seconds[table.temperatures[i], table.humidities[j]]
        for i in (at.index, at.index + bool(at.part))
        for j in (damp.index, damp.index + bool(damp.part))
    }
    seconds = _blend(corners, at, damp, side)
    points = tell("trade-table-and").join(
        tell(
            "trade-table-moist-point",
            time=_time(value),
            temperature=_number(table.temperatures[i]),
            humidity=_number(table.humidities[j]),
        )
        if table.moist
        else tell("trade-table-point", time=_time(value), temperature=_number(table.temperatures[i]))
        for (i, j), value in sorted(corners.items())
    )
    if len(corners) == 1:
        return Window(seconds, tell("trade-from-table", point=points))
    return Window(seconds, tell("trade-between-in-table", points=points))


@dataclass(frozen=True, slots=True)
class _Table:
    temperatures: tuple[Fraction, ...]
    humidities: tuple[Fraction, ...]
    seconds: dict[tuple[Fraction, Fraction], Fraction]
    moist: bool


@dataclass(frozen=True, slots=True)
class _Place:
    """Between `index` and the next, `part` of the way."""

    index: int
    part: Fraction | int


def _table(rows: Sequence[Row]) -> _Table:
    if not rows:
        raise BayError(tell("trade-table-is-empty"), "", tell("trade-give-at-least-one-line"))
    moist = rows[0].humidity is not None
    seconds: dict[tuple[Fraction, Fraction], Fraction] = {}
    for row in rows:
        if (row.humidity is not None) != moist:
            raise BayError(tell("trade-only-some-lines-of-table"), "", tell("trade-give-in-all-lines-or-none"))
        _within(float(fraction(row.temperature)), _COLDEST, _HOTTEST, "°C", "temperature")
        if row.humidity is not None:
            _within(float(fraction(row.humidity)), 0, 100, "%", "humidity")
        time = fraction(row.seconds)
        if not 0 < time <= _LONGEST:
            raise BayError(
                tell("trade-time-of-seconds-s-is-not-one", seconds=row.seconds),
                "",
                tell("trade-give-seconds-above-zero"),
            )
        key = (fraction(row.temperature), fraction(row.humidity) if row.humidity is not None else Fraction(0))
        if seconds.setdefault(key, time) != time:
            raise BayError(
                tell("trade-table-says-two-things-of-key", temperature=_number(key[0])),
                "",
                tell("trade-keep-one-of-two-lines"),
            )
    temperatures = tuple(sorted({key[0] for key in seconds}))
    humidities = tuple(sorted({key[1] for key in seconds}))
    if len(seconds) != len(temperatures) * len(humidities):
        raise BayError(tell("trade-table-has-gaps"), "", tell("trade-give-every-temperature-with-humidity"))
    return _Table(temperatures, humidities, seconds, moist)


def _placed(points: tuple[Fraction, ...], at: Decimal, unit: str) -> _Place:
    where = fraction(at)
    if not points[0] <= where <= points[-1]:
        ends = (
            _number(points[0])
            if len(points) == 1
            else tell("trade-range", low=_number(points[0]), high=_number(points[-1]))
        )
        raise BayError(
            tell("trade-at-unit-is-outside-makers", at=at, unit=unit, ends=ends),
            "",
            tell("trade-bring-bay-into-range-or-ask"),
        )
    index = bisect_right(points, where) - 1
    if points[index] == where:
        return _Place(index, 0)
    return _Place(index, (where - points[index]) / (points[index + 1] - points[index]))


def _blend(corners: dict[tuple[int, int], Fraction], at: _Place, damp: _Place, side: Side) -> int:
    weights = {
        (i, j): (at.part if i > at.index else 1 - at.part) * (damp.part if j > damp.index else 1 - damp.part)
        for i, j in corners
    }
    straight = sum((corners[key] * weight for key, weight in weights.items()), Fraction(0))
    if side == "longer":
        return math.ceil(straight)
    if len(corners) == 1:
        return math.floor(straight)
    proportional = math.exp(sum(math.log(corners[key]) * float(weight) for key, weight in weights.items()))
    return math.floor(min(proportional * (1 + 1e-12), float(straight)))


def arrhenius_factor(activation_energy: float, reference: float, temperature: float) -> float:
    """How many times faster a reaction runs at `temperature` than at `reference`, both in degrees Celsius.

    Arrhenius: the rate grows with exp(-E/RT). `activation_energy` in J/mol, from 1,000 to 300,000 (adhesives are
    mostly between 40,000 and 100,000: common practice, no source).

    Raises:
        BayError: a number is out of its range (temperatures -60 to 300 degrees Celsius).
    """
    _within(activation_energy, 1_000, 300_000, "J/mol", "activation-energy")
    for degrees in (reference, temperature):
        _within(degrees, _COLDEST, _HOTTEST, "°C", "temperature")
    cold, warm = reference + ZERO_CELSIUS, temperature + ZERO_CELSIUS
    return math.exp(activation_energy / GAS_CONSTANT * (1 / cold - 1 / warm))


def doubling_factor(reference: float, temperature: float, factor: float = 2.0, step: float = 10.0) -> float:
    """How many times faster at `temperature` than at `reference` where each `step` degrees make it `factor` times.

    Makers of epoxies print "every 10 °C halve the cure time"; what is met is a factor of 1.5 to 2.5.

    Raises:
        BayError: a temperature outside -60 to 300 degrees Celsius, a factor outside 1 to 5, a step outside 1 to 50.
    """
    for degrees in (reference, temperature):
        _within(degrees, _COLDEST, _HOTTEST, "°C", "temperature")
    _within(factor, 1, 5, "", "factor")
    _within(step, 1, 50, "°C", "step")
    return float(factor ** ((temperature - reference) / step))


def window_by_rate(
    seconds: Decimal, factor: float, temperature: Decimal, valid: tuple[Decimal, Decimal], side: Side = "longer"
) -> Window:
    """The time at `temperature`, `factor` times faster than the given `seconds`.

    Args:
        seconds: at the reference temperature.
        factor: from `arrhenius_factor` or `doubling_factor`.
        temperature: of the bay.
        valid: the temperatures between which the maker's model holds.
        side: "longer" rounds up, "shorter" down.

    Raises:
        BayError: outside `valid`, or a number is unphysical.
    """
    low, high = valid
    if low > high:
        raise BayError(
            tell("trade-range-from-low-to-high", low=low, high=high), "", tell("trade-give-lower-temperature-first")
        )
    if not low <= temperature <= high:
        raise BayError(
            tell("trade-temperature-c-is-outside-range", temperature=temperature, low=low, high=high),
            "",
            tell("trade-bring-bay-into-range-or-ask"),
        )
    if not 0 < fraction(seconds) <= _LONGEST:
        raise BayError(
            tell("trade-time-of-seconds-s-is-not-one", seconds=seconds), "", tell("trade-give-seconds-above-zero")
        )
    if not (math.isfinite(factor) and factor > 0):
        raise BayError(tell("trade-rate-factor-times-as-fast", factor=factor), "", tell("trade-give-factor-above-zero"))
    exact = float(seconds) / factor
    # A hair of floating point must not turn exactly half an hour into a second more or less.
    whole = math.ceil(exact * (1 - 1e-12)) if side == "longer" else math.floor(exact * (1 + 1e-12))
    if not 0 < whole <= _LONGEST:
        raise BayError(tell("trade-time-of-seconds-s-is-not-one", seconds=whole), "", tell("trade-check-model"))
    return Window(
        whole,
        tell(
            "trade-time-by-model",
            time=_time(fraction(seconds)),
            factor=f"{factor:.3g}",
            temperature=temperature,
        ),
    )


def depth_after(seconds: Decimal, known_depth: Decimal, known_seconds: Decimal, deepest: Decimal) -> Decimal:
    """How deep a one-part sealant that cures from its skin inwards has cured, in millimetres, cut off to 0.01.

    Moisture has to pass what has cured already, so the depth grows with the square root of time (J. Comyn, Moisture
    cure of adhesives and sealants, International Journal of Adhesion and Adhesives 18, 1998): 7 mm after 7 days were
    2.6 mm after one, and not 1.

    Args:
        seconds: since it was applied.
        known_depth, known_seconds: one point the maker gives, at the bay's temperature and humidity.
        deepest: the deepest cure the maker claims; never more is promised.

    Raises:
        BayError: a number is not above zero, or `known_depth` is more than `deepest`.
    """
    _front(known_depth, known_seconds, deepest)
    time = fraction(seconds)
    if not 0 <= time <= _LONGEST:
        raise BayError(
            tell("trade-seconds-s-is-not-time", seconds=seconds), "", tell("trade-give-seconds-from-zero-on")
        )
    depth = float(known_depth) * math.sqrt(time / fraction(known_seconds))
    hundredths = math.floor(min(depth, float(deepest)) * 100 * (1 + 1e-12))
    return Decimal(hundredths).scaleb(-2)


def time_for_depth(depth: Decimal, known_depth: Decimal, known_seconds: Decimal, deepest: Decimal) -> Window:
    """How long until `depth` has cured, rounded up; as `depth_after`.

    Raises:
        BayError: as `depth_after`, or `depth` is more than `deepest`.
    """
    _front(known_depth, known_seconds, deepest)
    if not fraction(depth) > 0:
        raise BayError(tell("trade-depth-of-mm-is-none", depth=depth), "", tell("trade-give-millimetres-above-zero"))
    if depth > deepest:
        raise BayError(
            tell("trade-depth-mm-is-deeper-than-cures", depth=depth, deepest=deepest),
            "",
            tell("trade-lay-in-thinner-beads-each"),
        )
    exact = fraction(known_seconds) * (fraction(depth) / fraction(known_depth)) ** 2
    if exact > _LONGEST:
        raise BayError(tell("trade-longer-than-ten-years"), "", tell("trade-check-depths"))
    why = tell("trade-time-by-depth", depth=known_depth, time=_time(fraction(known_seconds)))
    return Window(math.ceil(exact), why)


def _front(known_depth: Decimal, known_seconds: Decimal, deepest: Decimal) -> None:
    for number, what in ((known_depth, "depth"), (deepest, "depth"), (known_seconds, "time")):
        if fraction(number) <= 0:
            raise BayError(
                tell("trade-is-none", what=tell(f"trade-a-{what}"), number=number),
                "",
                tell("trade-give-number-above-zero"),
            )
    if known_depth > deepest:
        raise BayError(
            tell("trade-depth-mm-is-deeper-than-cures", depth=known_depth, deepest=deepest),
            "",
            tell("trade-check-makers-figures"),
        )


def _within(value: float, low: float, high: float, unit: str, what: str) -> None:
    if not low <= value <= high:
        raise BayError(
            tell("trade-is-not-possible-here", what=tell(f"trade-a-{what}"), value=f"{value:g} {unit}".rstrip()),
            "",
            tell("trade-give-one-from-to", low=f"{low:g}", high=f"{high:g} {unit}".rstrip()),
        )


def time_words(seconds: int) -> str:
    """Seconds as people write them: "1 h 30 min", "45 s"."""
    parts = []
    for size, name in ((86_400, "d"), (3600, "h"), (60, "min"), (1, "s")):
        count, seconds = divmod(seconds, size)
        if count:
            parts.append(f"{count} {name}")
    return " ".join(parts) or "0 s"


def _time(seconds: Fraction) -> str:
    return time_words(seconds.numerator) if seconds.denominator == 1 else f"{float(seconds):g} s"


def _number(value: Fraction) -> str:
    """Without needless zeros."""
    return str(value.numerator) if value.denominator == 1 else f"{float(value):g}"
