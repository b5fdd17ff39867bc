"""The job as far as it has come, folded from its facts and from nothing else."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any, Final

from bayvoice.job import folds, valuefolds
from bayvoice.job.bolts import Bolts, states
from bayvoice.job.clocks import BLUR, Away, away
from bayvoice.job.facts import FORMAT, Fact, upward
from bayvoice.job.folds import Detour, Searched
from bayvoice.job.readings import Measured, Reading
from bayvoice.procedure.model import Fasten, Passing, Procedure, Step, Together, WaitKind


@dataclass(frozen=True, slots=True)
class Running:
    """A wait that runs.

    Attributes:
        at_least, at_most: its limits in seconds, None where there is none.
        since: `Stamp.mono` of the latest moment at which it can have begun; the minimum is counted from here.
        due, over: its minimum, its maximum was announced already.
        unsure: seconds by which it may have begun earlier; the maximum is counted from there.
        lost: how long it has run cannot be known: its maximum counts as passed.
    """

    step: str
    name: str
    kind: WaitKind
    at_least: int | None
    at_most: int | None
    since: float
    due: bool = False
    over: bool = False
    unsure: float = 0.0
    lost: bool = False

    def short(self, now: float) -> float:
        """Seconds still missing from the minimum at mono time `now`, never negative."""
        return max(0.0, (self.at_least or 0) - (now - self.since)) if self.at_least is not None else 0.0

    def left(self, now: float) -> float | None:
        """Seconds until the maximum at mono time `now` (negative once it has passed), None without one."""
        if self.at_most is None:
            return None
        left = self.at_most - (now - self.since + self.unsure)
        return min(left, -1.0) if self.lost else left


@dataclass(frozen=True, slots=True)
class Remark:
    """What the foreman said when the job was returned; `seq`: the fact that holds it."""

    seq: int
    who: str
    text: str


@dataclass(frozen=True, slots=True)
class Ambient:
    """A value of the surroundings ("temperature", "humidity", "depth") in `unit`; `source` as in its fact."""

    name: str
    value: Decimal
    unit: str
    source: str
    wall: float


@dataclass(frozen=True, slots=True)
class Job:
    """Where a job stands.

    Attributes:
        step: index of the current step; -1 before the first, `len(procedure.steps)` after the last.
        answered: ids of steps whose own demand (answer, value, stages, sign …) has been met.
        deviant: ids of steps whose last answer is not in order and not overridden.
        done: ids of steps that were left as done or skipped.
        stages: (step id, stages tightened so far).
        measured: what has been measured, and with which gauges.
        bolting: how far the fasteners have come within their stages.
        openings: names of openings now open; inside: (opening, thing, how many are in).
        waived: steps whose wait no longer gates, because its minimum was overridden.
        served: steps whose wait has ended with its minimum kept, since they were last to be done.
        entered: (step, mono time) of each step's first entry since it was last to be done.
        late: steps whose wait may be gone on with though its maximum has passed, because that was overridden.
        clock: (mono, wall) that are the same moment in the present sitting, which ties the two clocks.
        wall: wall time of the last fact.
        remarks: what the foreman returned the job with and no technician has heard yet, oldest first.
        last: (step, wall time) of the step that was left last; paused_at: wall time of the beginning of the last break.
        hands: everyone who has worked on the job, in order; none of them may sign it.
        deferred: (what, step) left for later: "hold" with its step, "parts" with "".
        excused: (what, step) of the guards that were passed, as in the fact "overridden".
        signs: (step, who); wrong_codes: (step, wrong codes since the last right one).
        lost: (opening, thing, how many) still counted inside when the count was ended by an override.
        searches, foreign: what was searched; (opening, thing) that was found there and never counted in.
        found: (step, what) of findings; stopped: those that stop their step until somebody signs.
        detours: where the job has left the line, outermost first; turns: (step, how often its remedy was tried).
        helped: steps of kind together whose colleague is there.
        listed: (item, in hand) ticked off; batches: (item, number, "in_date"/"out_of_date"/"not_said").
        ambient: the newest value of each kind.
    """

    name: str
    procedure: Procedure
    seq: int = 0
    by: str = ""
    boot: str = ""
    step: int = -1
    answered: frozenset[str] = frozenset()
    deviant: frozenset[str] = frozenset()
    done: frozenset[str] = frozenset()
    stages: tuple[tuple[str, int], ...] = ()
    measured: Measured = field(default_factory=Measured)
    bolting: Bolts = field(default_factory=Bolts)
    waits: tuple[Running, ...] = ()
    openings: tuple[str, ...] = ()
    inside: tuple[tuple[str, str, int], ...] = ()
    waived: frozenset[str] = frozenset()
    served: frozenset[str] = frozenset()
    entered: tuple[tuple[str, float], ...] = ()
    late: frozenset[str] = frozenset()
    clock: tuple[float, float] = (0.0, 0.0)
    wall: float = 0.0
    remarks: tuple[Remark, ...] = ()
    ambient: tuple[Ambient, ...] = ()
    paused: bool = False
    finished: bool = False
    last: tuple[str, float] = ("", 0.0)
    paused_at: float = 0.0
    hands: tuple[str, ...] = ()
    deferred: tuple[tuple[str, str], ...] = ()
    excused: frozenset[tuple[str, str]] = frozenset()
    signs: tuple[tuple[str, str], ...] = ()
    wrong_codes: tuple[tuple[str, int], ...] = ()
    lost: tuple[tuple[str, str, int], ...] = ()
    searches: tuple[Searched, ...] = ()
    foreign: tuple[tuple[str, str], ...] = ()
    found: tuple[tuple[str, str], ...] = ()
    stopped: tuple[tuple[str, str], ...] = ()
    detours: tuple[Detour, ...] = ()
    turns: tuple[tuple[str, int], ...] = ()
    helped: frozenset[str] = frozenset()
    listed: tuple[tuple[str, bool], ...] = ()
    batches: tuple[tuple[str, str, str], ...] = ()

    @property
    def current(self) -> Step | None:
        """The current step, None before the first and after the last."""
        return self.procedure.steps[self.step] if 0 <= self.step < len(self.procedure.steps) else None

    @property
    def readings(self) -> tuple[Reading, ...]:
        """All readings logged so far, those that were replaced too."""
        return self.measured.readings

    def stage(self, step_id: str) -> int:
        """How many stages of a fasten step are done."""
        return dict(self.stages).get(step_id, 0)

    def in_round(self, step_id: str) -> bool:
        """Whether the stages of a fasten step are done and the rounds after them are not."""
        detail = self.procedure.steps[self.procedure.index(step_id)].detail
        if not isinstance(detail, Fasten) or not detail.last_round or step_id in self.answered:
            return False
        return self.stage(step_id) >= len(detail.stages)

    def bolts(self, step_id: str) -> tuple[tuple[int, str], ...]:
        """(number, "done"/"now"/"to come") of each fastener of a fasten step in its order, for the present stage.

        All are "now" where they are not gone through one by one, and in a round after the last stage. Empty for a step
        of another kind.
        """
        detail = self.procedure.steps[self.procedure.index(step_id)].detail
        if not isinstance(detail, Fasten):
            return ()
        if self.in_round(step_id):
            return tuple((number, "now") for number in detail.sequence)
        return states(detail, step_id in self.answered, self.bolting.done(step_id))

    def wait_of(self, step_id: str) -> Running | None:
        """The running wait that step `step_id` started."""
        return next((w for w in self.waits if w.step == step_id), None)

    def left_inside(self, opening: str) -> tuple[tuple[str, int], ...]:
        """(thing, count) still inside `opening`."""
        return tuple((thing, n) for where, thing, n in self.inside if where == opening and n)

    def last_reading(self, name: str) -> Reading | None:
        """The newest reading called `name`."""
        return next((r for r in reversed(self.readings) if r.name == name), None)


Fold = Callable[[Job, Fact], Job]


def fold(job: Job, fact: Fact) -> Job:
    """`job` after `fact`. Facts of a kind that changes nothing (or a later version's) only count."""
    done = _FOLDS.get(fact.kind)
    job = replace(job, seq=fact.seq)
    if done:
        job = done(job, replace(fact, body=upward(fact.kind, fact.body)))
    return replace(job, wall=fact.wall)


def fold_all(job: Job, facts: Iterable[Fact]) -> Job:
    """`job` after all of `facts`, in order."""
    for fact in facts:
        job = fold(job, fact)
    return job


def _sitting_began(job: Job, fact: Fact) -> Job:
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
    return folds.works(job, body["by"])


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


def _ambient(job: Job, fact: Fact) -> Job:
    b = fact.body
    new = Ambient(b["name"], Decimal(b["value"]), b["unit"], b["source"], fact.wall)
    return replace(job, ambient=(*(one for one in job.ambient if one.name != new.name), new))


def _clock_moved(job: Job, fact: Fact) -> Job:
    mono, wall = job.clock
    # While away the pair of the new sitting is true already.
    return replace(job, clock=(mono, wall + fact.body["seconds"])) if fact.body["what"] == "running" else job


def _step_entered(job: Job, fact: Fact) -> Job:
    index = job.procedure.index(fact.body["step"])
    again = fact.body["again"]
    if again == "recovery":
        job = folds.redo(job, frozenset(s.id for s in job.procedure.steps[index:]))
    job = folds.detour(job, index, again)
    step = fact.body["step"]
    if step not in dict(job.entered):
        job = replace(job, entered=(*job.entered, (step, job.clock[0] + fact.wall - job.clock[1])))
    return replace(job, step=index, done=job.done - {step})


def _step_done(job: Job, fact: Fact) -> Job:
    step = fact.body["step"]
    return replace(job, done=job.done | {step}, deviant=job.deviant - {step}, last=(step, fact.wall))


def _answer(job: Job, step: str, in_order: bool) -> Job:
    deviant = job.deviant - {step} if in_order else job.deviant | {step}
    return replace(job, answered=job.answered | {step}, deviant=deviant)


def _checked(job: Job, fact: Fact) -> Job:
    return _answer(job, fact.body["step"], fact.body["answer"] == fact.body["want"])


def _replaced(job: Job, fact: Fact) -> Job:
    return _answer(job, fact.body["step"], bool(fact.body["new"]))


def _helped(job: Job, fact: Fact) -> Job:
    step = fact.body["step"]
    detail = job.procedure.steps[job.procedure.index(step)].detail
    job = folds.helped(job, fact)
    asks = isinstance(detail, Together) and (detail.beats or detail.ask)
    return job if asks else _answer(job, step, True)


def _moved_together(job: Job, fact: Fact) -> Job:
    return _answer(job, fact.body["step"], True) if fact.body["result"] == "yes" else job


def _tally_opened(job: Job, fact: Fact) -> Job:
    opening = fact.body["opening"]
    openings = job.openings if opening in job.openings else (*job.openings, opening)
    return _answer(replace(job, openings=openings), fact.body["step"], True)


def _counted(job: Job, fact: Fact) -> Job:
    b = fact.body
    others = tuple(row for row in job.inside if row[:2] != (b["opening"], b["thing"]))
    return replace(job, inside=(*others, (b["opening"], b["thing"], b["inside"])))


def _tally_closed(job: Job, fact: Fact) -> Job:
    opening = fact.body["opening"]
    job = replace(
        job,
        openings=tuple(o for o in job.openings if o != opening),
        inside=tuple(row for row in job.inside if row[0] != opening),
    )
    return _answer(job, fact.body["step"], True)


def _wait_started(job: Job, fact: Fact) -> Job:
    b = fact.body
    wait = Running(b["step"], b["name"], WaitKind(b["wait"]), b["at_least"], b["at_most"], float(b["mono"]))
    others = tuple(w for w in job.waits if w.step != wait.step)
    return _answer(
        replace(
            job, waits=(*others, wait), waived=job.waived - {wait.step}, served=job.served - {wait.step},
            late=job.late - {wait.step},
        ),
        wait.step, True,
    )  # fmt: skip


def _wait_changed(job: Job, fact: Fact) -> Job:
    b = fact.body
    # A limit that was moved is announced anew when it comes.
    return replace(job, waits=tuple(
        replace(w, at_least=b["at_least"], at_most=b["at_most"], due=w.due and w.at_least == b["at_least"],
                over=w.over and w.at_most == b["at_most"])
        if w.step == b["step"] else w
        for w in job.waits
    ))  # fmt: skip


def _wait_due(job: Job, fact: Fact) -> Job:
    step = fact.body["step"]
    return replace(job, waits=tuple(replace(w, due=True) if w.step == step else w for w in job.waits))


def _wait_over(job: Job, fact: Fact) -> Job:
    step = fact.body["step"]
    return replace(job, waits=tuple(replace(w, over=True) if w.step == step else w for w in job.waits))


def _wait_ended(job: Job, fact: Fact) -> Job:
    step = fact.body["step"]
    if fact.body["verdict"] == "restarted":
        # The run that replaces it comes with the next fact; should that be lost, this one must still hold its gates.
        return job
    job = replace(job, waits=tuple(w for w in job.waits if w.step != step))
    verdict, current = fact.body["verdict"], job.current
    if verdict == "in_window" or (verdict == "late" and step in job.answered):
        # One that ran out and sends the job back to begin anew is no longer answered: it has to run once more.
        job = replace(job, served=job.served | {step})
    elif verdict == "cancelled":
        job = replace(job, waived=job.waived | {step})
        if current is not None and current.id == step:
            return replace(job, answered=job.answered - {step})
    return job


def _job_done(job: Job, fact: Fact) -> Job:
    return replace(job, finished=True, step=len(job.procedure.steps), detours=())


def _returned(job: Job, fact: Fact) -> Job:
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


def _remark_heard(job: Job, fact: Fact) -> Job:
    return replace(job, remarks=tuple(remark for remark in job.remarks if remark.seq != fact.body["seq"]))


_FOLDS: Final[dict[str, Fold]] = {
    "sitting_began": _sitting_began,
    "clock_moved": _clock_moved,
    "ambient": _ambient,
    "step_entered": _step_entered,
    "step_done": _step_done,
    "checked": _checked,
    "measured": valuefolds.measured,
    "averaged": valuefolds.averaged,
    "gauge_used": valuefolds.gauge_used,
    "fastened": valuefolds.fastened,
    "round_done": valuefolds.round_done,
    "stage_done": valuefolds.stage_done,
    "replaced": _replaced,
    "helped": _helped,
    "moved_together": _moved_together,
    "signed": folds.signed,
    "refused": folds.refused,
    "handed_over": folds.handed_over,
    "deferred": folds.deferred,
    "searched": folds.searched,
    "foreign_part": folds.foreign_part,
    "found": folds.found,
    "branched": folds.branched,
    "listed": folds.listed,
    "batch": folds.batch,
    "tally_opened": _tally_opened,
    "counted": _counted,
    "tally_closed": _tally_closed,
    "wait_started": _wait_started,
    "wait_changed": _wait_changed,
    "wait_due": _wait_due,
    "wait_over": _wait_over,
    "wait_ended": _wait_ended,
    "overridden": folds.overridden,
    "paused": folds.paused,
    "resumed": folds.resumed,
    "job_done": _job_done,
    "returned": _returned,
    "remark_heard": _remark_heard,
}


def opening_facts_body(procedure: Procedure, job: str) -> dict[str, Any]:
    """Body of the first fact: the job holds the procedure it began with, word for word."""
    return {
        "job": job,
        "procedure": procedure.id,
        "title": procedure.title,
        "machine": procedure.machine,
        "sha256": procedure.sha256,
        "text": procedure.text,
        "format": FORMAT,
    }
