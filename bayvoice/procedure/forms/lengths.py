"""How long a wait lasts: fixed times, a maker's table, or a law with the range it holds for."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from bayvoice.errors import BayError
from bayvoice.procedure import amounts
from bayvoice.procedure.fields import Table
from bayvoice.procedure.mistakes import quoted
from bayvoice.procedure.model import Law, WindowRow
from bayvoice.trade.cure import Row, window_from_table

WINDOW_KEYS: Final = ("table", "model", "reference", "every", "energy", "valid", "depth", "deepest")
LIMITS: Final = ("at_least", "at_most")
_OF_MODEL: Final[dict[str, tuple[str, ...]]] = {
    "doubling": ("reference", "every", "valid"),
    "arrhenius": ("reference", "energy", "valid"),
    "depth": ("reference", "deepest"),
}
_MODELS: Final = (
    "doubling (twice as fast every so many degrees), arrhenius (by activation energy) or depth (a front that slows)"
)
_AMOUNT: Final = re.compile(r"([+-]?[0-9][0-9.]*)\s*(\S+)")


@dataclass(frozen=True, slots=True)
class Lengths:
    """Limits as `model.Wait` has them; `given`: which limits there are at all, right or wrong."""

    at_least: int | None
    at_most: int | None
    rows: tuple[WindowRow, ...]
    law: Law | None
    given: frozenset[str]

    def has(self, limit: str) -> bool:
        """Whether the limit is given, as a key or in the table."""
        return limit in self.given


def read_lengths(table: Table) -> Lengths:
    """The limits of a wait step; what is wrong with them is noted."""
    rows = _rows(table)
    law = _law(table)
    if not table.has("table"):
        given = frozenset(limit for limit in LIMITS if table.has(limit))
        return Lengths(table.duration("at_least"), table.duration("at_most"), (), law, given)
    for key in (*LIMITS, "model"):
        if table.has(key):
            table.wrong(key, f"{key} stands beside a table of times", "keep one of the two")
    raw = table.raw["table"]
    lines = [line for line in raw if isinstance(line, dict)] if isinstance(raw, list) else []
    least = [row.at_least for row in rows if row.at_least is not None]
    most = [row.at_most for row in rows if row.at_most is not None]
    given = frozenset(limit for limit in LIMITS if any(limit in line for line in lines))
    return Lengths(min(least, default=None), max(most, default=None), rows, None, given)


def _rows(table: Table) -> tuple[WindowRow, ...]:
    if not table.has("table"):
        return ()
    rows, whole = [], True
    for line in table.tables("table"):
        line.allow(("temperature", "humidity", *LIMITS))
        temperature = _amount(line, "temperature", "degC", needed=True)
        humidity = _amount(line, "humidity", "%")
        least, most = line.duration("at_least"), line.duration("at_most")
        if least is not None and most is not None and least > most:
            line.wrong("at_least", "at_least is longer than at_most", "exchange or correct them")
        whole = whole and temperature is not None
        if temperature is not None:
            rows.append(WindowRow(temperature, humidity, least, most))
    if not rows:
        mend = f'write [[{table.heading("table")}]] with temperature = "20 degC"'
        table.wrong("table", "the table of times holds no line", mend)
        return ()
    for limit in LIMITS:
        times = [(row, getattr(row, limit)) for row in rows]
        with_it = [Row(row.temperature, Decimal(time), row.humidity) for row, time in times if time is not None]
        if with_it and len(with_it) < len(rows):
            table.wrong("table", f"only some lines of the table have {limit}", "give it in all lines or in none")
        elif with_it and whole:
            try:
                window_from_table(with_it, rows[0].temperature, rows[0].humidity)
            except BayError as error:
                table.wrong("table", error.what, error.mend)
    return tuple(rows)


def _law(table: Table) -> Law | None:
    if not table.has("model"):
        for key in WINDOW_KEYS[2:]:
            if table.has(key):
                table.wrong(key, f"{key} means nothing without a model", "add model, or take it out")
        return None
    model = table.choice("model", tuple(_OF_MODEL), what="model of a wait", mend=f"write {_MODELS}")
    if model is None:
        return None
    for key in WINDOW_KEYS[2:]:
        if table.has(key) and key not in (*_OF_MODEL[model], *(("depth",) if model == "depth" else ())):
            table.wrong(key, f"{key} means nothing to the model {model}", "take it out")
    unit = "mm" if model == "depth" else "degC"
    reference = _amount(table, "reference", unit, needed=True)
    if model == "depth":
        if table.has("at_most"):
            table.wrong("at_most", "a depth takes a time at least, and no time at most", "take at_most out")
        depth, deepest = _amount(table, "depth", unit), _amount(table, "deepest", unit, needed=True)
        if reference is None or deepest is None:
            return None
        for key, value in (("reference", reference), ("depth", depth)):
            if value is not None and not 0 < value <= deepest:
                table.wrong(key, f"{value:f} mm is not between nothing and the deepest, {deepest:f} mm", "correct it")
        return Law(model, reference, Decimal(0), Decimal(0), deepest, depth)
    span = _amount(table, *(("every", "degC") if model == "doubling" else ("energy", "kJ/mol")), needed=True)
    if span is not None and not (1 <= span <= 50 if model == "doubling" else 1 <= span <= 300):
        key, most = ("every", "50 degC") if model == "doubling" else ("energy", "300 kJ/mol")
        table.wrong(key, f"{quoted(table.raw[key])} is not possible", f"write the maker's figure, 1 to {most}")
        span = None
    valid = _valid(table)
    if reference is None or span is None or valid is None:
        return None
    if not valid[0] <= reference <= valid[1]:
        table.wrong("reference", "the reference is outside the range the model holds for", "correct one of them")
    return Law(model, reference, span, *valid)


def _valid(table: Table) -> tuple[Decimal, Decimal] | None:
    if not table.has("valid"):
        table.missing("valid")
        return None
    raw = table.raw["valid"]
    if not isinstance(raw, list) or len(raw) != 2:
        table.wrong("valid", "valid is not a range", 'write valid = ["10 degC", "35 degC"]')
        return None
    ends = [_taken(table, "valid", each, "degC") for each in raw]
    if ends[0] is None or ends[1] is None:
        return None
    if ends[0] > ends[1]:
        table.wrong("valid", "the range ends before it begins", "give the lower temperature first")
    return ends[0], ends[1]


def _amount(table: Table, key: str, unit: str, *, needed: bool = False) -> Decimal | None:
    """The number of `key`, written with `unit`; None where there is none, noted where it must be there."""
    if not table.has(key):
        if needed:
            table.missing(key)
        return None
    return _taken(table, key, table.raw[key], unit)


def _taken(table: Table, key: str, raw: object, unit: str) -> Decimal | None:
    found = _AMOUNT.fullmatch(raw.strip()) if isinstance(raw, str) else None
    if found is None or found[2] != unit:
        table.wrong(key, f"{quoted(raw)} is not an amount in {unit}", f'write it like {key} = "20 {unit}"')
        return None
    try:
        return amounts.number(found[1])
    except ValueError as why:
        table.wrong(key, f"{quoted(raw)} {why}", f'write it like {key} = "20 {unit}"')
        return None
