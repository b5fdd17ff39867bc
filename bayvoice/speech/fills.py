"""What a procedure and the people of a bay bring into the grammars."""

from __future__ import annotations

from bayvoice.procedure.model import Hold, Measure, Procedure


def fills_of(procedure: Procedure, people: tuple[str, ...] = ()) -> dict[str, tuple[str, ...]]:
    """Phrases for the open rules of ``job.gram``: things, measurements, people (and the roles that may sign)."""
    measurements = [s.detail.name for s in procedure.steps if isinstance(s.detail, Measure)]
    roles = [s.detail.who for s in procedure.steps if isinstance(s.detail, Hold)]
    return {
        "thing": _phrases(procedure.things()),
        "measurement": _phrases(measurements),
        "person": _phrases([*people, *roles]),
    }


def _phrases(texts: list[str] | tuple[str, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(texts))
