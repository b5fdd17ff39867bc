"""do: an act, done when the technician says so."""

from __future__ import annotations

from bayvoice.procedure.fields import Table
from bayvoice.procedure.kind import Around, Form
from bayvoice.procedure.model import Do, Kind


class DoForm(Form):
    """Has no keys of its own."""

    word = Kind.DO

    def read(self, table: Table, around: Around) -> Do:
        """Nothing to read."""
        return Do()
