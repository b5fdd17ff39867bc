"""What facts about people, parts, counts and detours do to a job; the rest of the folds are in `job/job.py`."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bayvoice.job import valuefolds
from bayvoice.job.facts import Fact
from bayvoice.procedure.model import Hold, Kind, Tally

if TYPE_CHECKING:
    from bayvoice.job.job import Job


@dataclass(frozen=True, slots=True)
class Detour:
    """The job left the line: into an aside that step `origin` asked for, or to a step that was still owed.

    Attributes:
        aside: name of the aside, "" for an owed step.
        origin: of an aside: index of the step that is asked again afterwards; of an owed step: index of the step the
            job goes on with afterwards (the number of steps: the end).
    """

    aside: str
    origin: int


@dataclass(frozen=True, slots=True)
class Searched:
    """`who` searched `opening` by `how` for what is still counted inside."""

    opening: str
    who: str
    how: str


def handed_over(job: Job, fact: Fact) -> Job:
    """Another technician has the job; both have worked on it."""
    return works(replace(job, by=fact.body["takes"]), fact.body["leaves"], fact.body["takes"])


def works(job: Job, *names: str) -> Job:
    """`names` have worked on the job."""
    return replace(job, hands=tuple(dict.fromkeys(name for name in (*job.hands, *names) if name)))


def deferred(job: Job, fact: Fact) -> Job:
    """A hold, or the list of parts, is left for later."""
    key = (fact.body["what"], fact.body["step"])
    return job if key in job.deferred else replace(job, deferred=(*job.deferred, key))


def signed(job: Job, fact: Fact) -> Job:
    """A finding that stops the step is signed first, then its hold; at any other step the sign is one of the things an
    override needs."""
    body = fact.body
    step = body["step"]
    stopped = any(where == step for where, _ in job.stopped)
    held = not stopped and isinstance(job.procedure.steps[job.procedure.index(step)].detail, Hold)
    return replace(
        job,
        answered=job.answered | {step} if held else job.answered,
        deviant=job.deviant - {step} if held else job.deviant,
        deferred=tuple(key for key in job.deferred if stopped or key != ("hold", step)),
        signs=(*job.signs, (step, body["who"])),
        stopped=tuple(one for one in job.stopped if one[0] != step),
        wrong_codes=tuple(one for one in job.wrong_codes if one[0] != step),
    )


def refused(job: Job, fact: Fact) -> Job:
    """A wrong code counts until the right one is given."""
    body = fact.body
    if body["what"] != "code":
        return job
    others = tuple(one for one in job.wrong_codes if one[0] != body["step"])
    return replace(job, wrong_codes=(*others, (body["step"], body["n"])))


def overridden(job: Job, fact: Fact) -> Job:
    """A guard is passed. A wait's minimum no longer gates; a count ends with what is left inside."""
    body = fact.body
    step, what = body["step"], body["what"]
    if body["code"] == "right":
        job = replace(job, wrong_codes=tuple(one for one in job.wrong_codes if one[0] != step))
    if what in ("wait", "cancel"):
        # body.step is the step that armed the wait: its minimum no longer gates
        return replace(job, waived=job.waived | {step})
    if what == "skip" and job.procedure.steps[job.procedure.index(step)].kind is Kind.WAIT and not job.wait_of(step):
        # It was never begun: leaving it out is passing it.
        job = replace(job, waived=job.waived | {step})
    if what == "late":
        return replace(job, late=job.late | {step})
    job = replace(job, excused=job.excused | {(what, step)})
    passed = valuefolds.overridden(job, fact)
    if passed is not None:
        return passed
    if what == "batch":
        return job
    if what == "tally":
        lost = tuple(row for row in job.inside if row[0] == body["name"] and row[2])
        job = replace(
            job,
            lost=(*job.lost, *lost),
            openings=tuple(o for o in job.openings if o != body["name"]),
            inside=tuple(row for row in job.inside if row[0] != body["name"]),
        )
    return replace(
        job,
        deviant=job.deviant - {step},
        answered=job.answered | {step},
        deferred=tuple(key for key in job.deferred if key != ("hold", step)),
    )


def searched(job: Job, fact: Fact) -> Job:
    """Somebody looked for what is still inside."""
    body = fact.body
    return replace(job, searches=(*job.searches, Searched(body["opening"], body["who"], body["how"])))


def foreign_part(job: Job, fact: Fact) -> Job:
    """Something was found inside that nobody counted in."""
    return replace(job, foreign=(*job.foreign, (fact.body["opening"], fact.body["thing"])))


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
        answered=job.answered - (steps - _closed(job, steps)),
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
    )


def _closed(job: Job, steps: frozenset[str]) -> frozenset[str]:
    """Those of `steps` that closed a count which is not opened again by another of them: there is nothing to close."""
    counts = [(step.id, step.detail) for step in job.procedure.steps if isinstance(step.detail, Tally)]
    opened = {detail.opening for step, detail in counts if not detail.close and step in steps}
    return frozenset(
        step
        for step, detail in counts
        if step in steps and detail.close and detail.opening not in opened and detail.opening not in job.openings
    )


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
    """A check or a value is asked again, also one that was in order before a finding led away from it; how often its
    remedy was tried is not forgotten."""
    kind = job.procedure.steps[job.procedure.index(step)].kind
    if step not in job.deviant and kind not in (Kind.CHECK, Kind.MEASURE):
        return job
    return replace(job, answered=job.answered - {step}, deviant=job.deviant - {step}, done=job.done - {step})


def helped(job: Job, fact: Fact) -> Job:
    """The colleague is there. Where a result is asked for, only that answers the step."""
    return replace(job, helped=job.helped | {fact.body["step"]})


def listed(job: Job, fact: Fact) -> Job:
    """An item of the list of parts is ticked off."""
    others = tuple(one for one in job.listed if one[0] != fact.body["item"])
    deferred = tuple(key for key in job.deferred if key[0] != "parts")
    return replace(job, listed=(*others, (fact.body["item"], fact.body["have"])), deferred=deferred)


def batch(job: Job, fact: Fact) -> Job:
    """The batch of a part or a consumable is known; the newest counts."""
    body = fact.body
    others = tuple(one for one in job.batches if one[0] != body["item"])
    return replace(job, batches=(*others, (body["item"], body["number"], body["state"])))


def paused(job: Job, fact: Fact) -> Job:
    """A break begins."""
    return replace(job, paused=True, paused_at=fact.wall)


def resumed(job: Job, fact: Fact) -> Job:
    """The break is over."""
    return replace(job, paused=False)
