"""together: several people move something at once."""

from __future__ import annotations

from collections.abc import Iterator

from bayvoice.procedure.fields import Table
from bayvoice.procedure.forms.shared import detail
from bayvoice.procedure.kind import Around, Form
from bayvoice.procedure.model import Kind, Step, Together


class TogetherForm(Form):
    """Reads how many people it takes, the beats before the move, and the question about its result."""

    word = Kind.TOGETHER
    keys = ("people", "beats", "ask")

    def read(self, table: Table, around: Around) -> Together:
        """A common move."""
        people, beats = table.whole("people", 2, 20, default=2), table.whole("beats", 0, 10, default=0)
        return Together(people or 2, beats or 0, table.text("ask"))

    def sentences(self, step: Step) -> Iterator[tuple[str, str]]:
        """The question."""
        together = detail(step, Together)
        if together.ask:
            yield "ask", together.ask
