"""The keys of a measuring step, and the gauges it is measured with."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Final

from bayvoice.errors import BayError
from bayvoice.language.units import UNITS, phrases
from bayvoice.procedure import amounts
from bayvoice.procedure.fields import Table
from bayvoice.procedure.mistakes import Notes, listed, quoted
from bayvoice.procedure.model import Gauge, Kind, Measure, Procedure
from bayvoice.procedure.places import Path
from bayvoice.trade import expression
from bayvoice.trade.days import is_day

ASK: Final = "ask"
MOST_TIMES: Final = 10
GAUGE_KEYS: Final = ("id", "name", "number", "unit", "uncertainty", "due")


def read_measure(table: Table, remedy: str, tries: int) -> Measure:
    """A measuring step; `remedy`, `tries`: read already."""
    name = table.text("name", required=True)
    unit = table.choice("unit", tuple(UNITS), what="unit", mend=_unit_help(table.raw.get("unit")))
    low, high = _limit(table, "low"), _limit(table, "high")
    low_from, high_from = _sum(table, "low"), _sum(table, "high")
    if not any(table.has(key) for key in ("low", "high", "low_from", "high_from")):
        table.wrong("", "the measurement has no limit", "add low, high or both")
    if low is not None and high is not None and low > high:
        table.wrong("low", f"low {low:f} is above high {high:f}", "exchange or correct them")
    times = table.whole("times", 1, MOST_TIMES, default=1) or 1
    spread = _in_unit(table, "spread", unit or "")
    if table.has("spread") and times == 1:
        table.wrong("spread", "a single reading has no spread", "add times = 3, or take spread out")
    elif spread is not None and spread < 0:
        table.wrong("spread", f"a spread of {spread:f} is below nought", "write it above nought")
    return Measure(name, unit or "", low, high, table.text("gauge"), remedy, tries, times, spread, low_from,
                   high_from)  # fmt: skip


def read_gauges(tables: list[Table], ids: list[str]) -> tuple[Gauge, ...]:
    """The gauges of a procedure; `ids`: theirs, read already."""
    gauges = []
    for table, gauge_id in zip(tables, ids, strict=True):
        table.allow(GAUGE_KEYS)
        mend = _unit_help(table.raw.get("unit"))
        written = table.has("uncertainty") or table.has("unit")
        unit = table.choice("unit", tuple(UNITS), what="unit", mend=mend) if written else ""
        uncertainty = _in_unit(table, "uncertainty", unit or "")
        if uncertainty is not None and uncertainty < 0:
            table.wrong("uncertainty", f"an uncertainty of {uncertainty:f} is below nought", "write it above nought")
        gauges.append(Gauge(gauge_id, table.text("name", required=True), table.text("number"), unit or "",
                            uncertainty, _due(table)))  # fmt: skip
    return tuple(gauges)


def check_measures(notes: Notes, procedure: Procedure, positions: tuple[Path, ...]) -> None:
    """Note what is wrong between measuring steps: limits from values nobody has measured yet, gauges that do not fit.

    `positions`: where in the file each step stands.
    """
    earlier: dict[str, str] = {}
    for at in procedure.of_kind(Kind.MEASURE):
        place, detail = positions[at], procedure.steps[at].detail
        if not isinstance(detail, Measure):
            continue
        if detail.unit:
            for key, text in (("low_from", detail.low_from), ("high_from", detail.high_from)):
                if text:
                    _check_sum(notes, (*place, key), text, earlier, detail.unit)
            _check_gauge(notes, (*place, "gauge"), procedure.gauge(detail.gauge), detail.unit)
            earlier[detail.name] = detail.unit


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
        notes.add(path, f"the gauge {quoted(gauge.id)} measures {one.dimension}, the step {other.dimension}",
                  "name the gauge that is used here")  # fmt: skip
    elif one.dimension == "temperature":
        notes.add(path, f"the uncertainty of {quoted(gauge.id)} is in another unit of temperature",
                  f"give it in {other.code}")  # fmt: skip


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


def _in_unit(table: Table, key: str, unit: str) -> Decimal | None:
    """A number, bare or with the unit of its step or gauge behind it ("0.02 mm")."""
    raw: Any = table.raw.get(key)
    if not isinstance(raw, str):
        return table.decimal(key)
    digits, _, behind = raw.strip().partition(" ")
    if behind and behind.strip() != unit:
        table.wrong(key, f"{quoted(raw)} is not in the unit {quoted(unit)}", f"give it in {unit or 'the unit'}")
        return None
    try:
        return amounts.number(digits)
    except ValueError as why:
        table.wrong(key, f"{quoted(raw)} {why}", f'write it like "0.02 {unit}"' if unit else 'write it like "0.02"')
        return None


def _due(table: Table) -> str:
    raw: Any = table.raw.get("due", "")
    if not isinstance(raw, str) and type(raw).__name__ == "date":
        return str(raw)
    if isinstance(raw, str) and (raw in ("", ASK) or is_day(raw)):
        return raw
    shown = quoted(raw) if isinstance(raw, str) else "this"
    table.wrong("due", f"{shown} is not a day", f'write due = 2027-03-01, or due = "{ASK}" to be asked before use')
    return ""


def _unit_help(word: object) -> str:
    """The code of a unit written by its symbol or in words; "" where `word` is neither."""
    if not isinstance(word, str):
        return ""
    plain = _letters(word)
    for code, unit in UNITS.items():
        if plain and plain in {_letters(name) for name in (code, unit.symbol, *phrases(code))}:
            return f"write {quoted(code)}"
    return ""


def _letters(text: str) -> str:
    return "".join(
        c for c in text.lower().replace("meter", "metre").replace("liter", "litre") if c.isalnum() or c in "°%"
    )
