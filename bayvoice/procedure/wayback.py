"""The steps in the order in which they are worked: each marker of a way back replaced by the steps that put back.

Works on the tables of the file before they are read, so that a step of the way back is read, checked and shown like
any other, and the rest of the product sees plain steps only.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from bayvoice.procedure.fields import Table
from bayvoice.procedure.memo import Memo, Row
from bayvoice.procedure.mistakes import Notes, quoted, suggest
from bayvoice.procedure.places import Path

MARKER: Final = "way_back"
"""`kind` of the table that stands where the way back belongs."""

MARKER_KEYS: Final = ("kind", "of")
NEVER: Final = "none"
"""`back` of a step whose things never go back."""

_NOT_COPIED: Final = ("id", "say", "show", "undo", "off", "because", "back", "uses", "aside", "puts_back", "reasons")
_LONGEST_STEM: Final = 33


def rows(notes: Notes, raws: Sequence[Mapping[str, Any]], memo: Memo) -> list[Row]:
    """The steps of the file in working order; what is wrong with their way back is noted.

    Order reversed, each with its own refitting details; steps without a way back are left out.

    Args:
        raws: the tables of the file's steps.
        memo: what was worked out before.
    """
    made: list[Row] = []
    passed: dict[str, int] = {}  # id -> number, for the steps of the line before here
    waiting: list[Table] = []  # those of them that say something about a way back, and are not put back yet
    lost: list[Table] = []
    for number, raw in enumerate(raws):
        path: Path = ("step", number)
        marker = raw.get("kind") == MARKER
        if not marker:
            made.append(Row(path, raw))
            if not raw.get("aside"):
                passed[made[-1].id] = number
            if _OF_THE_WAY.isdisjoint(raw):
                continue
        table = Table(notes, path, raw)
        if not marker:
            _check_keys(table)
            (lost if raw.get("aside") else waiting).append(table)
            continue
        table.allow(MARKER_KEYS)
        first, last = _range(table, passed)
        going = [strip for strip in waiting if first <= _number(strip) <= last]
        for strip in reversed(going):
            way = memo.way(strip.raw)
            way = _way(strip) if way is None else way
            memo.keep_way(strip.raw, way)
            origin = Row(strip.path, strip.raw).id
            made.extend(Row((*strip.path, *within), one, origin) for within, one in way)
        waiting = [strip for strip in waiting if strip not in going]
    for table in (*lost, *waiting):
        if isinstance(table.raw.get("back"), list) or table.has("refit"):
            key = "back" if table.has("back") else "refit"
            mend = f'add a step with kind = "{MARKER}" after it'
            table.wrong(key, "the way back of this step is never taken", mend)
    return made


def rows_of(notes: Notes, number: int, raw: Mapping[str, Any], *, back: bool) -> list[Row] | None:
    """The rows of one step of the file, its way back included; None for a marker.

    `back`: whether a marker takes the way back of that step.
    """
    if raw.get("kind") == MARKER:
        return None
    path: Path = ("step", number)
    here = Row(path, raw)
    if _OF_THE_WAY.isdisjoint(raw):
        return [here]
    table = Table(notes, path, raw)
    _check_keys(table)
    way = _way(table)
    if way and not back:
        return None
    return [here, *(Row((*path, *within), one, here.id) for within, one in way)]


_OF_THE_WAY: Final = frozenset({"back", "because", "refit"})


def _number(table: Table) -> int:
    number = table.path[1]
    assert isinstance(number, int)
    return number


def _range(marker: Table, passed: Mapping[str, int]) -> tuple[int, int]:
    """Numbers of the first and the last step that the marker puts back. `passed`: id -> number of those before it."""
    every = (0, _number(marker))
    if not marker.has("of"):
        return every
    named = marker.texts("of")
    if len(named) != 2:
        marker.wrong("of", "of does not name two steps", 'write of = ["first-id", "last-id"], or leave it out')
        return every
    for name in named:
        if name not in passed:
            mend = suggest(name, filter(None, passed), "name a step before it")
            marker.wrong("of", f"{quoted(name)} is no step before the way back", mend)
            return every
    first, last = (passed[name] for name in named)
    if first > last:
        marker.wrong("of", "of names the later step first", "exchange the two")
    return min(first, last), max(first, last)


def _check_keys(table: Table) -> None:
    back, undo = table.raw.get("back"), table.raw.get("undo") is True
    if isinstance(back, str) and back != NEVER:
        mend = f'write [[step.back]] tables, or back = "{NEVER}" with because'
        table.wrong("back", f"{quoted(back)} is no way back", mend)
    elif table.has("back") and not isinstance(back, (str, list)):
        table.wrong("back", "the way back is not a list of tables", "begin each of its steps with [[step.back]]")
    if back == NEVER and not table.has("because"):
        table.wrong("because", "nothing says why it never goes back", 'add because = "scrapped" or the like')
    if table.has("because") and back != NEVER:
        mend = f'take it out, or write back = "{NEVER}"'
        table.wrong("because", "because explains why something never goes back, and it does", mend)
    if table.has("refit") and not undo:
        table.wrong("refit", "refit belongs to a step that loosens", "add undo = true, or write stages")
    elif table.has("refit") and table.has("back"):
        table.wrong("refit", "both refit and back say how it goes back", "keep one of them")


def _way(strip: Table) -> list[tuple[Path, Mapping[str, Any]]]:
    """The tables that put back what `strip` took off, in the order in which they are worked, each with its place
    within the table of `strip`."""
    origin = Row(strip.path, strip.raw).id
    back = strip.raw.get("back")
    if isinstance(back, list):
        made = [dict(each.raw) for each in strip.tables("back")]
        places: list[Path] = [("back", i) for i in range(len(made))]
    elif strip.has("refit") and strip.raw.get("undo") is True:
        made = [{"say": _refit_say(strip), **{k: v for k, v in strip.raw.items() if k not in _NOT_COPIED}}]
        places = [()]
    else:
        return []
    for number, raw in enumerate(made, 1):
        stem = origin[:_LONGEST_STEM].rstrip("-")
        raw.setdefault("id", f"{stem}-back" if number == 1 else f"{stem}-back-{number}")
    if made:
        back = next((raw for raw in made if "puts_back" in raw), made[-1])
        _repeat_cautions(strip, back)
        if strip.raw.get("off"):
            back.setdefault("puts_back", strip.raw["off"])
    return list(zip(places, made, strict=True))


def _refit_say(strip: Table) -> str:
    name, count = strip.raw.get("name", "bolt"), strip.raw.get("count")
    if count == 1:
        return f"Fit the {name} and tighten it."
    return f"Fit the {count} {name}s and tighten them in the numbered order."


def _repeat_cautions(strip: Table, back: dict[str, Any]) -> None:
    """What was dangerous on the way off is dangerous on the way back: said again where the thing is put back."""
    own = _listed(back.get("caution"))
    again = [each for each in _listed(strip.raw.get("caution")) if each not in own]
    if again or own:
        back["caution"] = [*again, *own]


def _listed(value: object) -> list[Any]:
    return value if isinstance(value, list) else [] if value is None else [value]


class Orders:
    """The order of steps as each of them meets it.

    Asides are no part of the line. Seen from an aside, its steps come just before the first step that sends the job
    there, which is worked again after it.

    Args:
        rows: the steps in working order.
        ids: theirs, "" where there is none.
    """

    def __init__(self, rows: Sequence[Row], ids: list[str]) -> None:
        self._rows = rows
        self._ids = ids
        self._plain = not any("aside" in row.raw for row in rows)
        self._seen: dict[str, tuple[dict[int, int], list[str]]] = {}

    def __call__(self, here: int) -> tuple[int, list[str]]:
        """(its position in the order that the step at position `here` meets, the ids of that order)."""
        if self._plain:
            return here, self._ids
        aside = self._rows[here].raw.get("aside") or ""
        key = aside if isinstance(aside, str) else ""
        if key not in self._seen:
            self._seen[key] = self._order(aside)
        places, ids = self._seen[key]
        return (places[here], ids) if here in places else (here, self._ids)

    def _order(self, aside: object) -> tuple[dict[int, int], list[str]]:
        rows = self._rows
        line = [i for i, row in enumerate(rows) if not row.raw.get("aside")]
        if aside:
            senders = [n for n, i in enumerate(line) if rows[i].raw.get("remedy") == aside]
            at = senders[0] if senders else len(line)
            line[at:at] = [i for i, row in enumerate(rows) if row.raw.get("aside") == aside]
        return {i: n for n, i in enumerate(line)}, [self._ids[i] for i in line]
