"""The steps in the order in which they are worked: each marker of a way back replaced by the steps that put back.

Works on the tables of the file before they are read, so that a step of the way back is read, checked and shown like
any other, and the rest of the product sees plain steps only.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from bayvoice.procedure.fields import Table
from bayvoice.procedure.mistakes import Notes, quoted, suggest
from bayvoice.procedure.places import Path

MARKER: Final = "way_back"
"""`kind` of the table that stands where the way back belongs."""

MARKER_KEYS: Final = ("kind", "of")
NEVER: Final = "none"
"""`back` of a step whose things never go back."""

_NOT_COPIED: Final = ("id", "say", "show", "undo", "off", "because", "back", "uses", "aside", "puts_back")
_LONGEST_STEM: Final = 33


@dataclass(frozen=True, slots=True)
class Row:
    """One step to be read. `path`: where it stands in the file. `origin`: id of the step it puts back, or ""."""

    path: Path
    raw: Mapping[str, Any]
    origin: str = ""

    @property
    def id(self) -> str:
        """Its id as written; "" where there is none."""
        value = self.raw.get("id")
        return value if isinstance(value, str) else ""


def rows(notes: Notes, tables: list[Table]) -> list[Row]:
    """The steps of the file in working order; what is wrong with their way back is noted.

    Order reversed, each with its own refitting details; steps without a way back are left out.
    """
    made: list[Row] = []
    waiting: list[Table] = []  # strip steps before here, not put back yet
    for table in tables:
        if table.raw.get("kind") == MARKER:
            table.allow(MARKER_KEYS)
            going = _range(table, waiting)
            made.extend(row for strip in reversed(going) for row in _back(strip))
            waiting = [each for each in waiting if each not in going]
            continue
        _check_keys(table)
        made.append(Row(table.path, table.raw))
        if not table.raw.get("aside"):
            waiting.append(table)
    for table in (each for each in tables if each.raw.get("kind") != MARKER):
        if (isinstance(table.raw.get("back"), list) or table.has("refit")) and (
            table in waiting or table.raw.get("aside")
        ):
            key = "back" if table.has("back") else "refit"
            table.wrong(key, "the way back of this step is never taken",
                        f'add a step with kind = "{MARKER}" after it')  # fmt: skip
    return made


def _range(marker: Table, waiting: list[Table]) -> list[Table]:
    """The steps the marker puts back, in strip-down order."""
    named = marker.texts("of")
    if not marker.has("of"):
        return list(waiting)
    if len(named) != 2:
        marker.wrong("of", "of does not name two steps", 'write of = ["first-id", "last-id"], or leave it out')
        return list(waiting)
    ids = [Row(table.path, table.raw).id for table in waiting]
    for name in named:
        if name not in ids:
            marker.wrong("of", f"{quoted(name)} is no step before the way back that is still to be put back",
                         suggest(name, filter(None, ids), "name a step before it"))  # fmt: skip
            return list(waiting)
    first, last = (ids.index(name) for name in named)
    if first > last:
        marker.wrong("of", "of names the later step first", "exchange the two")
        first, last = last, first
    return waiting[first : last + 1]


def _check_keys(table: Table) -> None:
    back, undo = table.raw.get("back"), table.raw.get("undo") is True
    if isinstance(back, str) and back != NEVER:
        table.wrong("back", f"{quoted(back)} is no way back",
                    f'write [[step.back]] tables, or back = "{NEVER}" with because')  # fmt: skip
    elif table.has("back") and not isinstance(back, (str, list)):
        table.wrong("back", "the way back is not a list of tables", "begin each of its steps with [[step.back]]")
    if back == NEVER and not table.has("because"):
        table.wrong("because", "nothing says why it never goes back", 'add because = "scrapped" or the like')
    if table.has("because") and back != NEVER:
        table.wrong("because", "because explains why something never goes back, and it does",
                    f'take it out, or write back = "{NEVER}"')  # fmt: skip
    if table.has("refit") and not undo:
        table.wrong("refit", "refit belongs to a step that loosens", "add undo = true, or write stages")
    elif table.has("refit") and table.has("back"):
        table.wrong("refit", "both refit and back say how it goes back", "keep one of them")


def _back(strip: Table) -> list[Row]:
    """The rows that put back what `strip` took off, in the order in which they are worked."""
    origin = Row(strip.path, strip.raw).id
    back = strip.raw.get("back")
    if isinstance(back, list):
        made = [dict(each.raw) for each in strip.tables("back")]
        paths: list[Path] = [(*strip.path, "back", i) for i in range(len(made))]
    elif strip.has("refit") and strip.raw.get("undo") is True:
        made = [{"say": _refit_say(strip), **{k: v for k, v in strip.raw.items() if k not in _NOT_COPIED}}]
        paths = [strip.path]
    else:
        return []
    for number, raw in enumerate(made, 1):
        stem = origin[:_LONGEST_STEM].rstrip("-")
        raw.setdefault("id", f"{stem}-back" if number == 1 else f"{stem}-back-{number}")
    if made:
        _repeat_cautions(strip, made[0])
        if not any("puts_back" in raw for raw in made) and strip.raw.get("off"):
            made[-1]["puts_back"] = strip.raw["off"]
    return [Row(path, raw, origin) for path, raw in zip(paths, made, strict=True)]


def _refit_say(strip: Table) -> str:
    name, count = strip.raw.get("name", "bolt"), strip.raw.get("count")
    if count == 1:
        return f"Fit the {name} and tighten it."
    return f"Fit the {count} {name}s and tighten them in the numbered order."


def _repeat_cautions(strip: Table, first: dict[str, Any]) -> None:
    """What was dangerous on the way off is dangerous on the way back: said before the first of its steps."""
    own = _listed(first.get("caution"))
    again = [each for each in _listed(strip.raw.get("caution")) if each not in own]
    if again or own:
        first["caution"] = [*again, *own]


def _listed(value: object) -> list[Any]:
    return value if isinstance(value, list) else [] if value is None else [value]


def seen_from(rows: list[Row], ids: list[str], here: int) -> tuple[int, list[str]]:
    """The order of steps as a wait at position `here` meets it: (its position in that order, the ids of it).

    Asides are no part of the line. Seen from an aside, its steps come just before the first step that sends the job
    there, which is worked again after it.
    """
    aside = rows[here].raw.get("aside", "")
    if not any(row.raw.get("aside") for row in rows):
        return here, ids
    line = [i for i, row in enumerate(rows) if not row.raw.get("aside")]
    if aside:
        senders = [n for n, i in enumerate(line) if rows[i].raw.get("remedy") == aside]
        at = senders[0] if senders else len(line)
        line[at:at] = [i for i, row in enumerate(rows) if row.raw.get("aside") == aside]
    return line.index(here), [ids[i] for i in line]
