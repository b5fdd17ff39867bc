"""`procedures/HAZARDS.md`, read: a section a job, in each a table of hazards."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from bayvoice.host.datafiles import data_folder
from bayvoice.procedure.model import Passing

COLUMNS = ("hazard", "step", "caution", "guard", "test")


@dataclass(frozen=True, slots=True)
class Guard:
    """What keeps people from a hazard: "check key-out (second)". kind: a kind of step, "finding", or "said" where only
    the caution is there, which is said before the act. name: of the step or the finding."""

    job: str
    kind: str
    name: str
    passing: Passing | None

    def __str__(self) -> str:
        return f"{self.job}-{self.name.replace(' ', '-')}"


@dataclass(frozen=True, slots=True)
class Row:
    """A line of the table. step: "" for the whole job. caution: "WARNING: text", "" for none."""

    job: str
    line: int
    hazard: str
    step: str
    caution: str
    guard: Guard
    tests: tuple[str, ...]


@cache
def rows() -> tuple[Row, ...]:
    """All rows of all jobs. AssertionError: a line that is no row of five cells."""
    found: list[Row] = []
    job = ""
    text = (data_folder("procedures") / "HAZARDS.md").read_text(encoding="utf-8")
    for number, line in enumerate(text.splitlines(), 1):
        if line.startswith("## "):
            job = line[3:].strip()
        if not line.startswith("|") or not job:
            continue
        cells = tuple(cell.strip().replace("`", "") for cell in line.strip().strip("|").split("|"))
        assert len(cells) == len(COLUMNS), f"line {number} has {len(cells)} cells"
        if cells == COLUMNS or set(cells[0]) <= {"-"}:
            continue
        hazard, step, caution, guard, tests = cells
        found.append(
            Row(
                job,
                number,
                hazard,
                "" if step == "whole job" else step,
                "" if caution == "none" else caution,
                _guard(job, guard),
                tuple(test.strip() for test in tests.split(",")),
            )
        )
    return tuple(found)


def _guard(job: str, text: str) -> Guard:
    kind, _, rest = text.partition(" ")
    name, _, passing = rest.partition(" (")
    return Guard(job, kind, name.strip(), Passing(passing.rstrip(")")) if passing else None)
