"""What several kinds read alike."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TypeVar

from bayvoice.procedure.fields import Table
from bayvoice.procedure.model import Detail, Procedure, Step

D = TypeVar("D", bound=Detail)


def detail(step: Step, kind: type[D]) -> D:
    """What the step holds; a kind knows what its own steps hold."""
    assert isinstance(step.detail, kind), f"{step.id} is read by another kind"
    return step.detail


def details(procedure: Procedure, word: str, kind: type[D]) -> Iterator[tuple[int, Step, D]]:
    """(position, step, what it holds) of each step of the kind called `word`."""
    for at in procedure.of_kind(word):
        step = procedure.steps[at]
        yield at, step, detail(step, kind)


def read_remedy(table: Table) -> tuple[str, int]:
    """The aside to go to when the answer is not in order, and how often at most."""
    if table.has("tries") and not table.has("remedy"):
        table.wrong("tries", "tries counts how often the remedy is tried, and there is none", "add remedy")
    return table.text("remedy"), table.whole("tries", 1, 20, default=3) or 3
