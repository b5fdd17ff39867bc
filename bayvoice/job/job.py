"""The job as far as it has come, folded from its facts and from nothing else."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any, ClassVar, Final

from bayvoice.job.bolts import Bolts
from bayvoice.job.facts import FORMAT, Fact, upward
from bayvoice.job.facts import KINDS as FACTS
from bayvoice.job.readings import Measured, Reading
from bayvoice.procedure.kind import Form
from bayvoice.procedure.kind import Kinds as Known
from bayvoice.procedure.model import Procedure, Step, WaitKind


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


@dataclass(frozen=True, slots=True)
class Job:
    """Where a job stands.

    Attributes:
        kinds: the kinds of step it can have; they fold what only they record.
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
        kept: (step id, what its kind keeps of the answer), for kinds that need no field of their own.
    """

    name: str
    procedure: Procedure
    kinds: Kinds = field(repr=False, compare=False)
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
    kept: tuple[tuple[str, str], ...] = ()

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

    def kind_of(self, step_id: str) -> JobKind:
        """The kind of the step called `step_id`; KeyError if there is no such step."""
        return self.kinds[self.procedure.steps[self.procedure.index(step_id)].kind]

    def bolts(self, step_id: str) -> tuple[tuple[int, str], ...]:
        """(number, "done"/"now"/"to come") of each fastener of a step in its order; empty in a step without any."""
        return self.kind_of(step_id).marks(self, self.procedure.steps[self.procedure.index(step_id)])

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
"""What a fact does to a job."""

Folds = Mapping[str, Fold]
"""Kind of fact -> what it does."""


class JobKind(Form):
    """What a kind of step means to the job, beside how it is read; what a kind does not say is as it is here.

    Attributes:
        facts: kinds of fact that only it records -> the keys of their bodies, beside those of `bayvoice.job.facts`.
        folds: kinds of fact that it records -> what they do to the job.
        asked_again: after an aside its question is put anew, also where the answer was in order.
        signed: what it asks for is somebody's sign.
    """

    facts: ClassVar[Mapping[str, tuple[str, ...]]] = {}
    folds: ClassVar[Folds] = {}
    asked_again: bool = False
    signed: bool = False

    def mode(self, job: Job, step: Step) -> str:
        """The dialogue state in which `step` is answered, where the job stands."""
        raise NotImplementedError

    def marks(self, job: Job, step: Step) -> tuple[tuple[int, str], ...]:
        """(number, "done"/"now"/"to come") of each fastener of `step` in its order, for the present stage."""
        return ()

    def passed(self, job: Job, fact: Fact) -> Job | None:
        """`job` after a guard of such a step was passed (fact "overridden"), where that does not simply answer it; else
        None."""
        return None

    def stands(self, job: Job, step: Step, redone: frozenset[str]) -> bool:
        """Whether `step` stays answered though the steps `redone`, with it, are to be done again."""
        return False


class Kinds(Known[JobKind]):
    """The kinds of step there are, and how every fact is folded.

    Args:
        kinds: the kinds, in the order in which they are named to a reader.
        folds: kinds of fact that belong to no kind of step -> what they do to the job.
    """

    def __init__(self, kinds: Iterable[JobKind], folds: Mapping[str, Fold]) -> None:
        super().__init__(kinds)
        self._shared = dict(folds)
        self.folds: Final[Mapping[str, Fold]] = {
            **self._shared,
            **{name: done for kind in self.values() for name, done in kind.folds.items()},
        }

    def __hash__(self) -> int:
        return id(self)

    def __eq__(self, other: object) -> bool:
        return self is other

    def __or__(self, others: Iterable[JobKind]) -> Kinds:
        """These and `others`; one of the same word takes the place of its predecessor."""
        return Kinds({kind.word: kind for kind in (*self.values(), *others)}.values(), self._shared)

    def keys_of(self, fact: str) -> tuple[str, ...]:
        """The keys that the body of a fact has which a kind of step declares; KeyError if none declares it."""
        for kind in self.values():
            if fact in kind.facts:
                return kind.facts[fact]
        raise KeyError(fact)

    @property
    def facts(self) -> dict[str, tuple[str, ...]]:
        """Every kind of fact that a record of a job with such steps holds -> the keys of its body."""
        return FACTS | {fact: keys for kind in self.values() for fact, keys in kind.facts.items()}


def fold(job: Job, fact: Fact) -> Job:
    """`job` after `fact`. Facts of a kind that changes nothing (or a later version's) only count."""
    done = job.kinds.folds.get(fact.kind)
    job = replace(job, seq=fact.seq)
    if done:
        job = done(job, replace(fact, body=upward(fact.kind, fact.body)))
    return replace(job, wall=fact.wall)


def fold_all(job: Job, facts: Iterable[Fact]) -> Job:
    """`job` after all of `facts`, in order."""
    for fact in facts:
        job = fold(job, fact)
    return job


def answer(job: Job, step: str, in_order: bool) -> Job:
    """`step` is answered, in order or not."""
    deviant = job.deviant - {step} if in_order else job.deviant | {step}
    return replace(job, answered=job.answered | {step}, deviant=deviant)


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
