"""Procedure format 1: from the text of a TOML file to a `Procedure`, or to every mistake in it. Pure."""

from __future__ import annotations

import hashlib
import re
import tomllib
from difflib import get_close_matches
from pathlib import PurePath
from typing import Any, Final

from bayvoice.procedure import across, amounts, branches, kinds, wayback
from bayvoice.procedure.fields import Table
from bayvoice.procedure.measures import check_measures, read_gauges
from bayvoice.procedure.mistakes import BadProcedure, Mistake, Notes, quoted
from bayvoice.procedure.model import Caution, Detail, Finding, Gauge, Item, Kind, Part, Procedure, Signal, Step
from bayvoice.procedure.places import Path, line_numbers
from bayvoice.procedure.supplies import read_uses
from bayvoice.procedure.waits import read_wait

LONGEST_FILE: Final = 2_000_000
"""Most bytes of a procedure file."""

TOP_KEYS: Final = (
    "format", "id", "title", "machine", "references", "caution", "part", "tool", "consumable", "gauge", "finding",
    "step",
)  # fmt: skip
SIGNAL_HELP: Final = (
    "write DANGER (death or serious injury will happen), WARNING (death or serious injury could happen), "
    "CAUTION (minor or moderate injury could happen) or NOTICE (damage, no injury)"
)
_ID = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*")
_LONGEST_ID = 40
_MOST_STOPS = 200  # the parser's time grows with the square of the parts of a dotted key
_AT = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")


def load_text(text: str, name: str) -> Procedure:
    """The procedure that `text` describes.

    Args:
        text: the whole file.
        name: its file name, for messages; its stem is the id of a procedure that states none.

    Raises:
        BadProcedure: the text is no procedure; carries every mistake found, in the order of the file.
    """
    document = _parse(text, name)
    raw_steps = document.get("step")
    raw_steps = raw_steps if isinstance(raw_steps, list) else []
    shown = tuple(_raw_id(step) or f"number {i}" for i, step in enumerate(raw_steps, 1))
    notes = Notes(name, line_numbers(_unmarked(text)), shown)
    top = Table(notes, (), document)
    _check_format(top, name)
    top.allow(TOP_KEYS)
    parts = _parts(top)
    steps, places = _steps(top, parts)
    procedure = Procedure(
        id=_id(top) if top.has("id") else _id_of_name(top, name),
        title=top.text("title", required=True),
        machine=top.text("machine", required=True),
        references=top.texts("references"),
        cautions=_cautions(top),
        parts=tuple(parts),
        tools=_items(top, "tool"),
        consumables=_items(top, "consumable", ("batch", "shelf_life")),
        findings=_findings(top),
        gauges=_gauges(top),
        steps=steps,
        text=text,
        sha256=hashlib.sha256(text.encode("utf-8")).hexdigest(),
    )
    across.check(notes, procedure, places)
    branches.check(notes, procedure, places)
    check_measures(notes, procedure, places)
    notes.raise_if_any()
    return procedure


def _unmarked(text: str) -> str:
    return text.removeprefix("\ufeff").replace("\r\n", "\n")


def _parse(text: str, name: str) -> dict[str, Any]:
    def refuse(what: str, mend: str, line: int | None = None) -> BadProcedure:
        return BadProcedure([Mistake(name, "", "", what, mend, line)])

    if not text.strip():
        raise refuse("the file is empty", 'begin it with format = 1 and title = "..."')
    if len(text) > LONGEST_FILE:
        raise refuse("the file is longer than 2 MB", "give the file of one procedure")
    if not text.isascii() and any("\ud800" <= c <= "\udfff" for c in text):
        raise refuse("the text holds half a character (a surrogate)", "save it as UTF-8")
    if any(line.count(".") > _MOST_STOPS for line in text.split("\n")):
        raise refuse(f"a line has more than {_MOST_STOPS} full stops", "break it into several lines")
    try:
        return tomllib.loads(_unmarked(text), parse_float=amounts.to_float)
    except RecursionError:
        raise refuse("lists or tables are nested too deep", "write them flat") from None
    except ValueError as why:
        message = str(why)
        at = _AT.search(message)
        line = (int(at[1]) if at[1] else text.count("\n") + 1) if at else None
        column = f" at column {at[2]}" if at and at[2] else ""
        what = f"not valid TOML{column}: {_plain(message[: at.start()] if at else message)}"
        raise refuse(what, "mend that line, or the one before it", line) from None


def _plain(message: str) -> str:
    """A parser's message on one line, without a full stop, nothing unseen in it."""
    text = " ".join("".join(c if c.isprintable() else " " for c in message[:200]).split()).rstrip(".")
    return text[:1].lower() + text[1:]


def _check_format(top: Table, name: str) -> None:
    value = top.raw.get("format")
    if value is None:
        top.wrong("format", '"format" is missing', "write format = 1 on the first line")
    elif isinstance(value, bool) or value != 1:
        mistake = Mistake(name, "", "format", f"format {quoted(value)} is not known to this version",
                          "write format = 1, or read it with a later version")  # fmt: skip
        raise BadProcedure([mistake])


def _raw_id(step: object) -> str:
    value = step.get("id") if isinstance(step, dict) else None
    return value if isinstance(value, str) and _ID.fullmatch(value) and len(value) <= _LONGEST_ID else ""


def _slug(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-").lstrip("0123456789-")[:_LONGEST_ID].strip("-")


def _id(table: Table) -> str:
    """The table's id; noted where it is missing or malformed."""
    value = table.raw.get("id")
    if value is None:
        table.missing("id")
    elif not isinstance(value, str) or not _ID.fullmatch(value) or len(value) > _LONGEST_ID:
        better = _slug(value) if isinstance(value, str) else ""
        mend = f"write {quoted(better)}" if better else 'write it like "drain-oil"'
        table.wrong("id", f"{quoted(value)} is not an id: small letters, digits and hyphens, letter first, at most "
                    f"{_LONGEST_ID}", mend)  # fmt: skip
    else:
        return value
    return ""


def _id_of_name(top: Table, name: str) -> str:
    made = _slug(PurePath(name).stem)
    if not made:
        top.wrong("id", f"the file name {quoted(name)} gives no id", 'add id = "..."')
    return made


def _unique(tables: list[Table], of: str) -> list[str]:
    """The ids of `tables`, each noted that is there a second time."""
    ids: list[str] = []
    seen: set[str] = set()
    for table in tables:
        found = _id(table)
        if found and found in seen:
            table.wrong("id", f"another {of} has the id {quoted(found)} already", "give each its own id")
        ids.append(found)
        seen.add(found)
    return ids


def _parts(top: Table) -> list[Part]:
    tables = top.tables("part")
    parts = []
    for table, part_id in zip(tables, _unique(tables, "part"), strict=True):
        table.allow(("id", "name", "number", "quantity", "one_use", "batch"))
        parts.append(Part(part_id, table.text("name", required=True), table.text("number"),
                          table.whole("quantity", 1, 9999, default=1) or 1, table.flag("one_use"),
                          table.flag("batch")))  # fmt: skip
    return parts


def _items(top: Table, key: str, flags: tuple[str, ...] = ()) -> tuple[Item, ...]:
    tables = top.tables(key)
    items = []
    for table, item_id in zip(tables, _unique(tables, key), strict=True):
        table.allow(("id", "name", "quantity", *flags))
        quantity = table.raw.get("quantity")
        whole = isinstance(quantity, int) and not isinstance(quantity, bool)
        items.append(Item(item_id, table.text("name", required=True),
                          str(quantity) if whole else table.text("quantity"),
                          *(table.flag(flag) for flag in flags)))  # fmt: skip
    return tuple(items)


def _gauges(top: Table) -> tuple[Gauge, ...]:
    tables = top.tables("gauge")
    return read_gauges(tables, _unique(tables, "gauge"))


def _findings(top: Table) -> tuple[Finding, ...]:
    findings = []
    for table in top.tables("finding"):
        table.allow(("say", "to", "stop", "steps"))
        findings.append(Finding(table.text("say", required=True), table.text("to"), table.flag("stop"),
                                table.texts("steps")))  # fmt: skip
    return tuple(findings)


def _cautions(table: Table) -> tuple[Caution, ...]:
    cautions = []
    for each in table.tables("caution", single=True):
        each.allow(("signal", "text"))
        word = each.choice("signal", [signal.value for signal in Signal], what="signal word", mend=SIGNAL_HELP)
        cautions.append(Caution(Signal(word or "NOTICE"), each.text("text", required=True)))
    return tuple(cautions)


def _steps(top: Table, parts: list[Part]) -> tuple[tuple[Step, ...], tuple[Path, ...]]:
    """The steps that could be read, in the order in which they are worked, and where in the file each stands."""
    found = top.tables("step")
    if not found and not top.raw.get("step"):
        top.wrong("step", "the procedure has no steps", "add the first with [[step]]")
    rows = wayback.rows(top.notes, found)
    tables = [Table(top.notes, row.path, row.raw) for row in rows]
    ids = [_raw_id(row.raw) for row in rows]
    known = {part.id: part for part in parts if part.id}
    supplies = [*known, *(_raw_id(each) for each in top.raw.get("consumable", []) if isinstance(each, dict))]
    read = []
    for here, (row, table, step_id) in enumerate(zip(rows, tables, _unique(tables, "step"), strict=True)):
        word = table.choice("kind", [kind.value for kind in Kind], what="kind of step")
        kinds.allow_keys(table, Kind(word) if word else None, going_back=len(row.path) > 2)
        kind = Kind(word) if word else _likely_kind(table)
        say = " ".join(table.text("say", required=True, lines=True).split())
        show = table.text("show", default=say, lines=True)
        if kind is Kind.WAIT:
            detail: Detail | None = read_wait(table, *wayback.seen_from(rows, ids, here))
        else:
            detail = kinds.read_detail(table, kind, known)
        cautions, takes, off = _cautions(table), table.duration("takes"), table.texts("off")
        puts_back, because, aside = table.texts("puts_back"), table.text("because"), table.text("aside")
        used = read_uses(table, supplies)
        if detail is not None:
            step = Step(step_id, kind, say, show, detail, cautions, takes, off, puts_back, row.origin, because, aside,
                        used)  # fmt: skip
            read.append((step, row.path))
    return tuple(step for step, _ in read), tuple(path for _, path in read)


def _likely_kind(table: Table) -> Kind:
    """For a step whose kind is no kind: the one that its word and its keys point to, so that its other keys are read
    too and no count or part seems to lack its step."""
    word = table.raw.get("kind")
    near = get_close_matches(word[:20].lower(), [kind.value for kind in Kind], n=1) if isinstance(word, str) else []
    if near and any(table.has(key) for key in kinds.KIND_KEYS[Kind(near[0])]):
        return Kind(near[0])
    return Kind.TALLY if table.has("opening") else Kind.REPLACE if table.has("part") else Kind.DO
