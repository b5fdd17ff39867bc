"""The gauges of a procedure: what its measurements are taken with."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Final

from bayvoice.language.units import UNITS, phrases
from bayvoice.procedure import amounts
from bayvoice.procedure.fields import Table
from bayvoice.procedure.mistakes import quoted
from bayvoice.procedure.model import Gauge
from bayvoice.trade.days import is_day

ASK: Final = "ask"
GAUGE_KEYS: Final = ("id", "name", "number", "unit", "uncertainty", "due")


def read_gauges(tables: list[Table], ids: list[str]) -> tuple[Gauge, ...]:
    """The gauges of a procedure; `ids`: theirs, read already."""
    gauges = []
    for table, gauge_id in zip(tables, ids, strict=True):
        table.allow(GAUGE_KEYS)
        mend = unit_help(table.raw.get("unit"))
        written = table.has("uncertainty") or table.has("unit")
        unit = table.choice("unit", tuple(UNITS), what="unit", mend=mend) if written else ""
        uncertainty = in_unit(table, "uncertainty", unit or "")
        if uncertainty is not None and uncertainty < 0:
            table.wrong("uncertainty", f"an uncertainty of {uncertainty:f} is below nought", "write it above nought")
        name, number = table.text("name", required=True), table.text("number")
        gauges.append(Gauge(gauge_id, name, number, unit or "", uncertainty, _due(table)))
    return tuple(gauges)


def in_unit(table: Table, key: str, unit: str) -> Decimal | None:
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


def unit_help(word: object) -> str:
    """The code of a unit written by its symbol or in words; "" where `word` is neither."""
    if not isinstance(word, str):
        return ""
    plain = _letters(word)
    for code, unit in UNITS.items():
        if plain and plain in {_letters(name) for name in (code, unit.symbol, *phrases(code))}:
            return f"write {quoted(code)}"
    return ""


def _due(table: Table) -> str:
    raw: Any = table.raw.get("due", "")
    if not isinstance(raw, str) and type(raw).__name__ == "date":
        return str(raw)
    if isinstance(raw, str) and (raw in ("", ASK) or is_day(raw)):
        return raw
    shown = quoted(raw) if isinstance(raw, str) else "this"
    table.wrong("due", f"{shown} is not a day", f'write due = 2027-03-01, or due = "{ASK}" to be asked before use')
    return ""


def _letters(text: str) -> str:
    return "".join(
        c for c in text.lower().replace("meter", "metre").replace("liter", "litre") if c.isalnum() or c in "°%"
    )
