"""Procedure format 1: from the text of a TOML file to a `Procedure`, or to every mistake in it. Pure."""

from __future__ import annotations

import hashlib
import re
import tomllib
from collections.abc import Mapping
from pathlib import PurePath
from typing import Any, Final

from bayvoice.procedure import across, amounts, branches, heard, most
from bayvoice.procedure.fields import Table
from bayvoice.procedure.forms import FORMS
from bayvoice.procedure.gauges import read_gauges
from bayvoice.procedure.ids import raw_id, read_id, slug, unique
from bayvoice.procedure.kind import Form, Kinds
from bayvoice.procedure.memo import Memo
from bayvoice.procedure.mistakes import BadProcedure, Mistake, Notes, quoted
from bayvoice.procedure.model import Finding, Gauge, Item, Part, Passing, Procedure
from bayvoice.procedure.places import Path, line_numbers
from bayvoice.procedure.steps import read_cautions, read_passing, read_steps

LONGEST_FILE: Final = 2_000_000
"""Most bytes of a procedure file."""

TOP_KEYS: Final = (
    "format",
    "id",
    "title",
    "machine",
    "references",
    "caution",
    "part",
    "tool",
    "consumable",
    "gauge",
    "finding",
    "step",
)
_MOST_STOPS = 200  # the parser's time grows with the square of the parts of a dotted key,
_MOST_SQUARES = 4_000_000  # and with the sum of these over all lines
_MOST_FIGURES = 4300  # of a whole number; the interpreter reads no longer one
_LONG_NUMBER = re.compile(rf"[0-9_]{{{_MOST_FIGURES},}}")
_AT = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")


def load_text(text: str, name: str, kinds: Kinds[Form] = FORMS) -> Procedure:
    """The procedure that `text` describes.

    Args:
        text: the whole file.
        name: its file name, for messages; its stem is the id of a procedure that states none.
        kinds: the step kinds that are known.

    Raises:
        BadProcedure: the text is no procedure; carries every mistake found, in the order of the file.
    """
    return read_document(parse(text, name), line_numbers(_unmarked(text)), text, name, Memo(), kinds)


def load_kept(text: str, name: str, kinds: Kinds[Form] = FORMS) -> Procedure:
    """The procedure that a record holds, as `load_text`; what earlier versions wrote otherwise is read as well.

    A limit that begins with "=" ("= seal_drag + 6 N") is the sum of `low_from` or `high_from`.
    """
    document = parse(text, name)
    steps = document.get("step")
    for step in steps if isinstance(steps, list) else []:
        for raw in (step, *_listed(step, "back")):
            for side in ("low", "high"):
                written = raw.get(side) if isinstance(raw, dict) else None
                if isinstance(written, str) and written.lstrip().startswith("=") and f"{side}_from" not in raw:
                    raw[f"{side}_from"] = raw.pop(side).strip().removeprefix("=").strip()
    return read_document(document, line_numbers(_unmarked(text)), text, name, Memo(), kinds)


def _listed(raw: Any, key: str) -> list[Any]:
    found = raw.get(key) if isinstance(raw, dict) else None
    return found if isinstance(found, list) else []


def read_document(
    document: dict[str, Any], lines: Mapping[Path, int], text: str, name: str, memo: Memo, kinds: Kinds[Form] = FORMS
) -> Procedure:
    """The procedure in a parsed TOML document.

    Args:
        document: the whole document.
        lines: line of each table and key in `text`.
        text, name, kinds: as for `load_text`.
        memo: what was read before of the same tables.

    Raises:
        BadProcedure: as `load_text`.
    """
    raw_steps = document.get("step")
    raw_steps = raw_steps if isinstance(raw_steps, list) else []
    notes = Notes(name, lines, _Names(raw_steps))
    top = Table(notes, (), document)
    _check_format(top, name)
    most.check(notes, document, memo)
    top.allow(TOP_KEYS)
    parts = _parts(top)
    steps, places = read_steps(top, parts, memo, kinds)
    most.check_steps(notes, len(steps))
    procedure = Procedure(
        id=read_id(top) if top.has("id") else _id_of_name(top, name),
        title=top.text("title", required=True),
        machine=top.text("machine", required=True),
        references=top.texts("references"),
        cautions=read_cautions(top),
        parts=tuple(parts),
        tools=_items(top, "tool"),
        consumables=_items(top, "consumable", ("batch", "shelf_life")),
        findings=_findings(top),
        gauges=_gauges(top),
        steps=steps,
        text=text,
        sha256=hashlib.sha256(text.encode("utf-8")).hexdigest(),
        kinds=kinds,
    )
    across.check(notes, procedure, places)
    branches.check(notes, procedure, places)
    for form in kinds.values():
        form.check(notes, procedure, places)
    heard.check(notes, procedure, places)
    notes.raise_if_any()
    return procedure


class _Names:
    """What each step of the file is called in a message."""

    def __init__(self, raw_steps: list[Any]) -> None:
        self._raw_steps = raw_steps

    def __getitem__(self, number: int) -> str:
        return raw_id(self._raw_steps[number]) or f"number {number + 1}"


def _unmarked(text: str) -> str:
    return text.removeprefix("\ufeff").replace("\r\n", "\n")


def parse(text: str, name: str) -> dict[str, Any]:
    """The TOML document in `text`, numbers with their digits. BadProcedure: it is none, or too large or too deep."""

    def refuse(what: str, mend: str, line: int | None = None) -> BadProcedure:
        return BadProcedure([Mistake(name, "", "", what, mend, line)])

    if not text.strip():
        raise refuse("the file is empty", 'begin it with format = 1 and title = "..."')
    if len(text) > LONGEST_FILE:
        raise refuse("the file is longer than 2 MB", "give the file of one procedure")
    if not text.isascii() and any("\ud800" <= c <= "\udfff" for c in text):
        raise refuse("the text holds half a character (a surrogate)", "save it as UTF-8")
    stops = [line.count(".") for line in text.split("\n")]
    if max(stops) > _MOST_STOPS:
        full = next(i for i, count in enumerate(stops, 1) if count > _MOST_STOPS)
        raise refuse(f"the line has more than {_MOST_STOPS} full stops", "break it into several lines", full)
    if sum(count * count for count in stops) > _MOST_SQUARES:
        raise refuse("too many lines are full of full stops", "break them into several lines")
    try:
        return tomllib.loads(_unmarked(text), parse_float=amounts.to_float)
    except RecursionError:
        raise refuse("lists or tables are nested too deep", "write them flat") from None
    except ValueError as why:
        message = str(why)
        long = _LONG_NUMBER.search(text) if message.startswith("Exceeds the limit") else None
        if long is not None:
            where = text.count("\n", 0, long.start()) + 1
            raise refuse(f"a number has more than {_MOST_FIGURES} figures", "correct it", where) from None
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
        what, mend = f"format {quoted(value)} is not known to this version", "read it with a later version"
        raise BadProcedure([Mistake(name, "", "format", what, f"write format = 1, or {mend}")])


def _id_of_name(top: Table, name: str) -> str:
    made = slug(PurePath(name).stem)
    if not made:
        top.wrong("id", f"the file name {quoted(name)} gives no id", 'add id = "..."')
    return made


def _parts(top: Table) -> list[Part]:
    tables = top.tables("part")
    parts = []
    for table, part_id in zip(tables, unique(tables, "part"), strict=True):
        table.allow(("id", "name", "number", "quantity", "one_use", "batch"))
        name, number = table.text("name", required=True), table.text("number")
        quantity = table.whole("quantity", 1, 9999, default=1) or 1
        parts.append(Part(part_id, name, number, quantity, table.flag("one_use"), table.flag("batch")))
    return parts


def _items(top: Table, key: str, flags: tuple[str, ...] = ()) -> tuple[Item, ...]:
    tables = top.tables(key)
    items = []
    for table, item_id in zip(tables, unique(tables, key), strict=True):
        table.allow(("id", "name", "quantity", *flags))
        written = table.raw.get("quantity")
        whole = isinstance(written, int) and not isinstance(written, bool)
        name = table.text("name", required=True)
        quantity = str(written) if whole else table.text("quantity")
        items.append(Item(item_id, name, quantity, *(table.flag(flag) for flag in flags)))
    return tuple(items)


def _gauges(top: Table) -> tuple[Gauge, ...]:
    tables = top.tables("gauge")
    return read_gauges(tables, unique(tables, "gauge"))


def _findings(top: Table) -> tuple[Finding, ...]:
    findings = []
    for table in top.tables("finding"):
        table.allow(("say", "to", "stop", "steps", "pass"))
        stop = table.flag("stop")
        passing = read_passing(table, (Passing.SECOND, Passing.NOBODY))
        if table.has("pass") and not stop:
            table.wrong("pass", "the finding stops nothing, so there is nothing to pass", "take pass out")
        findings.append(
            Finding(
                table.text("say", required=True),
                table.text("to"),
                stop,
                table.texts("steps"),
                passing or Passing.SECOND,
            )
        )
    return tuple(findings)
