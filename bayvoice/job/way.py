"""What facts about the way do to a job: steps entered and left, detours, what is to be done again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.job.job import Detour, Fold, Job


def step_entered(job: Job, fact: Fact) -> Job:
    """A step begins."""
    index = job.procedure.index(fact.body["step"])
    again = fact.body["again"]
    if again == "recovery":
        job = redo(job, frozenset(s.id for s in job.procedure.steps[index:]))
    job = detour(job, index, again)
    step = fact.body["step"]
    if step not in dict(job.entered):
        job = replace(job, entered=(*job.entered, (step, job.clock[0] + fact.wall - job.clock[1])))
    return replace(job, step=index, done=job.done - {step})


def step_done(job: Job, fact: Fact) -> Job:
    """A step was left, as done or skipped."""
    step = fact.body["step"]
    return replace(job, done=job.done | {step}, deviant=job.deviant - {step}, last=(step, fact.wall))


def deferred(job: Job, fact: Fact) -> Job:
    """A hold, or the list of parts, is left for later."""
    key = (fact.body["what"], fact.body["step"])
    return job if key in job.deferred else replace(job, deferred=(*job.deferred, key))


def found(job: Job, fact: Fact) -> Job:
    """A finding leads to the aside that deals with it; without one its step stops until somebody signs."""
    body = fact.body
    job = replace(job, found=(*job.found, (body["step"], body["what"])))
    if not body["to"]:
        return replace(job, stopped=(*job.stopped, (body["step"], body["what"])))
    return _away(job, body["step"], body["to"])


def branched(job: Job, fact: Fact) -> Job:
    """The job goes to an aside, and comes back to where it was."""
    body = fact.body
    if body["why"] == "finding":
        return job  # the finding has led there
    others = tuple(one for one in job.turns if one[0] != body["step"])
    return _away(replace(job, turns=(*others, (body["step"], body["turn"]))), body["step"], body["to"])


def _away(job: Job, origin: str, to: str) -> Job:
    procedure = job.procedure
    aside = procedure.steps[procedure.index(to)].aside
    return replace(job, detours=(*job.detours, Detour(aside, procedure.index(origin))))


def redo(job: Job, steps: frozenset[str]) -> Job:
    """`job` as if `steps` had not been done; what was recorded in them stays recorded."""
    return replace(
        job,
        answered=job.answered - (steps - _standing(job, steps)),
        deviant=job.deviant - steps,
        done=job.done - steps,
        waived=job.waived - steps,
        served=job.served - steps,
        late=job.late - steps,
        entered=tuple(one for one in job.entered if one[0] not in steps),
        stages=tuple((s, n) for s, n in job.stages if s not in steps),
        excused=frozenset(key for key in job.excused if key[1] not in steps),
        deferred=tuple(key for key in job.deferred if key[1] not in steps),
        turns=tuple(one for one in job.turns if one[0] not in steps),
        helped=job.helped - steps,
        measured=job.measured.redone(steps, job.seq),
        bolting=job.bolting.redone(steps),
        kept=tuple(one for one in job.kept if one[0] not in steps),
    )


def _standing(job: Job, steps: frozenset[str]) -> frozenset[str]:
    """Those of `steps` that stay answered though they are to be done again."""
    again = (step for step in job.procedure.steps if step.id in steps)
    return frozenset(step.id for step in again if job.kinds[step.kind].stands(job, step, steps))


def detour(job: Job, index: int, again: str) -> Job:
    """The detours after step `index` is entered; an aside is done anew each time, and its origin is asked again."""
    steps = job.procedure.steps
    if again == "aside":
        return redo(job, frozenset(s.id for s in steps if s.aside == steps[index].aside))
    if again == "return":
        return redo_answer(replace(job, detours=job.detours[:-1]), steps[index].id)
    if again == "owed":
        if job.detours and not job.detours[-1].aside:
            return job  # from one owed step to another: it goes on where it would have gone on
        return replace(job, detours=(*job.detours, Detour("", following(job))))
    detours = job.detours
    if again in ("back", "recovery"):
        while detours and detours[-1].aside != (steps[index].aside or None):
            detours = detours[:-1]
    elif detours and not detours[-1].aside:
        # An owed step was left for the step the job goes on with.
        detours = detours[:-1]
    return replace(job, detours=detours)


def following(job: Job) -> int:
    """Index of the step after the current one in the line or in its aside; the number of steps after the last."""
    if job.step < 0:
        return next(iter(job.procedure.line), 0)
    after = job.procedure.after(job.step)
    return len(job.procedure.steps) if after is None else after


def redo_answer(job: Job, step: str) -> Job:
    """What was not in order is asked again, of some kinds also what was in order before a finding led away from it; how
    often its remedy was tried is not forgotten."""
    if step not in job.deviant and not job.kind_of(step).asked_again:
        return job
    return replace(job, answered=job.answered - {step}, deviant=job.deviant - {step}, done=job.done - {step})


FOLDS: Final[Mapping[str, Fold]] = {
    "step_entered": step_entered,
    "step_done": step_done,
    "deferred": deferred,
    "found": found,
    "branched": branched,
}
