"""replace: a one-use part of which a new one is fitted."""

from __future__ import annotations

from typing import Any

from bayvoice.procedure.fields import Table
from bayvoice.procedure.forms.shared import detail
from bayvoice.procedure.kind import Around, Form
from bayvoice.procedure.mistakes import quoted, suggest
from bayvoice.procedure.model import Kind, Procedure, Replace, Step


class ReplaceForm(Form):
    """Reads which part it is."""

    word = Kind.REPLACE
    keys = ("part",)
    telling = ("part",)
    title = "one-use parts"
    json_key = "one_use"

    def read(self, table: Table, around: Around) -> Replace:
        """A step that fits a new part."""
        part, parts = table.text("part", required=True), around.parts
        if part and part not in parts:
            table.wrong("part", f"no part has the id {quoted(part)}", suggest(part, parts, "add it as a [[part]]"))
        elif part and not parts[part].one_use:
            table.wrong("part", f"{quoted(part)} is not a one-use part", "write one_use = true in its [[part]]")
        return Replace(part)

    def renews(self, step: Step) -> str:
        """Its part."""
        return detail(step, Replace).part

    def line(self, procedure: Procedure, step: Step) -> str:
        """Name and number of the part."""
        part = procedure.part(self.renews(step))
        return f"{part.name}{f' ({part.number})' if part.number else ''}"

    def row(self, procedure: Procedure, step: Step) -> dict[str, Any]:
        """Id and name of the part."""
        part = self.renews(step)
        return {"part": part, "name": procedure.part(part).name}
