"""Ways off the line: remedies, asides and findings. Every branch is entered, ends and comes back."""

from __future__ import annotations

from itertools import groupby

from bayvoice.procedure.kind import kinds_of
from bayvoice.procedure.mistakes import Notes, quoted, suggest
from bayvoice.procedure.model import Procedure, Step
from bayvoice.procedure.places import Path


def check(notes: Notes, procedure: Procedure, places: tuple[Path, ...]) -> None:
    """Note what is wrong with the branches. `places`: where in the file each step stands."""
    asides = _asides(notes, procedure, places)
    entered = _remedies(notes, procedure, places, asides) | _findings(notes, procedure, asides)
    for name, (place, _) in asides.items():
        if name not in entered:
            mend = "name it as the remedy of a check or a measurement, or in a [[finding]]"
            notes.add((*place, "aside"), f"nothing leads to the aside {quoted(name)}", mend)
    _circles(notes, procedure, asides)


def _asides(notes: Notes, procedure: Procedure, places: tuple[Path, ...]) -> dict[str, tuple[Path, list[Step]]]:
    """Name -> (place of its first step, its steps)."""
    asides: dict[str, tuple[Path, list[Step]]] = {}
    if not any(step.aside for step in procedure.steps):
        return asides
    rows = zip(places, procedure.steps, strict=True)
    for name, group in groupby(rows, key=lambda row: row[1].aside):
        steps = list(group)
        if not name:
            continue
        if name in asides:
            what = f"the steps of the aside {quoted(name)} do not stand together"
            notes.add((*steps[0][0], "aside"), what, "move them together")
            asides[name][1].extend(step for _, step in steps)
        else:
            asides[name] = (steps[0][0], [step for _, step in steps])
    if procedure.steps and all(step.aside for step in procedure.steps):
        notes.add(("step",), "every step belongs to an aside", "take aside out of the steps of the line")
    return asides


def _remedies(
    notes: Notes, procedure: Procedure, places: tuple[Path, ...], asides: dict[str, tuple[Path, list[Step]]]
) -> set[str]:
    entered = set()
    kinds = kinds_of(procedure)
    for place, step in zip(places, procedure.steps, strict=True):
        remedy, _ = kinds[step.kind].remedy(step)
        if remedy and remedy not in asides:
            mend = suggest(remedy, asides, "write the steps of the remedy, each with that aside")
            notes.add((*place, "remedy"), f"no step has aside = {quoted(remedy)}", mend)
        elif remedy:
            entered.add(remedy)
    return entered


def _findings(notes: Notes, procedure: Procedure, asides: dict[str, tuple[Path, list[Step]]]) -> set[str]:
    entered = set()
    ids = {step.id for step in procedure.steps}
    said: set[str] = set()
    for number, finding in enumerate(procedure.findings):
        path: Path = ("finding", number)
        if bool(finding.to) == finding.stop:
            what = "the finding both stops and branches" if finding.stop else "the finding leads nowhere"
            notes.add(path, what, 'write to = "name of an aside" or stop = true')
        if finding.to and finding.to not in asides:
            mend = suggest(finding.to, asides, "write the steps it leads to, each with that aside")
            notes.add((*path, "to"), f"no step has aside = {quoted(finding.to)}", mend)
        for name in finding.steps:
            if name not in ids:
                mend = suggest(name, filter(None, ids), "name the steps it may be found in")
                notes.add((*path, "steps"), f"no step has the id {quoted(name)}", mend)
        if finding.say.lower() in said:
            notes.add((*path, "say"), f"another finding is called {quoted(finding.say)}", "give each its own words")
        said.add(finding.say.lower())
        entered.add(finding.to)
    return entered


def _circles(notes: Notes, procedure: Procedure, asides: dict[str, tuple[Path, list[Step]]]) -> None:
    """An aside that leads back into itself would never come back."""
    kinds = kinds_of(procedure)
    leads = {
        name: {kinds[step.kind].remedy(step)[0] for step in steps} & set(asides) for name, (_, steps) in asides.items()
    }
    for name, (place, _) in asides.items():
        seen: set[str] = set()
        todo = list(leads[name])
        while todo:
            one = todo.pop()
            if one not in seen:
                seen.add(one)
                todo.extend(leads[one])
        if name in seen:
            what = f"the aside {quoted(name)} leads back into itself and never ends"
            notes.add((*place, "aside"), what, "name another remedy inside it, or none")
