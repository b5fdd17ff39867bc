"""measure: a reading that is said, or the mean of several, judged by its limits."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Any, Final

from bayvoice.errors import BayError
from bayvoice.procedure.fields import Table
from bayvoice.procedure.forms.shared import detail, details, read_remedy
from bayvoice.procedure.gauges import ASK, in_unit, unit_help
from bayvoice.procedure.kind import Around, Form, Listing, Placed
from bayvoice.procedure.mistakes import Notes, listed, quoted
from bayvoice.procedure.model import Gauge, Group, Kind, Measure, Name, Procedure, Step
from bayvoice.procedure.places import Path
from bayvoice.procedure.remark import Remark
from bayvoice.procedure.sense import RATIO, SPAN
from bayvoice.procedure.spoken import unsayable
from bayvoice.trade import expression
from bayvoice.trade.verdict import guarded
from bayvoice.units import UNITS, convert, possible

MOST_TIMES: Final = 10


class MeasureForm(Form):
    """Reads what is measured, with what, and between which limits."""

    word = Kind.MEASURE
    keys = ("name", "unit", "low", "high", "low_from", "high_from", "gauge", "times", "spread", "remedy", "tries")
    title = "measurements"
    json_key = "measurements"

    def read(self, table: Table, around: Around) -> Measure:
        """A measuring step."""
        remedy, tries = read_remedy(table)
        name = table.text("name", required=True)
        unit = table.choice("unit", tuple(UNITS), what="unit", mend=unit_help(table.raw.get("unit")))
        low, high = _limit(table, "low"), _limit(table, "high")
        low_from, high_from = _sum(table, "low"), _sum(table, "high")
        if not any(table.has(key) for key in ("low", "high", "low_from", "high_from")):
            table.wrong("", "the measurement has no limit", "add low, high or both")
        if low is not None and high is not None and low > high:
            table.wrong("low", f"low {low:f} is above high {high:f}", "exchange or correct them")
        times = table.whole("times", 1, MOST_TIMES, default=1) or 1
        spread = in_unit(table, "spread", unit or "")
        if table.has("spread") and times == 1:
            table.wrong("spread", "a single reading has no spread", "add times = 3, or take spread out")
        elif spread is not None and spread < 0:
            table.wrong("spread", f"a spread of {spread:f} is below nought", "write it above nought")
        gauge = table.text("gauge")
        return Measure(name, unit or "", low, high, gauge, remedy, tries, times, spread, low_from, high_from)

    def check(self, notes: Notes, procedure: Procedure, places: Sequence[Path]) -> None:
        """Limits from values nobody has measured yet, gauges that do not fit."""
        earlier: dict[str, str] = {}
        for at, _, measure in details(procedure, self.word, Measure):
            if not measure.unit:
                continue
            for key, text in (("low_from", measure.low_from), ("high_from", measure.high_from)):
                if text:
                    _check_sum(notes, (*places[at], key), text, earlier, measure.unit)
            _check_gauge(notes, (*places[at], "gauge"), procedure.gauge(measure.gauge), measure.unit)
            earlier[measure.name] = measure.unit

    def names(self, step: Step) -> Iterator[Name]:
        """What is measured."""
        yield Name(Group.MEASUREMENTS, "name", detail(step, Measure).name)

    def units(self, step: Step) -> Iterator[str]:
        """That of the reading."""
        yield detail(step, Measure).unit

    def remedy(self, step: Step) -> tuple[str, int]:
        """As the file says."""
        measure = detail(step, Measure)
        return measure.remedy, measure.tries

    def about(self, procedure: Procedure, step: Step) -> Iterator[Remark]:
        """Figures that are unlikely, a name that is no word, a gauge that is too coarse."""
        measure = detail(step, Measure)
        if measure.unit in UNITS:
            yield from _about_limits(step.id, measure)
            yield from _about_floating(step.id, measure)
        yield from unsayable(step.id, "name", measure.name)
        if measure.low is not None and measure.low == measure.high:
            yield Remark(step.id, "low", "low and high are the same, only one reading is in order", "widen the limits")
        yield from _about_gauge(step.id, measure, procedure.gauge(measure.gauge))

    def about_all(self, procedure: Procedure) -> Iterator[Remark]:
        """Two measurements of one name."""
        first: dict[str, str] = {}
        for _, step, measure in details(procedure, self.word, Measure):
            before = first.setdefault(measure.name.lower(), step.id)
            if before != step.id:
                what = f"the step {quoted(before)} measures {quoted(measure.name)} too"
                yield Remark(step.id, "name", what, "give each its own name, so that a correction finds the right one")

    def groups(self, procedure: Procedure, steps: Placed) -> Iterator[Listing]:
        """The measurements, and the gauges they are taken with."""
        yield from super().groups(procedure, steps)
        gauges = procedure.gauges
        yield Listing("gauges", "gauges", list(map(_gauge_line, gauges)), list(map(_gauge_row, gauges)))

    def line(self, procedure: Procedure, step: Step) -> str:
        """The limits with their unit."""
        measure = detail(step, Measure)
        unit = measure.unit
        low, high = _side(measure.low, measure.low_from), _side(measure.high, measure.high_from)
        one = f"{low} {unit} or more" if low else f"{high} {unit} or less"
        limits = f"{low} to {high} {unit}" if low and high else one
        mean = f", mean of {measure.times}" if measure.times > 1 else ""
        spread = "" if measure.spread is None else f", spread {measure.spread:f} {unit} at most"
        return f"{measure.name}: {limits}{mean}{spread}{f', {measure.gauge}' if measure.gauge else ''}"

    def row(self, procedure: Procedure, step: Step) -> dict[str, Any]:
        """Limits with the file's digits; `low_from`, `high_from`: sums over earlier readings, or ""."""
        measure = detail(step, Measure)
        return {
            "name": measure.name,
            "unit": measure.unit,
            "gauge": measure.gauge,
            "low": _digits(measure.low),
            "high": _digits(measure.high),
            "low_from": measure.low_from,
            "high_from": measure.high_from,
            "times": measure.times,
            "spread": _digits(measure.spread),
        }


def _digits(number: Decimal | None) -> str | None:
    return None if number is None else f"{number:f}"


def _side(own: Decimal | None, text: str) -> str:
    """A side's limit: "2.0", "(left_chain + 0.5 %)", or the tighter of both."""
    if own is None:
        return f"({text})" if text else ""
    return f"the tighter of {own:f} and ({text})" if text else f"{own:f}"


def _gauge_line(gauge: Gauge) -> str:
    """Its name and number, how uncertain it is, and until when it is in date."""
    due = "" if not gauge.due else ", asked for its date" if gauge.due == ASK else f", in date until {gauge.due}"
    if gauge.uncertainty is None:
        return f"{gauge.title}{due}"
    return f"{gauge.title}, uncertain by {gauge.uncertainty:f} {gauge.unit}{due}"


def _gauge_row(gauge: Gauge) -> dict[str, Any]:
    """The uncertainty is a string."""
    return {
        "id": gauge.id,
        "name": gauge.name,
        "number": gauge.number,
        "unit": gauge.unit,
        "due": gauge.due,
        "uncertainty": _digits(gauge.uncertainty),
    }


def _about_limits(step: str, measure: Measure) -> Iterator[Remark]:
    low, high = SPAN[measure.unit]
    symbol = UNITS[measure.unit].symbol
    for key, value in (("low", measure.low), ("high", measure.high)):
        if value is None:
            continue
        if not possible(value, measure.unit):
            yield Remark(step, key, f"{value:f} {symbol} is below absolute zero", "correct the figure or its unit")
        elif not low <= value <= high:
            what = f"{value:f} {symbol} is not what is measured in a bay"
            yield Remark(step, key, what, "check the figure and its unit")
    if measure.low is not None and measure.high is not None and 0 < measure.low * RATIO < measure.high:
        what = f"the limits are {measure.high / measure.low:.0f} times apart"
        yield Remark(step, "high", what, "look for a slipped point")


def _about_floating(step: str, measure: Measure) -> Iterator[Remark]:
    """A limit that hangs on another reading alone goes wherever that reading goes."""
    for side, own, text in (("low", measure.low, measure.low_from), ("high", measure.high, measure.high_from)):
        if text and own is None:
            what = f"the limit hangs on another reading alone ({text}), and moves with it without end"
            mend = f"add {side} = …, the {'least' if side == 'low' else 'most'} there may be whatever that reading is"
            yield Remark(step, f"{side}_from", what, mend)


def _about_gauge(step: str, measure: Measure, gauge: Gauge | None) -> Iterator[Remark]:
    """A gauge that can never show a reading to be within its limits (ISO 14253-1) makes the step hopeless."""
    if gauge is None or gauge.uncertainty is None or measure.low is None or measure.high is None:
        return
    uncertainty = convert(gauge.uncertainty, gauge.unit, measure.unit)
    if not guarded(measure.low, measure.high, uncertainty).provable:
        near = f"the limits are nearer than twice the uncertainty of {quoted(gauge.name)}"
        yield Remark(step, "gauge", f"{near}, so no reading is shown to be within", "take a finer gauge")


def _check_sum(notes: Notes, path: Path, text: str, earlier: dict[str, str], unit: str) -> None:
    try:
        parsed = expression.parse(text)
        known = {expression.plain_name(name) for name in earlier}
        for name in parsed.names:
            if name not in known:
                mend = f"measured before it: {listed(earlier)}" if earlier else "measure it in an earlier step"
                notes.add(path, f"{quoted(name)} is not measured before this step", mend)
                return
        parsed.check(earlier, unit)
        if not parsed.names:
            side = str(path[-1]).removesuffix("_from")
            notes.add(path, f"{quoted(text)} names no earlier reading", f"write a fixed limit: {side} = …")
    except BayError as why:
        notes.add(path, f"{why.what} ({why.where})" if why.where else why.what, why.mend)


def _check_gauge(notes: Notes, path: Path, gauge: Gauge | None, unit: str) -> None:
    if gauge is None or gauge.unit in ("", unit):
        return
    one, other = UNITS[gauge.unit], UNITS[unit]
    if one.dimension != other.dimension:
        what = f"the gauge {quoted(gauge.id)} measures {one.dimension}, the step {other.dimension}"
        notes.add(path, what, "name the gauge that is used here")
    elif one.dimension == "temperature":
        what = f"the uncertainty of {quoted(gauge.id)} is in another unit of temperature"
        notes.add(path, what, f"give it in {other.code}")


def _limit(table: Table, key: str) -> Decimal | None:
    """A fixed limit."""
    raw: Any = table.raw.get(key)
    if isinstance(raw, str) and _looks_like_a_sum(raw):
        written = " ".join(raw.strip().removeprefix("=").split())
        table.wrong(key, f"{quoted(raw)} is a sum, not a number", f"write it as {key}_from = {quoted(written)}")
        return None
    return table.decimal(key)


def _looks_like_a_sum(text: str) -> bool:
    return text.lstrip().startswith("=") or (any(c.isalpha() for c in text) and any(c in text for c in "+-*/("))


def _sum(table: Table, side: str) -> str:
    """A limit that is worked out from earlier readings, "" for none."""
    key = f"{side}_from"
    raw: Any = table.raw.get(key)
    if isinstance(raw, int | float | Decimal) and not isinstance(raw, bool):
        table.wrong(key, f"{raw} is a number, not a sum over earlier readings", f"write it as {side} = {raw}")
        return ""
    text = table.text(key).strip()
    if text.startswith("="):
        plain = text.removeprefix("=").strip()
        table.wrong(key, f"{quoted(text)} begins with a sign of equality", f"write {key} = {quoted(plain)}")
        return ""
    return text
