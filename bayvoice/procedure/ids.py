"""Ids of the tables of a procedure file."""

from __future__ import annotations

import re

from bayvoice.procedure.fields import Table
from bayvoice.procedure.mistakes import quoted

_ID = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*")
_LONGEST_ID = 40


def raw_id(step: object) -> str:
    """The id of a table, "" where it has none that will do."""
    value = step.get("id") if isinstance(step, dict) else None
    return value if isinstance(value, str) and _ID.fullmatch(value) and len(value) <= _LONGEST_ID else ""


def slug(text: str) -> str:
    """An id made of any text; may be empty."""
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-").lstrip("0123456789-")[:_LONGEST_ID].strip("-")


def read_id(table: Table) -> str:
    """The table's id; noted where it is missing or malformed."""
    value = table.raw.get("id")
    if value is None:
        table.missing("id")
    elif not isinstance(value, str) or not _ID.fullmatch(value) or len(value) > _LONGEST_ID:
        better = slug(value) if isinstance(value, str) else ""
        mend = f"write {quoted(better)}" if better else 'write it like "drain-oil"'
        rule = f"small letters, digits and hyphens, letter first, at most {_LONGEST_ID}"
        table.wrong("id", f"{quoted(value)} is not an id: {rule}", mend)
    else:
        return value
    return ""


def unique(tables: list[Table], of: str) -> list[str]:
    """The ids of `tables`, each noted that is there a second time."""
    ids: list[str] = []
    seen: set[str] = set()
    for table in tables:
        found = read_id(table)
        if found and found in seen:
            table.wrong("id", f"another {of} has the id {quoted(found)} already", "give each its own id")
        ids.append(found)
        seen.add(found)
    return ids
