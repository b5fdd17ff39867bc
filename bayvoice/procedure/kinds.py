"""The keys of each step kind, except waits (`bayvoice.procedure.waits`)."""

from __future__ import annotations

from typing import Final

from bayvoice.procedure.fastens import read_fasten
from bayvoice.procedure.fields import Table
from bayvoice.procedure.lengths import WINDOW_KEYS
from bayvoice.procedure.measures import read_measure
from bayvoice.procedure.mistakes import listed, quoted, suggest
from bayvoice.procedure.model import Check, Detail, Do, Hold, Kind, Part, Replace, Tally, Together

STEP_KEYS: Final = (
    "id", "kind", "say", "show", "caution", "takes", "off", "puts_back", "back", "because", "uses", "aside", "pass",
    "reasons",
)  # fmt: skip
NOT_GOING_BACK: Final = ("off", "back", "because", "aside")
"""Keys of a step that a step of the way back does not have."""
KIND_KEYS: Final[dict[Kind, tuple[str, ...]]] = {
    Kind.DO: (),
    Kind.CHECK: ("ask", "want", "remedy", "tries"),
    Kind.MEASURE: (
        "name",
        "unit",
        "low",
        "high",
        "low_from",
        "high_from",
        "gauge",
        "times",
        "spread",
        "remedy",
        "tries",
    ),
    Kind.FASTEN: (
        "count",
        "order",
        "rows",
        "stages",
        "undo",
        "name",
        "refit",
        "each",
        "tolerance",
        "last_round",
    ),
    Kind.WAIT: ("wait", "name", "at_least", "at_most", "gates", "closes", "recovery", "starts", *WINDOW_KEYS),
    Kind.REPLACE: ("part",),
    Kind.TALLY: ("opening", "things", "close"),
    Kind.HOLD: ("look", "who", "until"),
    Kind.TOGETHER: ("people", "beats", "ask"),
}


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
            return read_measure(table, *_remedy(table))
        case Kind.FASTEN:
            return read_fasten(table)
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


def _remedy(table: Table) -> tuple[str, int]:
    """The aside to go to when the answer is not in order, and how often at most."""
    if table.has("tries") and not table.has("remedy"):
        table.wrong("tries", "tries counts how often the remedy is tried, and there is none", "add remedy")
    return table.text("remedy"), table.whole("tries", 1, 20, default=3) or 3


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
