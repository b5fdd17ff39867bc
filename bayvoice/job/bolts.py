"""How far the fasteners of a job have come, one by one. Part of `job.job.Job`."""

from __future__ import annotations

from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Bolts:
    """Progress within the present stage of each fastening step.

    Attributes:
        placed: (step id, how many fasteners of its present stage are done, in its order).
        rounds: (step id, rounds made at the final amount after the last stage).
    """

    placed: tuple[tuple[str, int], ...] = ()
    rounds: tuple[tuple[str, int], ...] = ()

    def done(self, step_id: str) -> int:
        """How many fasteners of the present stage are done."""
        return dict(self.placed).get(step_id, 0)

    def round(self, step_id: str) -> int:
        """How many rounds have been made after the last stage."""
        return dict(self.rounds).get(step_id, 0)

    def place(self, step_id: str, done: int) -> Bolts:
        """`done` fasteners of the present stage are done."""
        return replace(self, placed=(*_others(self.placed, {step_id}), (step_id, done)))

    def turned(self, step_id: str, number: int) -> Bolts:
        """Round `number` has been made."""
        return replace(self, rounds=(*_others(self.rounds, {step_id}), (step_id, number)))

    def redone(self, steps: frozenset[str]) -> Bolts:
        """The steps `steps` are to be done again."""
        return Bolts(_others(self.placed, steps), _others(self.rounds, steps))


def _others(rows: tuple[tuple[str, int], ...], steps: frozenset[str] | set[str]) -> tuple[tuple[str, int], ...]:
    return tuple(row for row in rows if row[0] not in steps)
