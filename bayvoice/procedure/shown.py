"""How `bayvoice vet` shows each thing of a procedure: a line for a reader, a table for JSON."""

from __future__ import annotations

from typing import Any

from bayvoice.procedure.amounts import written
from bayvoice.procedure.branches import remedy_of
from bayvoice.procedure.measures import ASK
from bayvoice.procedure.mistakes import quoted
from bayvoice.procedure.model import Check, Fasten, Gauge, Measure, Passing, Procedure, Replace, Tally, Wait
from bayvoice.procedure.supplies import Need


def wait_line(wait: Wait) -> str:
    """The window in words."""
    by_table = "by the table, " if wait.rows else ""
    limits = [
        f"{by_table}at least {written(wait.at_least)}" if wait.at_least is not None else "",
        f"{by_table}at most {written(wait.at_most)}" if wait.at_most is not None else "",
        _worked_out(wait),
        f"holds back {', '.join(wait.gates)}" if wait.gates else "",
        f"ends with {wait.closes}" if wait.closes else "",
        f"too late: {wait.recovery}" if wait.recovery else "",
        'starts on "go"' if wait.on_go else "starts with the step",
    ]
    return f"{wait.wait.value}, {wait.name}: {', '.join(limit for limit in limits if limit)}"


def _worked_out(wait: Wait) -> str:
    """What the limits depend on, "" where they are fixed."""
    if wait.rows:
        cold, warm = min(row.temperature for row in wait.rows), max(row.temperature for row in wait.rows)
        damp = " and humidity" if wait.rows[0].humidity is not None else ""
        return f"{len(wait.rows)} lines by temperature{damp}, {cold:f} to {warm:f} degC"
    law = wait.law
    if law is None:
        return ""
    if law.model == "depth":
        depth = "asked for" if law.depth is None else f"{law.depth:f} mm"
        return f"that for {law.reference:f} mm, growing with the square of the depth ({depth}), {law.high:f} mm at most"
    how = f"halved every {law.span:f} degC" if law.model == "doubling" else f"by {law.span:f} kJ/mol"
    return f"that at {law.reference:f} degC, {how}, {law.low:f} to {law.high:f} degC"


def wait_dict(wait: Wait) -> dict[str, Any]:
    """Times in seconds."""
    return {
        "wait": wait.wait.value, "name": wait.name, "at_least_s": wait.at_least, "at_most_s": wait.at_most,
        "gates": list(wait.gates), "closes": wait.closes, "recovery": wait.recovery,
        "starts": "go" if wait.on_go else "step",
        "model": "table" if wait.rows else "fixed" if wait.law is None else wait.law.model,
        "worked_out": _worked_out(wait),
    }  # fmt: skip


def measure_line(measure: Measure) -> str:
    """The limits with their unit."""
    unit = measure.unit
    low = f"{measure.low:f}" if measure.low is not None else f"({measure.low_from})" if measure.low_from else ""
    high = f"{measure.high:f}" if measure.high is not None else f"({measure.high_from})" if measure.high_from else ""
    one = f"{low} {unit} or more" if low else f"{high} {unit} or less"
    limits = f"{low} to {high} {unit}" if low and high else one
    mean = f", mean of {measure.times}" if measure.times > 1 else ""
    spread = "" if measure.spread is None else f", spread {measure.spread:f} {unit} at most"
    return f"{measure.name}: {limits}{mean}{spread}{f', {measure.gauge}' if measure.gauge else ''}"


def measure_dict(measure: Measure) -> dict[str, Any]:
    """Limits are strings with the file's digits."""
    return {
        "name": measure.name, "unit": measure.unit, "gauge": measure.gauge,
        "low": None if measure.low is None else f"{measure.low:f}",
        "high": None if measure.high is None else f"{measure.high:f}",
        "low_from": measure.low_from, "high_from": measure.high_from, "times": measure.times,
        "spread": None if measure.spread is None else f"{measure.spread:f}",
    }  # fmt: skip


def gauge_line(gauge: Gauge) -> str:
    """Its name and number, how uncertain it is, and until when it is in date."""
    due = "" if not gauge.due else ", asked for its date" if gauge.due == ASK else f", in date until {gauge.due}"
    if gauge.uncertainty is None:
        return f"{gauge.title}{due}"
    return f"{gauge.title}, uncertain by {gauge.uncertainty:f} {gauge.unit}{due}"


def gauge_dict(gauge: Gauge) -> dict[str, Any]:
    """The uncertainty is a string."""
    return {
        "id": gauge.id, "name": gauge.name, "number": gauge.number, "unit": gauge.unit, "due": gauge.due,
        "uncertainty": None if gauge.uncertainty is None else f"{gauge.uncertainty:f}",
    }  # fmt: skip


def fasten_line(fasten: Fasten) -> str:
    """How many, to what, in which order."""
    stages = ", ".join(f"{stage.amount:f} {stage.unit}" for stage in fasten.stages)
    way = "loosen" if fasten.undo else f"tighten to {stages}" if stages else "tighten"
    each = ", one by one" if fasten.each else ""
    off = f", within {' and '.join(f'{t.amount:f} {t.unit}' for t in fasten.tolerance)}" if fasten.tolerance else ""
    last = ", then round until none turns" if fasten.last_round else ""
    return f"{fasten.count} x {fasten.name}, {way}{each}{off}{last}: {'-'.join(map(str, fasten.sequence))}"


def fasten_dict(fasten: Fasten) -> dict[str, Any]:
    """Amounts are strings."""
    return {
        "name": fasten.name, "count": fasten.count, "undo": fasten.undo, "sequence": list(fasten.sequence),
        "stages": [{"amount": f"{stage.amount:f}", "unit": stage.unit} for stage in fasten.stages],
        "each": fasten.each, "last_round": fasten.last_round,
        "tolerance": [{"amount": f"{each.amount:f}", "unit": each.unit} for each in fasten.tolerance],
    }  # fmt: skip


def part_line(procedure: Procedure, replace: Replace) -> str:
    """Name and number of a one-use part."""
    part = procedure.part(replace.part)
    return f"{part.name}{f' ({part.number})' if part.number else ''}"


def tally_line(tally: Tally) -> str:
    """What is counted in which opening."""
    return f"{tally.opening}, {'closed' if tally.close else 'opened: ' + ', '.join(tally.things)}"


def need_line(need: Need) -> str:
    """One line of the list before the job."""
    number = f" ({need.number})" if need.number else ""
    spare = f", and {need.spare} more where a remedy is needed" if need.spare else ""
    return f"{need.name}{number}: {need.quantity or 'as needed'}{spare}"


def need_dict(need: Need) -> dict[str, Any]:
    """Quantities as texts, "" where nothing says how much."""
    return {
        "item": need.item, "name": need.name, "number": need.number, "quantity": need.quantity, "spare": need.spare,
        "part": need.part,
    }  # fmt: skip


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
            rows.append(
                {"thing": thing, "at": at, "step": step.id, "because": step.because,
                 "back": [{"at": n, "step": procedure.steps[n - 1].id} for n in back]}
            )  # fmt: skip
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
        name = remedy_of(step)
        if name and isinstance(step.detail, (Check, Measure)):
            ids = [procedure.steps[i].id for i in procedure.aside(name)]
            rows.append({"at": at, "step": step.id, "to": name, "steps": ids, "tries": step.detail.tries})
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
