"""What facts about measurements and fasteners do to a job; see `job/job.py`."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from bayvoice.errors import BayError
from bayvoice.job.facts import Fact
from bayvoice.job.limits import depends, limits, uncertainty_of
from bayvoice.job.readings import Reading
from bayvoice.procedure.model import Fasten, Measure
from bayvoice.trade.verdict import judge

if TYPE_CHECKING:
    from bayvoice.job.job import Job


def answer(job: Job, step: str, in_order: bool) -> Job:
    """`step` is answered, in order or not."""
    deviant = job.deviant - {step} if in_order else job.deviant | {step}
    return replace(job, answered=job.answered | {step}, deviant=deviant)


def measured(job: Job, fact: Fact) -> Job:
    """A value is logged: a single one answers its step, repeated ones are judged by their mean."""
    b = fact.body
    reading = Reading(
        fact.seq, b["step"], b["name"], Decimal(b["value"]), b["unit"], b["verdict"], b["nth"], b["of"], b["corrects"],
        job.by, fact.wall,
    )  # fmt: skip
    job = replace(job, measured=job.measured.read(reading, _gauge_of(job, reading.step)))
    if reading.of > 1:
        # The mean decides; until it is recorded, what hangs on the one before is open.
        return _rejudged(job, reading.name) if job.measured.value(reading.name) else job
    return _rejudged(answer(job, reading.step, reading.verdict == "within"), reading.name)


def averaged(job: Job, fact: Fact) -> Job:
    """The mean of repeated readings answers their step."""
    b = fact.body
    stands = Decimal(b["value"]), b["unit"], b["verdict"], job.measured.series(b["step"])
    job = replace(job, measured=job.measured.averaged(b["step"]).stands(b["name"], *stands))
    return _rejudged(answer(job, b["step"], b["verdict"] == "within"), b["name"])


def _gauge_of(job: Job, step: str) -> str:
    detail = job.procedure.steps[job.procedure.index(step)].detail
    return detail.gauge if isinstance(detail, Measure) else ""


def _rejudged(job: Job, name: str) -> Job:
    """`name` stands at another value: answers whose limits come from it are judged by the limits it gives now, or are
    open where it gives none; then those that hang on these."""
    changed = {name}
    for step in job.procedure.steps:
        detail = step.detail
        if not isinstance(detail, Measure) or step.id not in job.answered or not job.measured.value(detail.name):
            continue
        if not any(depends(detail, each) for each in changed):
            continue
        verdict = _verdict(job, detail)
        job = answer(job, step.id, verdict == "within")
        job = replace(job, measured=job.measured.judged(detail.name, verdict))
        changed.add(detail.name)
    return job


def _verdict(job: Job, detail: Measure) -> str:
    """What is to be said now of the value that `detail` stands at."""
    stands, before = job.measured.value(detail.name), job.measured.verdict(detail.name)
    if stands is None or before in ("scattered", "again"):
        return before  # no limit mends these
    try:
        found = limits(detail, job.measured)
        return judge(stands[0], found.low, found.high, uncertainty_of(job.procedure, detail))
    except BayError:
        return "open"


def gauge_used(job: Job, fact: Fact) -> Job:
    """A gauge is used for the first time in this sitting."""
    gauge = _gauge_of(job, fact.body["step"])
    return replace(job, measured=job.measured.gauge_used(gauge, fact.body["state"]))


def fastened(job: Job, fact: Fact) -> Job:
    """A fastener of the present stage is done, unless it is outside its tolerance."""
    b = fact.body
    step, good = b["step"], b["verdict"] in ("", "within")
    deviant = job.deviant - {step} if good else job.deviant | {step}
    return replace(job, deviant=deviant, bolting=job.bolting.place(step, b["place"] if good else b["place"] - 1))


def stage_done(job: Job, fact: Fact) -> Job:
    """All fasteners of a stage are done."""
    step, stage = fact.body["step"], fact.body["stage"]
    job = replace(
        job,
        stages=(*((s, n) for s, n in job.stages if s != step), (step, stage)),
        bolting=job.bolting.place(step, 0),
    )
    detail = job.procedure.steps[job.procedure.index(step)].detail
    last_round = isinstance(detail, Fasten) and detail.last_round
    return answer(job, step, True) if stage >= fact.body["stages"] and not last_round else job


def round_done(job: Job, fact: Fact) -> Job:
    """A round after the last stage was made; the one in which nothing turned answers the step."""
    step = fact.body["step"]
    job = replace(job, bolting=job.bolting.turned(step, fact.body["round"]))
    return job if fact.body["turned"] else answer(job, step, True)


def overridden(job: Job, fact: Fact) -> Job | None:
    """An out-of-date gauge is to count, or a fastener may stay outside its tolerance; None for any other guard."""
    step = fact.body["step"]
    if fact.body["what"] == "gauge":
        return replace(job, measured=job.measured.gauge_passed(_gauge_of(job, step), job.procedure))
    if fact.body["what"] == "bolt":
        return replace(job, deviant=job.deviant - {step}, bolting=job.bolting.place(step, job.bolting.done(step) + 1))
    return None
