"""What no single step can show, whatever its kind: parts nobody renews, windows nobody keeps, things that stay off.

What concerns the steps of one kind alone is looked at by the kind itself (`Form.check`).
"""

from __future__ import annotations

from difflib import get_close_matches

from bayvoice.procedure.amounts import written
from bayvoice.procedure.mistakes import Notes, quoted
from bayvoice.procedure.model import Procedure
from bayvoice.procedure.places import Path
from bayvoice.procedure.supplies import renewed
from bayvoice.procedure.timeline import too_short, waits_of


def check(notes: Notes, procedure: Procedure, places: tuple[Path, ...]) -> None:
    """Note what is wrong between the steps. `places`: where in the file each step stands."""
    _one_use(notes, procedure)
    _windows(notes, procedure, places)
    _put_back(notes, procedure, places)
    _times(notes, procedure, places)


def _one_use(notes: Notes, procedure: Procedure) -> None:
    ids = [part.id for part in procedure.parts]
    known = set(renewed(procedure))
    known |= {near for part in known if part not in ids for near in get_close_matches(part[:80], ids, n=1)}
    for place, part in enumerate(procedure.parts):
        if part.one_use and part.id and part.id not in known:
            what = f"the one-use part {quoted(part.id)} is never replaced"
            mend = f"add a step of kind replace with part = {quoted(part.id)}"
            notes.add(("part", place, "one_use"), what, mend)


def _windows(notes: Notes, procedure: Procedure, places: tuple[Path, ...]) -> None:
    """A wait inside a window that lasts as long as the window or longer makes it impossible to keep."""
    waits = waits_of(procedure)
    windowed = any(wait.at_most is not None for _, wait in waits)
    index = {step.id: i for i, step in enumerate(procedure.steps)} if windowed else {}
    for here, window in waits:
        if window.at_most is None or window.closes not in index:
            continue
        end = index[window.closes]
        for at, wait in waits:
            if not here < at < end or wait.at_least is None or wait.at_least < window.at_most:
                continue
            if any(index.get(gate, end + 1) <= end for gate in wait.gates):
                inner = f"the wait {quoted(procedure.steps[at].id)} of {written(wait.at_least)}"
                what = f"the window of {written(window.at_most)} holds {inner}"
                notes.add((*places[here], "at_most"), what, "move one of them, or correct the times")


def _put_back(notes: Notes, procedure: Procedure, places: tuple[Path, ...]) -> None:
    """Whatever is taken off goes back, or a reason says why not; in an aside, before the aside ends."""
    off: dict[tuple[str, str], Path] = {}
    for place, step in zip(places, procedure.steps, strict=True):
        if not step.off and not step.puts_back:
            continue
        for thing in step.puts_back:
            if off.pop((step.aside, thing.lower()), None) is None:
                what = f"{quoted(thing)} is put back and was not taken off"
                notes.add((*place, "puts_back"), what, "name it in the off of the step that takes it off")
        for thing in step.off:
            key = (step.aside, thing.lower())
            if key in off:
                what = f"{quoted(thing)} is taken off a second time"
                notes.add((*place, "off"), what, "put it back first, or give the two things their own names")
            if not step.because:
                off[key] = place
    for (_, thing), place in off.items():
        what = f"{quoted(thing)} is taken off and never goes back"
        mend = 'say how with [[step.back]] and a later way_back step, or why not with back = "none" and because'
        notes.add((*place, "off"), what, mend)


def _times(notes: Notes, procedure: Procedure, places: tuple[Path, ...]) -> None:
    """A window that the work inside it, by the steps' own times, does not fit into."""
    if all(step.takes is None for step in procedure.steps):
        return
    for at, wait, needed in too_short(procedure):
        what = f"the steps up to {quoted(wait.closes)} take {written(needed)}"
        mend = "correct takes or at_most, or move steps before the wait"
        notes.add((*places[at], "at_most"), f"the window is {written(wait.at_most or 0)} and {what}", mend)
