"""What no single step can show: counts that stay open, one-use parts nobody renews, windows that cannot be kept."""

from __future__ import annotations

from difflib import get_close_matches

from bayvoice.procedure.amounts import written
from bayvoice.procedure.mistakes import Notes, quoted
from bayvoice.procedure.model import Procedure, Replace, Tally, Wait


def check(notes: Notes, procedure: Procedure, positions: tuple[int, ...]) -> None:
    """Note what is wrong between the steps. `positions`: place in the file of each step that could be read."""
    _tallies(notes, procedure, positions)
    _one_use(notes, procedure)
    _windows(notes, procedure, positions)


def _tallies(notes: Notes, procedure: Procedure, positions: tuple[int, ...]) -> None:
    opened: dict[str, int] = {}
    if any(isinstance(step.detail, Tally) and not step.detail.opening for step in procedure.steps):
        return
    for place, step in zip(positions, procedure.steps, strict=True):
        if not isinstance(step.detail, Tally):
            continue
        opening, path = step.detail.opening, ("step", place)
        if step.detail.close and opened.pop(opening, None) is None:
            notes.add((*path, "close"), f"the count of {quoted(opening)} is closed and was not opened",
                      "open it in an earlier tally step with the same opening")  # fmt: skip
        elif not step.detail.close and opening in opened:
            notes.add((*path, "opening"), f"the count of {quoted(opening)} is opened while it is open",
                      "close it first with close = true")  # fmt: skip
        elif not step.detail.close:
            opened[opening] = place
    for opening, place in opened.items():
        notes.add(("step", place, "opening"), f"the count of {quoted(opening)} is never closed",
                  "add a tally step with the same opening and close = true")  # fmt: skip


def _one_use(notes: Notes, procedure: Procedure) -> None:
    ids = [part.id for part in procedure.parts]
    renewed = {step.detail.part for step in procedure.steps if isinstance(step.detail, Replace)}
    renewed |= {near for part in renewed if part not in ids for near in get_close_matches(part[:80], ids, n=1)}
    for place, part in enumerate(procedure.parts):
        if part.one_use and part.id and part.id not in renewed:
            notes.add(("part", place, "one_use"), f"the one-use part {quoted(part.id)} is never replaced",
                      f"add a step of kind replace with part = {quoted(part.id)}")  # fmt: skip


def _windows(notes: Notes, procedure: Procedure, positions: tuple[int, ...]) -> None:
    """A wait inside a window that lasts as long as the window or longer makes it impossible to keep."""
    index = {step.id: i for i, step in enumerate(procedure.steps)}
    for here, step in enumerate(procedure.steps):
        window = step.detail
        if not isinstance(window, Wait) or window.at_most is None or window.closes not in index:
            continue
        end = index[window.closes]
        for inner in procedure.steps[here + 1 : end]:
            wait = inner.detail
            if not isinstance(wait, Wait) or wait.at_least is None or wait.at_least < window.at_most:
                continue
            if any(index.get(gate, end + 1) <= end for gate in wait.gates):
                notes.add(("step", positions[here], "at_most"),
                          f"the window of {written(window.at_most)} holds the wait {quoted(inner.id)} of "
                          f"{written(wait.at_least)}", "move one of them, or correct the times")  # fmt: skip
