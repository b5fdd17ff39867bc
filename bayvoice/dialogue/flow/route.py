"""Which step comes next: along the line, through an aside and back, from a step that was owed to where the job was."""

from __future__ import annotations

from dataclasses import dataclass

from bayvoice.dialogue.engine.kind import Owed, kind_of
from bayvoice.job.job import Job
from bayvoice.job.way import following
from bayvoice.procedure.model import Step


@dataclass(frozen=True, slots=True)
class Way:
    """`index`: of the step to enter, the number of steps at the end; `again`: as in the fact "step_entered"."""

    index: int
    again: str = "no"


def onward(job: Job) -> Way:
    """Where the job goes when the current step is left."""
    top = job.detours[-1] if job.detours else None
    if top is None or (top.aside and (job.current is None or job.current.aside != top.aside)):
        return Way(following(job))
    if not top.aside:
        return Way(top.origin)
    index = following(job)
    return Way(top.origin, "return") if index == len(job.procedure.steps) else Way(index)


def backward(job: Job) -> Way | None:
    """Where "back" goes: in an aside to the step before, then to what asked for it; None before the first step."""
    steps, here = job.procedure.steps, job.current
    top = job.detours[-1] if job.detours else None
    if here is None:
        return None
    place = top.origin if top is not None and not top.aside else job.step
    earlier = [i for i, step in enumerate(steps[:place]) if step.aside == here.aside]
    if earlier:
        return Way(earlier[-1], "back")
    return Way(top.origin, "return") if top is not None and top.aside else None


def unentered(job: Job) -> Way | None:
    """The first step of an aside that was asked for and not yet entered: the process ended in between."""
    top = job.detours[-1] if job.detours else None
    if top is None or not top.aside or job.current is None or job.current.aside == top.aside:
        return None
    return Way(job.procedure.aside(top.aside)[0], "aside")


def _open(job: Job, step: Step) -> Owed | None:
    """What `step` of the line still owes."""
    return kind_of(job, step).owed(job, step)


def _reopened(job: Job, index: int) -> Owed | None:
    """The first step of the line before `index` that was left and that something later has put out of order. None for a
    step of an aside, which may be what mends it."""
    steps = job.procedure.steps
    if index < len(steps) and steps[index].aside:
        return None
    left = (steps[i] for i in job.procedure.line if i < index and steps[i].id in job.done)
    return next((found for step in left if (found := kind_of(job, step).reopened(job, step)) is not None), None)


def owed(job: Job) -> tuple[Owed, ...]:
    """Everything the job may not end without, in the order of the steps."""
    procedure = job.procedure
    found = [one for i in procedure.line if (one := _open(job, procedure.steps[i])) is not None]
    return (*found, *(Owed("finding", step, what) for step, what in job.stopped))


def owed_before(job: Job, index: int) -> Owed | None:
    """What must be done before step `index` begins: a finding that stops the work, a value before it that is out of
    order since it was left, a hold left open until then, a one-use part it puts back."""
    procedure = job.procedure
    step = procedure.steps[index] if index < len(procedure.steps) else None
    for where, what in job.stopped:
        at = procedure.index(where)
        # Also where "back" has led out of the aside in which it was found.
        if step is not None and not step.aside and (procedure.steps[at].aside or at < index):
            return Owed("finding", where, what)
    reopened = _reopened(job, index)
    if reopened is not None:
        return reopened
    if step is None:
        return next(iter(owed(job)), None)
    for what, held in job.deferred:
        hold = procedure.steps[procedure.index(held)] if what == "hold" else None
        if hold is not None and kind_of(job, hold).owed_until(hold) == step.id and (found := _open(job, hold)):
            return found
    back = {thing.lower() for thing in step.puts_back}
    old = {part.id for part in procedure.parts if part.one_use and part.name.lower() in back}
    for each in procedure.steps:
        if kind_of(job, each).renews(each) in old and each.id != step.id and (found := _open(job, each)):
            return found
    return None
