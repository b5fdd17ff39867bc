"""Ways off the line: remedies, asides, findings and open holds. Every branch is entered, ends and comes back."""

from __future__ import annotations

from itertools import groupby

from bayvoice.procedure.mistakes import Notes, quoted, suggest
from bayvoice.procedure.model import Check, Hold, Kind, Measure, Procedure, Step
from bayvoice.procedure.places import Path


def check(notes: Notes, procedure: Procedure, places: tuple[Path, ...]) -> None:
    """Note what is wrong with the branches. `places`: where in the file each step stands."""
    asides = _asides(notes, procedure, places)
    entered = _remedies(notes, procedure, places, asides) | _findings(notes, procedure, asides)
    for name, (place, _) in asides.items():
        if name not in entered:
            notes.add((*place, "aside"), f"nothing leads to the aside {quoted(name)}",
                      "name it as the remedy of a check or a measurement, or in a [[finding]]")  # fmt: skip
    _circles(notes, asides)
    _holds(notes, procedure, places)


def remedy_of(step: Step) -> str:
    """The aside a step goes to when its answer is not in order, "" for none."""
    return step.detail.remedy if isinstance(step.detail, (Check, Measure)) else ""


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
            notes.add((*steps[0][0], "aside"), f"the steps of the aside {quoted(name)} do not stand together",
                      "move them together")  # fmt: skip
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
    for at in sorted((*procedure.of_kind(Kind.CHECK), *procedure.of_kind(Kind.MEASURE))):
        place, remedy = places[at], remedy_of(procedure.steps[at])
        if remedy and remedy not in asides:
            notes.add((*place, "remedy"), f"no step has aside = {quoted(remedy)}",
                      suggest(remedy, asides, "write the steps of the remedy, each with that aside"))  # fmt: skip
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
            notes.add((*path, "to"), f"no step has aside = {quoted(finding.to)}",
                      suggest(finding.to, asides, "write the steps it leads to, each with that aside"))  # fmt: skip
        for name in finding.steps:
            if name not in ids:
                notes.add((*path, "steps"), f"no step has the id {quoted(name)}",
                          suggest(name, filter(None, ids), "name the steps it may be found in"))  # fmt: skip
        if finding.say.lower() in said:
            notes.add((*path, "say"), f"another finding is called {quoted(finding.say)}", "give each its own words")
        said.add(finding.say.lower())
        entered.add(finding.to)
    return entered


def _circles(notes: Notes, asides: dict[str, tuple[Path, list[Step]]]) -> None:
    """An aside that leads back into itself would never come back."""
    leads = {name: {remedy_of(step) for step in steps} & set(asides) for name, (_, steps) in asides.items()}
    for name, (place, _) in asides.items():
        seen: set[str] = set()
        todo = list(leads[name])
        while todo:
            one = todo.pop()
            if one not in seen:
                seen.add(one)
                todo.extend(leads[one])
        if name in seen:
            notes.add((*place, "aside"), f"the aside {quoted(name)} leads back into itself and never ends",
                      "name another remedy inside it, or none")  # fmt: skip


def _holds(notes: Notes, procedure: Procedure, places: tuple[Path, ...]) -> None:
    holds = [(at, procedure.steps[at].detail) for at in procedure.of_kind(Kind.HOLD)]
    open_ones = [(at, detail.until) for at, detail in holds if isinstance(detail, Hold) and detail.until]
    index = {step.id: i for i, step in enumerate(procedure.steps)} if open_ones else {}
    for here, until in open_ones:
        place, step = places[here], procedure.steps[here]
        if until not in index:
            notes.add((*place, "until"), f"no step has the id {quoted(until)}",
                      suggest(until, filter(None, index), "name a later step"))  # fmt: skip
        elif index[until] <= here or procedure.steps[index[until]].aside != step.aside:
            notes.add((*place, "until"), f"until names the step {quoted(until)}, which does not come after the hold",
                      "name a later step")  # fmt: skip
