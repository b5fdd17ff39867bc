"""How long a job takes at the least: one technician, step after step, waits running meanwhile. Pure.

A step begins when the one before it is done and every wait that holds it back has reached its minimum. The critical
path is the chain of steps and waits that fixes the end (critical path method, J. E. Kelley and M. R. Walker, 1959,
with one worker): shortening anything on it shortens the job.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

from bayvoice.procedure.amounts import written
from bayvoice.procedure.kind import kinds_of
from bayvoice.procedure.model import Procedure, Wait, WaitKind

WIDTH: Final = 40
"""Characters of the longest bar."""
MOST_ROWS: Final = 60


class Slot(NamedTuple):
    """One step in time, seconds from the beginning of the job.

    Attributes:
        at: position of the step in the procedure.
        begins, ends: of the technician's work on it.
        held: id of the wait step it had to wait for, "" where it followed at once.
        idle: seconds spent waiting for that wait with nothing to do.
    """

    at: int
    begins: int
    ends: int
    held: str = ""
    idle: int = 0


@dataclass(frozen=True, slots=True)
class Timeline:
    """The line of a procedure in time. Asides are not in it.

    Attributes:
        slots: one for each step of the line, in order.
        total: seconds from beginning to end; with the waits of the last steps, which may outlast them.
        work: seconds of the steps themselves; waits: seconds of all minimum times one after the other.
        idle: seconds in which the technician can only wait.
        critical: positions of the steps (and wait steps) that fix the end, in order.
        untimed: positions of steps that do not say how long they take: counted as nothing. Waits are not among them.
    """

    slots: tuple[Slot, ...]
    total: int
    work: int
    waits: int
    idle: int
    critical: tuple[int, ...]
    untimed: tuple[int, ...]


def timeline(procedure: Procedure) -> Timeline:
    """The earliest times of every step of the line."""
    steps = procedure.steps
    line, begins, ends, held = _walk(procedure)
    slots: list[Slot] = []
    now = 0
    for at in line:
        by = held.get(at)
        slots.append(Slot(at, begins[at], ends[at], steps[by].id if by is not None else "", begins[at] - now))
        now = ends[at]
    waits = sum(wait.at_least or 0 for at, wait in waits_of(procedure) if not steps[at].aside)
    kinds = kinds_of(procedure)
    untimed = tuple(at for at in line if steps[at].takes is None and not kinds[steps[at].kind].lasts)
    work = sum(steps[at].takes or 0 for at in line)
    return Timeline(tuple(slots), now, work, waits, now - work, _critical(line, held), untimed)


def waits_of(procedure: Procedure) -> list[tuple[int, Wait]]:
    """(position of the step, the window it starts) of each step that starts one, in the order of the file."""
    kinds = kinds_of(procedure)
    found = ((at, kinds[step.kind].window(step)) for at, step in enumerate(procedure.steps))
    return [(at, wait) for at, wait in found if wait is not None]


def _walk(procedure: Procedure) -> tuple[list[int], list[int], list[int], dict[int, int]]:
    """(positions of the line, when each step begins and ends, step that was held -> the wait that held it)."""
    steps = procedure.steps
    line = [at for at, step in enumerate(steps) if not step.aside]
    begins, ends = [0] * len(steps), [0] * len(steps)
    ready: dict[str, tuple[int, int]] = {}  # gated step -> (not before, position of the wait)
    held: dict[int, int] = {}
    waits = dict(waits_of(procedure))
    now = 0
    for at in line:
        step = steps[at]
        if step.id in ready and ready[step.id][0] > now:
            now, held[at] = ready[step.id]
        begins[at] = now
        now += step.takes or 0
        ends[at] = now
        if at in waits:
            # One that starts with its step runs while that step is worked.
            due = (now if waits[at].on_go else begins[at]) + (waits[at].at_least or 0)
            for gate in waits[at].gates:
                if gate not in ready or ready[gate][0] < due:
                    ready[gate] = (due, at)
    return line, begins, ends, held


def _critical(line: list[int], held: dict[int, int]) -> tuple[int, ...]:
    before = dict(zip(line[1:], line, strict=False))
    found: list[int] = []
    at = line[-1] if line else None
    while at is not None:
        found.append(at)
        at = held[at] if at in held else before.get(at)
    return tuple(reversed(found))


def too_short(procedure: Procedure) -> Iterator[tuple[int, Wait, int]]:
    """(position of a step, its window, seconds that would need) where the job's own times cannot keep the window."""
    line, begins, ends, _ = _walk(procedure)
    steps = procedure.steps
    windows = [(at, wait) for at, wait in waits_of(procedure) if not steps[at].aside and wait.at_most is not None]
    where = {procedure.steps[at].id: at for at in line} if windows else {}
    for at, wait in windows:
        end = where.get(wait.closes)
        if end is None or wait.at_most is None:
            continue
        needed = (ends if wait.wait is WaitKind.OPEN else begins)[end] - (ends if wait.on_go else begins)[at]
        if needed > wait.at_most:
            yield at, wait, needed


# as it is printed


@dataclass(frozen=True, slots=True)
class _Row:
    begins: int
    ends: int
    bar: str
    label: str
    critical: bool


def lines(procedure: Procedure, line: Timeline) -> list[str]:
    """The timeline for a reader: a sentence, then one bar a row. ``*``: on the critical path."""
    gained = line.work + line.waits - line.total
    said = [
        f"timeline: at least {written(line.total)} = work {written(line.work)} + waiting with nothing to do "
        f"{written(line.idle)}; waits {written(line.waits)}, overlapped with work {written(max(0, gained))}"
    ]
    if line.untimed:
        said.append(f"  {len(line.untimed)} of {len(line.slots)} steps do not say how long they take: counted as none")
    if not line.total:
        return said
    rows = list(_rows(procedure, line))
    end = max(row.ends for row in rows)
    said += [_drawn(row, end) for row in rows[:MOST_ROWS]]
    if len(rows) > MOST_ROWS:
        said.append(f"  and {len(rows) - MOST_ROWS} more; --json has them all")
    return said


def _drawn(row: _Row, end: int) -> str:
    start = row.begins * WIDTH // end
    long = max(1, -(-row.ends * WIDTH // end) - start)
    bar = " " * start + row.bar * long
    minutes, seconds = divmod(row.begins, 60)
    hours, minutes = divmod(minutes, 60)
    return f"  {hours:3d}:{minutes:02d}:{seconds:02d} {bar:<{WIDTH + 1}}{'*' if row.critical else ' '} {row.label}"


def _rows(procedure: Procedure, line: Timeline) -> Iterator[_Row]:
    """Runs of steps worked without a break in one row each, waits in rows of their own."""
    steps, critical, waits = procedure.steps, set(line.critical), dict(waits_of(procedure))
    run: list[Slot] = []
    for slot in line.slots:
        step = steps[slot.at]
        if run and (slot.held or (slot.at in critical) != (run[-1].at in critical)):
            yield _run(procedure, run, critical)
            run = []
        if step.takes:
            run.append(slot)
        wait = waits.get(slot.at)
        if wait is not None and wait.at_least:
            if run:
                yield _run(procedure, run, critical)
                run = []
            began = slot.ends if wait.on_go else slot.begins
            label = f"{slot.at + 1} {wait.name}, {written(wait.at_least)}"
            binds = any(other.held == step.id and other.at in critical for other in line.slots)
            yield _Row(began, began + wait.at_least, "░", label, binds)
    if run:
        yield _run(procedure, run, critical)


def _run(procedure: Procedure, run: list[Slot], critical: set[int]) -> _Row:
    first, last = run[0], run[-1]
    names = procedure.steps[first.at].id
    numbers = f"{first.at + 1}"
    if last is not first:
        names, numbers = f"{names} … {procedure.steps[last.at].id}", f"{numbers}-{last.at + 1}"
    return _Row(first.begins, last.ends, "█", f"{numbers} {names}", first.at in critical)


def as_dict(procedure: Procedure, line: Timeline) -> dict[str, Any]:
    """For JSON: seconds; `at` counts steps from 1."""
    critical = set(line.critical)
    return {
        "total_s": line.total,
        "work_s": line.work,
        "waits_s": line.waits,
        "idle_s": line.idle,
        "untimed": [procedure.steps[at].id for at in line.untimed],
        "critical": [procedure.steps[at].id for at in line.critical],
        "steps": [
            {
                "at": slot.at + 1,
                "step": procedure.steps[slot.at].id,
                "begins_s": slot.begins,
                "ends_s": slot.ends,
                "held_by": slot.held,
                "idle_s": slot.idle,
                "critical": slot.at in critical,
            }
            for slot in line.slots
        ],
    }
