"""What a procedure and the people of a bay bring into the grammars."""

from __future__ import annotations

from collections.abc import Iterator

from bayvoice.language import units
from bayvoice.procedure.model import FOREMAN, Fasten, Hold, Measure, Passing, Procedure, Wait


def fills_of(procedure: Procedure, people: tuple[str, ...] = ()) -> dict[str, tuple[str, ...]]:
    """Phrases for the open rules of ``job.gram``: things, measurements, findings, waits, reasons, people (and the roles
    that may sign)."""
    measurements = [s.detail.name for s in procedure.steps if isinstance(s.detail, Measure)]
    roles = [s.detail.who for s in procedure.steps if isinstance(s.detail, Hold)]
    if any(s.passing is Passing.SECOND for s in procedure.steps) or any(f.stop for f in procedure.findings):
        roles.append(FOREMAN)
    return {
        "thing": _phrases(procedure.things()),
        "measurement": _phrases(measurements),
        "person": _phrases([*people, *roles]),
        "finding": _phrases([finding.say for finding in procedure.findings]),
        "cause": _phrases([reason for step in procedure.steps for reason in step.reasons]),
        "waiting": _phrases([s.detail.name for s in procedure.steps if isinstance(s.detail, Wait)]),
    }


def units_of(procedure: Procedure) -> frozenset[str]:
    """The units to listen for in a job: those of what it measures and tightens, as `units.active` widens them."""
    measured = {s.detail.unit for s in procedure.steps if isinstance(s.detail, Measure)}
    tightened = {stage.unit for s in procedure.steps if isinstance(s.detail, Fasten) for stage in s.detail.stages}
    asked = {unit for s in procedure.steps if isinstance(s.detail, Wait) for unit in _asked_for(s.detail)}
    return units.active(measured | tightened | asked)


def _asked_for(wait: Wait) -> Iterator[str]:
    """Units of what the length of a wait is worked out from."""
    if wait.rows or (wait.law is not None and wait.law.model != "depth"):
        yield "degC"
    if any(row.humidity is not None for row in wait.rows):
        yield "%"
    if wait.law is not None and wait.law.model == "depth":
        yield "mm"


def _phrases(texts: list[str] | tuple[str, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(texts))
