"""What a procedure and the people of a bay bring into the grammars."""

from __future__ import annotations

from bayvoice.language import units
from bayvoice.procedure.kind import kinds_of
from bayvoice.procedure.model import FOREMAN, Group, Passing, Procedure


def fills_of(procedure: Procedure, people: tuple[str, ...] = ()) -> dict[str, tuple[str, ...]]:
    """Phrases for the open rules of ``job.gram``: things, measurements, findings, waits, reasons, people (and the roles
    that may sign); and of ``states.gram`` for what only one kind of step names."""
    roles = list(procedure.named(Group.ROLES))
    if any(s.passing is Passing.SECOND for s in procedure.steps) or any(f.stop for f in procedure.findings):
        roles.append(FOREMAN)
    own = {
        rule: procedure.named(group) for form in kinds_of(procedure).values() for group, rule in form.heard_by.items()
    }
    return {
        **own,
        "thing": procedure.things(),
        "measurement": procedure.named(Group.MEASUREMENTS),
        "person": _phrases([*people, *roles]),
        "finding": _phrases([finding.say for finding in procedure.findings]),
        "cause": _phrases([reason for step in procedure.steps for reason in step.reasons]),
        "waiting": procedure.named(Group.WAITS),
    }


def units_of(procedure: Procedure) -> frozenset[str]:
    """The units to listen for in a job: those its steps name, as `units.active` widens them."""
    kinds = kinds_of(procedure)
    return units.active({unit for step in procedure.steps for unit in kinds[step.kind].units(step)})


def _phrases(texts: list[str] | tuple[str, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(texts))
