"""hold: somebody else looks and signs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from bayvoice.procedure.fields import Table
from bayvoice.procedure.forms.shared import detail, details
from bayvoice.procedure.kind import Around, Form
from bayvoice.procedure.mistakes import Notes, quoted, suggest
from bayvoice.procedure.model import FOREMAN, Group, Hold, Kind, Name, Passing, Procedure, Step
from bayvoice.procedure.places import Path
from bayvoice.procedure.remark import Remark


class HoldForm(Form):
    """Reads what is looked at, by whom, and until when it may stay open."""

    word = Kind.HOLD
    keys = ("look", "who", "until")
    title = "holds"
    json_key = "holds"

    def read(self, table: Table, around: Around) -> Hold:
        """A hold point."""
        who = table.text("who", default=FOREMAN)
        return Hold(table.text("look", required=True), who, table.text("until"))

    def check(self, notes: Notes, procedure: Procedure, places: Sequence[Path]) -> None:
        """A hold that is left open is signed before a later step."""
        left_open = [(at, step, hold) for at, step, hold in details(procedure, self.word, Hold) if hold.until]
        index = {step.id: i for i, step in enumerate(procedure.steps)} if left_open else {}
        for here, step, hold in left_open:
            path, until = (*places[here], "until"), hold.until
            if until not in index:
                mend = suggest(until, filter(None, index), "name a later step")
                notes.add(path, f"no step has the id {quoted(until)}", mend)
            elif index[until] <= here or procedure.steps[index[until]].aside != step.aside:
                what = f"until names the step {quoted(until)}, which does not come after the hold"
                notes.add(path, what, "name a later step")

    def sentences(self, step: Step) -> Iterator[tuple[str, str]]:
        """What is looked at."""
        yield "look", detail(step, Hold).look

    def names(self, step: Step) -> Iterator[Name]:
        """The role that may sign."""
        yield Name(Group.ROLES, "who", detail(step, Hold).who)

    def about(self, procedure: Procedure, step: Step) -> Iterator[Remark]:
        """A guard that is written weaker than it is."""
        if step.pass_ is Passing.ALONE:
            yield Remark(step.id, "pass", "a hold point takes another person in any case", "take pass out")

    def line(self, procedure: Procedure, step: Step) -> str:
        """Who looks at what."""
        hold = detail(step, Hold)
        later = f", may be left open until {hold.until}" if hold.until else ""
        return f"{hold.who}: {hold.look}{later}"

    def row(self, procedure: Procedure, step: Step) -> dict[str, Any]:
        """The same for JSON."""
        hold = detail(step, Hold)
        return {"look": hold.look, "who": hold.who, "until": hold.until}
