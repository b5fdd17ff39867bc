"""How `bayvoice vet` shows each thing of a procedure: a line for a reader, a table for JSON."""

from __future__ import annotations

from typing import Any

from bayvoice.procedure.kind import Listing, form_of, kinds_of, placed
from bayvoice.procedure.mistakes import quoted
from bayvoice.procedure.model import Passing, Procedure
from bayvoice.procedure.supplies import Need


def listings(procedure: Procedure) -> list[Listing]:
    """What each kind shows of its steps, in the order in which it is shown."""
    forms = sorted(kinds_of(procedure).values(), key=lambda form: not form.early)
    return [each for form in forms for each in form.groups(procedure, placed(procedure, form.word))]


def need_line(need: Need) -> str:
    """One line of the list before the job."""
    number = f" ({need.number})" if need.number else ""
    spare = f", and {need.spare} more where a remedy is needed" if need.spare else ""
    return f"{need.name}{number}: {need.quantity or 'as needed'}{spare}"


def need_dict(need: Need) -> dict[str, Any]:
    """Quantities as texts, "" where nothing says how much."""
    return {
        "item": need.item,
        "name": need.name,
        "number": need.number,
        "quantity": need.quantity,
        "spare": need.spare,
        "part": need.part,
    }


def way_back(procedure: Procedure) -> list[dict[str, Any]]:
    """Each thing that is taken off, in that order: by which step, put back by which steps, or why not."""
    returns: dict[tuple[str, str], list[int]] = {}
    origins: dict[str, list[int]] = {}
    for at, step in enumerate(procedure.steps, 1):
        for thing in step.puts_back:
            returns.setdefault((step.aside, thing.lower()), []).append(at)
        if step.origin:
            origins.setdefault(step.origin, []).append(at)
    rows: list[dict[str, Any]] = []
    for at, step in enumerate(procedure.steps, 1):
        for thing in step.off:
            # A thing may come off twice in a job: it goes back with the first step after this one that says so.
            ends = [] if step.because else returns.get((step.aside, thing.lower()), [])
            end = next((n for n in ends if n > at), 0)
            same = origins.get(procedure.steps[end - 1].origin, []) if end else []
            back = [n for n in same if at < n <= end] or [end] * bool(end)
            ways = [{"at": n, "step": procedure.steps[n - 1].id} for n in back]
            rows.append({"thing": thing, "at": at, "step": step.id, "because": step.because, "back": ways})
    return rows


def way_back_line(row: dict[str, Any]) -> str:
    """One thing and its way back."""
    off = f"{row['thing']}: off in {row['at']} {row['step']}"
    if row["because"]:
        return f"{off}, never back: {row['because']}"
    back = ", ".join(f"{each['at']} {each['step']}" for each in row["back"])
    return f"{off}, back in {back}"


def branches(procedure: Procedure) -> list[dict[str, Any]]:
    """Each way off the line: from where, into which steps, how often at most."""
    rows: list[dict[str, Any]] = []
    for at, step in enumerate(procedure.steps, 1):
        name, tries = form_of(procedure, step).remedy(step)
        if name:
            ids = [procedure.steps[i].id for i in procedure.aside(name)]
            rows.append({"at": at, "step": step.id, "to": name, "steps": ids, "tries": tries})
    return rows


def branch_line(row: dict[str, Any]) -> str:
    """One branch."""
    return (
        f"{row['at']}. {row['step']} not in order: {row['to']} ({', '.join(row['steps'])}), then again, at most "
        f"{row['tries']} times"
    )


def passing(procedure: Procedure) -> list[dict[str, Any]]:
    """Steps whose guard the technician may not pass alone, and findings nobody may let go on; own reasons besides."""
    rows: list[dict[str, Any]] = [
        {"at": at, "step": step.id, "finding": "", "pass": step.passing.value, "reasons": list(step.reasons)}
        for at, step in enumerate(procedure.steps, 1)
        if step.passing is not Passing.ALONE or step.reasons
    ]
    return rows + [
        {"at": 0, "step": "", "finding": finding.say, "pass": finding.passing.value, "reasons": []}
        for finding in procedure.findings
        if finding.stop
    ]


def passing_line(row: dict[str, Any]) -> str:
    """One guard and who may pass it."""
    what = f"finding {quoted(row['finding'])}" if row["finding"] else f"{row['at']}. {row['step']}"
    who = "a second person" if row["pass"] == "second" else row["pass"]
    reasons = f", own reasons: {', '.join(row['reasons'])}" if row["reasons"] else ""
    return f"{what}: {who}{reasons}"


def finding_rows(procedure: Procedure) -> list[dict[str, Any]]:
    """Each finding: its words, where it leads, in which steps."""
    return [{"say": f.say, "to": f.to, "stop": f.stop, "steps": list(f.steps)} for f in procedure.findings]


def finding_line(row: dict[str, Any]) -> str:
    """One finding."""
    where = f" in {', '.join(row['steps'])}" if row["steps"] else ""
    return f'"{row["say"]}"{where}: {"stop" if row["stop"] else row["to"]}'
