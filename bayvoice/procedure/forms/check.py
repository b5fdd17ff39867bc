"""check: a question answered with yes or no."""

from __future__ import annotations

from collections.abc import Iterator

from bayvoice.procedure.fields import Table
from bayvoice.procedure.forms.shared import detail, read_remedy
from bayvoice.procedure.kind import Around, Form
from bayvoice.procedure.model import Check, Kind, Procedure, Step
from bayvoice.procedure.remark import Remark


class CheckForm(Form):
    """Reads the question, the answer that is in order, and where another one leads."""

    word = Kind.CHECK
    keys = ("ask", "want", "remedy", "tries")

    def read(self, table: Table, around: Around) -> Check:
        """A checking step."""
        want = table.choice("want", ("yes", "no"), default="yes", what="answer")
        return Check(table.text("ask", required=True), want != "no", *read_remedy(table))

    def sentences(self, step: Step) -> Iterator[tuple[str, str]]:
        """The question."""
        check = detail(step, Check)
        if check.ask:
            yield "ask", check.ask

    def remedy(self, step: Step) -> tuple[str, int]:
        """As the file says."""
        check = detail(step, Check)
        return check.remedy, check.tries

    def about(self, procedure: Procedure, step: Step) -> Iterator[Remark]:
        """A question that is none."""
        if not detail(step, Check).ask.endswith("?"):
            yield Remark(step.id, "ask", "the question has no question mark", "ask what is answered with yes or no")
