"""What facts about sittings do to a job: who is at it, what the clocks say, breaks, its end and its coming back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Final

from bayvoice.job.clocks import BLUR, Away, away
from bayvoice.job.facts import Fact
from bayvoice.job.job import Ambient, Fold, Job, Remark, Running
from bayvoice.procedure.model import Passing


def sitting_began(job: Job, fact: Fact) -> Job:
    """A sitting begins; where the computer was started anew, running waits are carried to its new clock."""
    body = fact.body
    waits, entered, mono = job.waits, job.entered, float(body["mono"])
    if job.boot and body["boot"] != job.boot:
        # The monotonic clock began anew. Up to the last fact its old run tells how long each wait ran, exactly.
        last = job.clock[0] + (job.wall - job.clock[1])
        gone = away(job.wall, fact.wall, mono, body["boot"])
        waits = tuple(_carried(job, w, last, mono, gone) for w in waits)
        # What somebody says to have begun there must not lie further back than time that was counted.
        entered = tuple((step, _counted_since(at, last, mono, gone)) for step, at in entered)
    ambient = tuple(one for one in job.ambient if one.source != "command_line")
    job = replace(job, measured=job.measured.sitting_begins())
    job = replace(job, by=body["by"], boot=body["boot"], waits=waits, entered=entered, ambient=ambient)
    job = replace(job, clock=(mono, fact.wall))
    return works(job, body["by"])


def _carried(job: Job, wait: Running, last: float, mono: float, gone: Away) -> Running:
    """`wait` on the new run of the clock, which shows `mono`; `last`: what the old one showed at the last fact."""
    since, unsure = mono - gone.least - (last - wait.since), wait.unsure + gone.unsure
    if job.procedure.steps[job.procedure.index(wait.step)].passing is not Passing.ALONE:
        counted = max(since, _counted_since(wait.since, last, mono, gone))
        since, unsure = counted, unsure + counted - since
    return replace(wait, since=since, unsure=unsure, lost=wait.lost or gone.lost)


def _counted_since(at: float, last: float, mono: float, gone: Away) -> float:
    """The latest moment on the new run of the clock that `at` on the old one can be, whatever the wall clock says."""
    ran = last - at
    return mono - gone.counted - (max(0.0, ran - BLUR) if ran > 0 else ran)


def ambient(job: Job, fact: Fact) -> Job:
    """A value of the surroundings; the newest of each counts."""
    b = fact.body
    new = Ambient(b["name"], Decimal(b["value"]), b["unit"], b["source"], fact.wall)
    return replace(job, ambient=(*(one for one in job.ambient if one.name != new.name), new))


def clock_moved(job: Job, fact: Fact) -> Job:
    """The wall clock was set."""
    mono, wall = job.clock
    # While away the pair of the new sitting is true already.
    return replace(job, clock=(mono, wall + fact.body["seconds"])) if fact.body["what"] == "running" else job


def handed_over(job: Job, fact: Fact) -> Job:
    """Another technician has the job; both have worked on it."""
    return works(replace(job, by=fact.body["takes"]), fact.body["leaves"], fact.body["takes"])


def works(job: Job, *names: str) -> Job:
    """`names` have worked on the job."""
    return replace(job, hands=tuple(dict.fromkeys(name for name in (*job.hands, *names) if name)))


def paused(job: Job, fact: Fact) -> Job:
    """A break begins."""
    return replace(job, paused=True, paused_at=fact.wall)


def resumed(job: Job, fact: Fact) -> Job:
    """The break is over."""
    return replace(job, paused=False)


def job_done(job: Job, fact: Fact) -> Job:
    """The last step is done."""
    return replace(job, finished=True, step=len(job.procedure.steps), detours=())


def returned(job: Job, fact: Fact) -> Job:
    """The foreman gives the job back with a remark."""
    remark = Remark(fact.seq, fact.body["who"], fact.body["remark"])
    job = replace(job, remarks=(*job.remarks, remark))
    if not job.finished:
        return job
    # A job that was done is open again at its last step, to be shown once more; "back" leads to the others.
    position = job.procedure.line[-1]
    last = job.procedure.steps[position].id
    return replace(
        job,
        finished=False,
        step=position,
        answered=job.answered - {last},
        deviant=job.deviant - {last},
        done=job.done - {last},
        stages=tuple((step, n) for step, n in job.stages if step != last),
    )


def remark_heard(job: Job, fact: Fact) -> Job:
    """A technician has heard the remark."""
    return replace(job, remarks=tuple(remark for remark in job.remarks if remark.seq != fact.body["seq"]))


FOLDS: Final[Mapping[str, Fold]] = {
    "sitting_began": sitting_began,
    "clock_moved": clock_moved,
    "ambient": ambient,
    "handed_over": handed_over,
    "paused": paused,
    "resumed": resumed,
    "job_done": job_done,
    "returned": returned,
    "remark_heard": remark_heard,
}
