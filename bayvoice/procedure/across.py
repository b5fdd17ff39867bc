"""What no single step can show: counts that stay open, one-use parts nobody renews, windows that cannot be kept."""

from __future__ import annotations

from difflib import get_close_matches

from bayvoice.procedure.amounts import written
from bayvoice.procedure.mistakes import Notes, quoted
from bayvoice.procedure.model import Kind, Procedure, Replace, Tally, Wait
from bayvoice.procedure.places import Path
from bayvoice.procedure.timeline import too_short


def check(notes: Notes, procedure: Procedure, places: tuple[Path, ...]) -> None:
    """Note what is wrong between the steps. `places`: where in the file each step stands."""
    _tallies(notes, procedure, places)
    _one_use(notes, procedure)
    _windows(notes, procedure, places)
    _put_back(notes, procedure, places)
    _times(notes, procedure, places)


def _tallies(notes: Notes, procedure: Procedure, places: tuple[Path, ...]) -> None:
    opened: dict[str, Path] = {}
    counts = [(places[at], procedure.steps[at]) for at in procedure.of_kind(Kind.TALLY)]
    if any(isinstance(step.detail, Tally) and not step.detail.opening for _, step in counts):
        return
    for place, step in counts:
        if not isinstance(step.detail, Tally):
            continue
        opening = step.detail.opening
        if step.detail.close and opened.pop(opening, None) is None:
            notes.add((*place, "close"), f"the count of {quoted(opening)} is closed and was not opened",
                      "open it in an earlier tally step with the same opening")  # fmt: skip
        elif not step.detail.close and opening in opened:
            notes.add((*place, "opening"), f"the count of {quoted(opening)} is opened while it is open",
                      "close it first with close = true")  # fmt: skip
        elif not step.detail.close:
            opened[opening] = place
    for opening, place in opened.items():
        notes.add((*place, "opening"), f"the count of {quoted(opening)} is never closed",
                  "add a tally step with the same opening and close = true")  # fmt: skip


def _one_use(notes: Notes, procedure: Procedure) -> None:
    ids = [part.id for part in procedure.parts]
    details = [procedure.steps[at].detail for at in procedure.of_kind(Kind.REPLACE)]
    renewed = {detail.part for detail in details if isinstance(detail, Replace)}
    renewed |= {near for part in renewed if part not in ids for near in get_close_matches(part[:80], ids, n=1)}
    for place, part in enumerate(procedure.parts):
        if part.one_use and part.id and part.id not in renewed:
            notes.add(("part", place, "one_use"), f"the one-use part {quoted(part.id)} is never replaced",
                      f"add a step of kind replace with part = {quoted(part.id)}")  # fmt: skip


def _windows(notes: Notes, procedure: Procedure, places: tuple[Path, ...]) -> None:
    """A wait inside a window that lasts as long as the window or longer makes it impossible to keep."""
    waits = [(at, procedure.steps[at]) for at in procedure.of_kind(Kind.WAIT)]
    windowed = any(isinstance(step.detail, Wait) and step.detail.at_most is not None for _, step in waits)
    index = {step.id: i for i, step in enumerate(procedure.steps)} if windowed else {}
    for here, step in waits:
        window = step.detail
        if not isinstance(window, Wait) or window.at_most is None or window.closes not in index:
            continue
        end = index[window.closes]
        for inner in procedure.steps[here + 1 : end]:
            wait = inner.detail
            if not isinstance(wait, Wait) or wait.at_least is None or wait.at_least < window.at_most:
                continue
            if any(index.get(gate, end + 1) <= end for gate in wait.gates):
                notes.add((*places[here], "at_most"),
                          f"the window of {written(window.at_most)} holds the wait {quoted(inner.id)} of "
                          f"{written(wait.at_least)}", "move one of them, or correct the times")  # fmt: skip


def _put_back(notes: Notes, procedure: Procedure, places: tuple[Path, ...]) -> None:
    """Whatever is taken off goes back, or a reason says why not; in an aside, before the aside ends."""
    off: dict[tuple[str, str], Path] = {}
    for place, step in zip(places, procedure.steps, strict=True):
        if not step.off and not step.puts_back:
            continue
        for thing in step.puts_back:
            if off.pop((step.aside, thing.lower()), None) is None:
                notes.add((*place, "puts_back"), f"{quoted(thing)} is put back and was not taken off",
                          "name it in the off of the step that takes it off")  # fmt: skip
        for thing in step.off:
            key = (step.aside, thing.lower())
            if key in off:
                notes.add((*place, "off"), f"{quoted(thing)} is taken off a second time",
                          "put it back first, or give the two things their own names")  # fmt: skip
            if not step.because:
                off[key] = place
    for (_, thing), place in off.items():
        notes.add((*place, "off"), f"{quoted(thing)} is taken off and never goes back",
                  'say how with [[step.back]] and a later way_back step, or why not with back = "none" and because',
                  )  # fmt: skip


def _times(notes: Notes, procedure: Procedure, places: tuple[Path, ...]) -> None:
    """A window that the work inside it, by the steps' own times, does not fit into."""
    if all(step.takes is None for step in procedure.steps):
        return
    for at, needed in too_short(procedure):
        wait = procedure.steps[at].detail
        if isinstance(wait, Wait) and wait.at_most is not None:
            notes.add((*places[at], "at_most"),
                      f"the window is {written(wait.at_most)} and the steps up to {quoted(wait.closes)} take "
                      f"{written(needed)}", "correct takes or at_most, or move steps before the wait")  # fmt: skip
