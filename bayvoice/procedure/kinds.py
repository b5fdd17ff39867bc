"""The keys of each step kind, except waits (`bayvoice.procedure.waits`)."""

from __future__ import annotations

from itertools import pairwise
from typing import Any, Final

from bayvoice.procedure import amounts
from bayvoice.procedure.fields import Table
from bayvoice.procedure.mistakes import listed, quoted, suggest
from bayvoice.procedure.model import (
    Check,
    Detail,
    Do,
    Fasten,
    Hold,
    Kind,
    Measure,
    Part,
    Replace,
    Stage,
    Tally,
    Together,
)  # fmt: skip
from bayvoice.procedure.star import row_order, star_order
from bayvoice.speech.units import UNITS, phrases

STEP_KEYS: Final = (
    "id", "kind", "say", "show", "caution", "takes", "off", "puts_back", "back", "because", "uses", "aside",
)  # fmt: skip
NOT_GOING_BACK: Final = ("off", "back", "because", "aside")
"""Keys of a step that a step of the way back does not have."""
KIND_KEYS: Final[dict[Kind, tuple[str, ...]]] = {
    Kind.DO: (),
    Kind.CHECK: ("ask", "want", "remedy", "tries"),
    Kind.MEASURE: ("name", "unit", "low", "high", "gauge", "remedy", "tries"),
    Kind.FASTEN: ("count", "order", "stages", "undo", "name", "refit"),
    Kind.WAIT: ("wait", "name", "at_least", "at_most", "gates", "closes", "recovery", "starts"),
    Kind.REPLACE: ("part",),
    Kind.TALLY: ("opening", "things", "close"),
    Kind.HOLD: ("look", "who", "until"),
    Kind.TOGETHER: ("people", "beats", "ask"),
}
MOST_FASTENERS: Final = 200


def allow_keys(table: Table, kind: Kind | None, *, going_back: bool = False) -> None:
    """Note keys of `table` that a step of this kind does not have; with an unknown kind, keys no kind has."""
    common = tuple(key for key in STEP_KEYS if not (going_back and key in NOT_GOING_BACK))
    if kind is None:
        table.allow((*common, *{key: None for keys in KIND_KEYS.values() for key in keys}))
        return
    owners: dict[str, list[str]] = {}
    for other, keys in KIND_KEYS.items():
        for key in keys:
            owners.setdefault(key, []).append(other.value)
    elsewhere = {key: f"steps of kind {listed(kinds)}" for key, kinds in owners.items()}
    table.allow((*common, *KIND_KEYS[kind]), elsewhere)


def read_detail(table: Table, kind: Kind, parts: dict[str, Part]) -> Detail:
    """The part of a step that its kind (any but wait) asks for."""
    match kind:
        case Kind.CHECK:
            want = table.choice("want", ("yes", "no"), default="yes", what="answer")
            return Check(table.text("ask", required=True), want != "no", *_remedy(table))
        case Kind.MEASURE:
            return _measure(table)
        case Kind.FASTEN:
            return _fasten(table)
        case Kind.REPLACE:
            return _replace(table, parts)
        case Kind.TALLY:
            return _tally(table)
        case Kind.HOLD:
            who = table.text("who", default="foreman")
            return Hold(table.text("look", required=True), who, table.text("until"))
        case Kind.TOGETHER:
            people, beats = table.whole("people", 2, 20, default=2), table.whole("beats", 0, 10, default=0)
            return Together(people or 2, beats or 0, table.text("ask"))
        case _:
            return Do()


def _measure(table: Table) -> Measure:
    name = table.text("name", required=True)
    unit = table.choice("unit", tuple(UNITS), what="unit", mend=_unit_help(table.raw.get("unit")))
    low, high = table.decimal("low"), table.decimal("high")
    if not table.has("low") and not table.has("high"):
        table.wrong("", "the measurement has no limit", "add low, high or both")
    if low is not None and high is not None and low > high:
        table.wrong("low", f"low {low:f} is above high {high:f}", "exchange or correct them")
    return Measure(name, unit or "", low, high, table.text("gauge"), *_remedy(table))


def _remedy(table: Table) -> tuple[str, int]:
    """The aside to go to when the answer is not in order, and how often at most."""
    if table.has("tries") and not table.has("remedy"):
        table.wrong("tries", "tries counts how often the remedy is tried, and there is none", "add remedy")
    return table.text("remedy"), table.whole("tries", 1, 20, default=3) or 3


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


def _fasten(table: Table) -> Fasten:
    count = table.whole("count", 1, MOST_FASTENERS) or 0
    order = _order(table, count)
    undo = table.flag("undo")
    # A step of the way back of an undo step carries that step's refit stages.
    stages = _stages(table, "stages" if undo or not table.has("refit") else "refit")
    if undo and stages:
        table.wrong("stages", "loosening has no stages", "take stages out, or undo")
    return Fasten(count, order, stages, undo, table.text("name", default="bolt"))


def _order(table: Table, count: int) -> tuple[int, ...]:
    """Fasteners in tightening order; `count` 0 where it is not known."""
    if not table.has("order"):
        table.wrong("order", '"order" is missing', 'add it: "star", "row" or a list like [1, 3, 2, 4]')
        return ()
    raw = table.raw["order"]
    if raw == "star":
        return star_order(count) if count else ()
    if raw == "row":
        return row_order(count)
    if not isinstance(raw, list) or any(isinstance(n, bool) or not isinstance(n, int) for n in raw):
        shown = quoted(raw) if isinstance(raw, str) else "this"
        table.wrong("order", f"{shown} is not an order", 'write "star", "row" or a list like [1, 3, 2, 4]')
        return ()
    if count and sorted(raw) != list(range(1, count + 1)):
        table.wrong("order", "the order does not name every fastener once", f"name each of 1 to {count} once")
    return tuple(raw)


def _stages(table: Table, key: str) -> tuple[Stage, ...]:
    raw: Any = table.raw.get(key, [])
    if not isinstance(raw, list):
        table.wrong(key, f"{key} is not a list", f'write {key} = ["10 N.m", "24 N.m", "90 deg"]')
        return ()
    stages: list[Stage] = []
    for item in raw:
        try:
            stages.append(amounts.stage(item))
        except ValueError as why:
            table.wrong(key, f"{quoted(item)} {why}", 'write a stage as "24 N.m" or "90 deg"')
    _check_stages(table, key, stages, len(stages) == len(raw))
    return tuple(stages)


def _check_stages(table: Table, key: str, stages: list[Stage], complete: bool) -> None:
    torques = [stage for stage in stages if stage.unit != "deg"]
    if len({stage.unit for stage in torques}) > 1:
        table.wrong(key, "the stages mix two units of torque", "write all torques in one unit")
    elif any(later.amount < earlier.amount for earlier, later in pairwise(torques)):
        table.wrong(key, "the torque falls from one stage to the next", "put the lower torque first")
    if complete and stages and stages[0].unit == "deg":
        table.wrong(key, "an angle stands before any torque", "begin with the torque the angle is counted from")


def _replace(table: Table, parts: dict[str, Part]) -> Replace:
    part = table.text("part", required=True)
    if part and part not in parts:
        table.wrong("part", f"no part has the id {quoted(part)}", suggest(part, parts, "add it as a [[part]]"))
    elif part and not parts[part].one_use:
        table.wrong("part", f"{quoted(part)} is not a one-use part", "write one_use = true in its [[part]]")
    return Replace(part)


def _tally(table: Table) -> Tally:
    close = table.flag("close")
    opening = table.text("opening", required=True)
    things = table.texts("things")
    if close and table.has("things"):
        table.wrong("things", "things are named where the count closes", "name them where the count opens")
    if not close and not table.has("things"):
        table.wrong("things", '"things" is missing', "name what may go in, or write close = true")
    if not close and table.raw.get("things") == []:
        table.wrong("things", "no thing is named", "name what may go in")
    if len({thing.lower() for thing in things}) < len(things):
        table.wrong("things", "a thing is named twice", "name each once")
    return Tally(opening, things, close)
