"""tally: what goes into an opening is counted in, and counted out before it is closed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from bayvoice.procedure.fields import Table
from bayvoice.procedure.forms.shared import detail, details
from bayvoice.procedure.kind import Around, Form
from bayvoice.procedure.mistakes import Notes, quoted
from bayvoice.procedure.model import Group, Kind, Name, Passing, Procedure, Step, Tally
from bayvoice.procedure.places import Path
from bayvoice.procedure.remark import Remark
from bayvoice.procedure.spoken import unsayable


class TallyForm(Form):
    """Reads the opening, what may go in, and whether the count begins or ends."""

    word = Kind.TALLY
    keys = ("opening", "things", "close")
    telling = ("opening",)
    title = "counts"
    json_key = "counts"

    def read(self, table: Table, around: Around) -> Tally:
        """A counting step."""
        close = table.flag("close")
        opening = table.text("opening", required=True)
        things = table.texts("things")
        if close and table.has("things"):
            table.wrong("things", "things are named where the count closes", "name them where the count opens")
        if not close and not table.has("things"):
            table.wrong("things", '"things" is missing', "name what may go in, or write close = true")
        if not close and table.raw.get("things") == []:
            table.wrong("things", "no thing is named", "name what may go in")
        if len({thing.lower() for thing in things}) < len(things):
            table.wrong("things", "a thing is named twice", "name each once")
        return Tally(opening, things, close)

    def check(self, notes: Notes, procedure: Procedure, places: Sequence[Path]) -> None:
        """Every count is opened once, and closed."""
        counts = [(places[at], tally) for at, _, tally in details(procedure, self.word, Tally)]
        if any(not tally.opening for _, tally in counts):
            return
        opened: dict[str, Path] = {}
        for place, tally in counts:
            opening = tally.opening
            if tally.close and opened.pop(opening, None) is None:
                what = f"the count of {quoted(opening)} is closed and was not opened"
                notes.add((*place, "close"), what, "open it in an earlier tally step with the same opening")
            elif not tally.close and opening in opened:
                what = f"the count of {quoted(opening)} is opened while it is open"
                notes.add((*place, "opening"), what, "close it first with close = true")
            elif not tally.close:
                opened[opening] = place
        for opening, place in opened.items():
            what = f"the count of {quoted(opening)} is never closed"
            notes.add((*place, "opening"), what, "add a tally step with the same opening and close = true")

    def names(self, step: Step) -> Iterator[Name]:
        """The things."""
        for thing in detail(step, Tally).things:
            yield Name(Group.THINGS, "things", thing)

    def about(self, procedure: Procedure, step: Step) -> Iterator[Remark]:
        """Things that are no words; a guard that is written weaker than it is."""
        tally = detail(step, Tally)
        if step.pass_ is Passing.ALONE and tally.close:
            what = "a count with something left inside takes another person in any case"
            yield Remark(step.id, "pass", what, "take pass out")
        for thing in tally.things:
            yield from unsayable(step.id, "things", thing)

    def line(self, procedure: Procedure, step: Step) -> str:
        """What is counted in which opening."""
        tally = detail(step, Tally)
        return f"{tally.opening}, {'closed' if tally.close else 'opened: ' + ', '.join(tally.things)}"

    def row(self, procedure: Procedure, step: Step) -> dict[str, Any]:
        """The same for JSON."""
        tally = detail(step, Tally)
        return {"opening": tally.opening, "things": list(tally.things), "close": tally.close}
