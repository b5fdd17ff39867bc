"""Bolts and other fasteners: passes over all of them, each by itself, and rounds at the end."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.procedure.model import Fasten, Step
from bayvoice.report.base.blocks import Bad, Block, Head, Table, step_name
from bayvoice.report.base.common import Common, affirmed, strings, text, whole
from bayvoice.report.base.judging import deviation, reason
from bayvoice.report.base.model import Deviation, StepLine
from bayvoice.report.base.section import Fold, Found, JobReport, Section
from bayvoice.report.base.words import VERDICTS, Clock, count, one_line, quantity


@dataclass(frozen=True, slots=True)
class StageDone:
    """One pass over all fasteners of a step; `amount` "" for a plain tightening or loosening."""

    step: str
    number: int
    name: str
    stage: int
    stages: int
    amount: str
    unit: str
    order: tuple[str, ...]
    by: str
    wall: float
    seq: int


@dataclass(frozen=True, slots=True)
class BoltDone:
    """One fastener of one pass. `achieved` "" where "done" was said; `verdict` "" where nothing was judged."""

    step: str
    number: int
    stage: int
    bolt: int
    place: int
    amount: str
    unit: str
    achieved: str
    achieved_unit: str
    verdict: str
    by: str
    wall: float
    seq: int


@dataclass(frozen=True, slots=True)
class Round:
    """A round at the final amount. `turned`: a fastener still turned."""

    step: str
    number: int
    round: int
    turned: bool
    by: str
    wall: float
    seq: int


@dataclass(slots=True)
class Fastened:
    """`last_stage`: step -> its last pass that counts; `last_bolt`: (step, pass, fastener) -> its last line."""

    stages: list[StageDone] = field(default_factory=list)
    bolts: list[BoltDone] = field(default_factory=list)
    rounds: list[Round] = field(default_factory=list)
    last_stage: dict[str, StageDone] = field(default_factory=dict)
    last_bolt: dict[tuple[str, int, int], BoltDone] = field(default_factory=dict)


def _stage_done(state: Fastened, common: Common, fact: Fact) -> None:
    (step, number), body = common.at(fact), fact.body
    done = StageDone(
        step=step,
        number=number,
        name=text(body, "name"),
        stage=whole(body, "stage") or 0,
        stages=whole(body, "stages") or 0,
        amount=text(body, "amount"),
        unit=text(body, "unit"),
        order=strings(body, "order"),
        by=common.by,
        wall=fact.wall,
        seq=fact.seq,
    )
    state.stages.append(done)
    state.last_stage[step] = done


def _fastened(state: Fastened, common: Common, fact: Fact) -> None:
    (step, number), body = common.at(fact), fact.body
    done = BoltDone(
        step=step,
        number=number,
        stage=whole(body, "stage") or 0,
        bolt=whole(body, "number") or 0,
        place=whole(body, "place") or 0,
        amount=text(body, "amount"),
        unit=text(body, "unit"),
        achieved=text(body, "achieved"),
        achieved_unit=text(body, "achieved_unit"),
        verdict=text(body, "verdict"),
        by=common.by,
        wall=fact.wall,
        seq=fact.seq,
    )
    state.bolts.append(done)
    state.last_bolt[step, done.stage, done.bolt] = done


def _round_done(state: Fastened, common: Common, fact: Fact) -> None:
    (step, number), body = common.at(fact), fact.body
    turned = affirmed(body, "turned")
    state.rounds.append(Round(step, number, whole(body, "round") or 0, turned, common.by, fact.wall, fact.seq))


class Fasteners(Section[Fastened]):
    """What was tightened or loosened."""

    key = "fasteners"
    title = "Bolts and other fasteners"
    apart = True

    def begin(self, common: Common) -> Fastened:
        """None."""
        return Fastened()

    def folds(self) -> Mapping[str, Fold[Fastened]]:
        """Passes, single fasteners, rounds."""
        return {"stage_done": _stage_done, "fastened": _fastened, "round_done": _round_done}

    def void(self, state: Fastened, steps: frozenset[str]) -> None:
        """Passes are made again."""
        for step in steps:
            state.last_stage.pop(step, None)

    def deviations(self, found: Found) -> Iterator[Deviation]:
        """Fasteners whose reached value is outside its tolerance, as they were left; a last round that still turned."""
        state, common = self.of(found), found.common
        for bolt in state.last_bolt.values():
            if bolt.verdict not in ("", "within"):
                reached, wanted = quantity(bolt.achieved, bolt.achieved_unit), quantity(bolt.amount, bolt.unit)
                what = f"fastener {bolt.bolt} reached {reached} in pass {bolt.stage}, wanted {wanted}"
                given = reason(common, "bolt", bolt.step)
                yield deviation(common, "fasten", bolt.step, what, bolt.seq, given)
        for last in {r.step: r for r in state.rounds}.values():
            if last.turned:
                what = "in the last round a fastener still turned, and no further round is recorded"
                yield deviation(common, "fasten", last.step, what, last.seq)

    def missing(self, found: Found, line: StepLine, step: Step) -> Iterator[Deviation]:
        """Passes."""
        if isinstance(step.detail, Fasten):
            last = self.of(found).last_stage.get(line.step)
            wanted, passes = max(1, len(step.detail.stages)), last.stage if last else 0
            if passes < wanted:
                what = f"{one_line(step.detail.name)}: {passes} of {wanted} passes recorded"
                yield deviation(found.common, "fasten", line.step, what, line.seq)

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A row a pass; then, for each step gone through one by one, a row a fastener and a column a pass."""
        state = self.of(report)
        rows = tuple(
            (
                step_name(s.number, s.step),
                one_line(s.name),
                f"{s.stage} of {s.stages}",
                quantity(s.amount, s.unit) if s.amount else "no set value",
                one_line(" ".join(s.order)),
                one_line(s.by),
                clock.time(s.wall),
            )
            for s in state.stages
        )
        heads = ("Step", "Fastener", "Pass", Head("To"), "Order", "By", Head("At"))
        steps: dict[str, dict[tuple[int, int], BoltDone]] = {}
        for bolt in state.bolts:
            steps.setdefault(bolt.step, {})[bolt.bolt, bolt.stage] = bolt
        each = (_one_by_one(state, step, done) for step, done in steps.items())
        return (Table("Fasteners, pass by pass", heads, rows), *each)

    def data(self, report: JobReport) -> Mapping[str, object]:
        """Passes, single fasteners, rounds."""
        state = self.of(report)
        return {"stages": tuple(state.stages), "bolts": tuple(state.bolts), "rounds": tuple(state.rounds)}


def _one_by_one(state: Fastened, step: str, done: Mapping[tuple[int, int], BoltDone]) -> Table:
    """The fasteners of one step; `done`: (fastener, pass) -> its last line."""
    first = next(iter(done.values()))
    name = next((s.name for s in state.stages if s.step == step), "fastener")
    passes = sorted({stage for _, stage in done})
    wanted = {stage: next(b for (_, s), b in done.items() if s == stage) for stage in passes}
    amounts = {n: f": {quantity(wanted[n].amount, wanted[n].unit)}" if wanted[n].amount else "" for n in passes}
    places = {bolt.bolt: bolt.place for bolt in done.values() if bolt.stage == passes[0]}
    rows = tuple(
        (str(number), *(_reached(done.get((number, stage))) for stage in passes))
        for number in sorted({b for b, _ in done}, key=lambda n: (places.get(n, 10**6), n))
    )
    rounds = [r for r in state.rounds if r.step == step]
    still = ""
    if rounds:
        turned = "with one that still turned" if rounds[-1].turned else "without one that turned"
        still = f"; {count(len(rounds), 'round')} after that, the last one {turned}"
    caption = f"Step {step_name(first.number, step)}: {one_line(name)}s in the order they were taken{still}"
    heads = (one_line(name).capitalize(), *(f"Pass {n}{amounts[n]}" for n in passes))
    return Table(caption, heads, rows, look="bolts", titled=False)


def _reached(bolt: BoltDone | None) -> str:
    """``64 N·m, too high``."""
    if bolt is None:
        return "–"
    reached = quantity(bolt.achieved, bolt.achieved_unit) if bolt.achieved else "done"
    if bolt.verdict in ("", "within"):
        return reached
    return Bad(f"{reached}, {VERDICTS.get(bolt.verdict, bolt.verdict)}")


FASTENERS: Final = Fasteners()
