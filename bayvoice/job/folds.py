"""What facts of no particular kind of step do to a job; what a kind records is folded by the kind (`JobKind.folds`)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from bayvoice.job import sittings, way
from bayvoice.job.facts import Fact
from bayvoice.job.job import Fold, Job


def signed(job: Job, fact: Fact) -> Job:
    """A finding that stops the step is signed first, then its hold; at any other step the sign is one of the things an
    override needs."""
    body = fact.body
    step = body["step"]
    stopped = any(where == step for where, _ in job.stopped)
    held = not stopped and job.kind_of(step).signed
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
    """A guard is passed: what its step asks for counts as met, unless the step's kind has it otherwise."""
    body = fact.body
    step = body["step"]
    if body["code"] == "right":
        job = replace(job, wrong_codes=tuple(one for one in job.wrong_codes if one[0] != step))
    passed = job.kind_of(step).passed(job, fact)
    return passed if passed is not None else excused(job, fact)


def excused(job: Job, fact: Fact) -> Job:
    """What is asked of a step is not asked any more."""
    step, what = fact.body["step"], fact.body["what"]
    job = replace(job, excused=job.excused | {(what, step)})
    if what == "batch":
        return job
    return replace(
        job,
        deviant=job.deviant - {step},
        answered=job.answered | {step},
        deferred=tuple(key for key in job.deferred if key != ("hold", step)),
    )


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


SHARED: Final[Mapping[str, Fold]] = {
    **sittings.FOLDS,
    **way.FOLDS,
    "signed": signed,
    "refused": refused,
    "overridden": overridden,
    "listed": listed,
    "batch": batch,
}
"""Kind of fact -> what it does to the job; those that only kinds of step record are not among them."""
