"""What a procedure asks for, and what is allowed in it but unwise. `bayvoice vet` prints this."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, TypeVar

from bayvoice.procedure import sense, shown, spoken, timeline
from bayvoice.procedure.mistakes import quoted
from bayvoice.procedure.model import (
    Check,
    Fasten,
    Gauge,
    Hold,
    Kind,
    Measure,
    Passing,
    Procedure,
    Replace,
    Step,
    Tally,
    Wait,
    WaitKind,
)
from bayvoice.procedure.remark import Remark
from bayvoice.procedure.sounds import SILENT, Sounds
from bayvoice.procedure.spoken import MOST_SPOKEN
from bayvoice.procedure.supplies import needs
from bayvoice.trade.verdict import guarded
from bayvoice.units import convert

__all__ = ["MOST_SPOKEN", "Remark", "Vetting", "vet"]

_D = TypeVar("_D", Wait, Measure, Fasten, Replace, Tally, Hold)


@dataclass(frozen=True)
class Vetting:
    """A procedure that is in order, and what is to be known about it.

    Attributes:
        warnings: what is unwise, in the order of the file.
        file: its name, for the lines.
        sounds: what the ears and the voice know of words; without it nothing is said about pronunciation.
    """

    procedure: Procedure
    warnings: tuple[Remark, ...]
    file: str = ""
    sounds: Sounds = field(default=SILENT, repr=False)

    @cached_property
    def timeline(self) -> timeline.Timeline:
        """The job in time, waits overlapped."""
        return timeline.timeline(self.procedure)

    @property
    def kinds(self) -> dict[str, int]:
        """How many steps there are of each kind, in the order of first use."""
        return dict(Counter(step.kind.value for step in self.procedure.steps))

    @cached_property
    def unknown_words(self) -> dict[str, str]:
        """Word -> how it will be pronounced, for each spoken word that is in no dictionary."""
        return self.sounds.unknown(self.procedure)

    def lines(self) -> list[str]:
        """The vetting for a reader, one entry a line."""
        procedure = self.procedure
        steps = len(procedure.steps)
        kinds = ", ".join(f"{kind} {amount}" for kind, amount in self.kinds.items())
        head = f"{self.file or procedure.id}: in order. {procedure.title} ({procedure.machine})"
        groups = [
            f"steps: {steps} ({kinds})",
            *_group("to have ready", [shown.need_line(need) for need in needs(procedure)]),
            *_group("waits", [f"{i}. {shown.wait_line(wait)}" for i, _, wait in _of(procedure, Wait)]),
            *_group("measurements", [f"{i}. {shown.measure_line(each)}" for i, _, each in _of(procedure, Measure)]),
            *_group("gauges", [shown.gauge_line(each) for each in procedure.gauges]),
            *_group("fasteners", [f"{i}. {shown.fasten_line(each)}" for i, _, each in _of(procedure, Fasten)]),
            *_group(
                "one-use parts", [f"{i}. {shown.part_line(procedure, each)}" for i, _, each in _of(procedure, Replace)]
            ),
            *_group("counts", [f"{i}. {shown.tally_line(each)}" for i, _, each in _of(procedure, Tally)]),
            *_group("holds", [f"{i}. {_hold_line(each)}" for i, _, each in _of(procedure, Hold)]),
            *_group("who may pass", [shown.passing_line(row) for row in shown.passing(procedure)]),
            *_group("the way back", [shown.way_back_line(row) for row in shown.way_back(procedure)]),
            *_group("branches", [shown.branch_line(row) for row in shown.branches(procedure)]),
            *_group("findings", [shown.finding_line(row) for row in shown.finding_rows(procedure)]),
            *timeline.lines(procedure, self.timeline),
            *_group("said as", [f"{text}: {said}" for text, said in spoken.expanded(procedure).items()]),
            *_group("words in no dictionary", [f"{word}: {said}" for word, said in self.unknown_words.items()]),
            *_group("warnings", [str(each) for each in self.warnings]),
        ]
        return [head, *(f"  {line}" for line in groups)]

    def as_dict(self) -> dict[str, Any]:
        """For JSON. Times are seconds, `at` counts steps from 1, limits and amounts are strings."""
        procedure = self.procedure
        return {
            "file": self.file,
            "ok": True,
            "id": procedure.id,
            "title": procedure.title,
            "machine": procedure.machine,
            "sha256": procedure.sha256,
            "steps": len(procedure.steps),
            "kinds": self.kinds,
            "needs": [shown.need_dict(need) for need in needs(procedure)],
            "waits": [{"at": i, "step": s.id, **shown.wait_dict(wait)} for i, s, wait in _of(procedure, Wait)],
            "measurements": [
                {"at": i, "step": s.id, **shown.measure_dict(each)} for i, s, each in _of(procedure, Measure)
            ],
            "gauges": [shown.gauge_dict(each) for each in procedure.gauges],
            "fasteners": [{"at": i, "step": s.id, **shown.fasten_dict(each)} for i, s, each in _of(procedure, Fasten)],
            "one_use": [
                {"at": i, "step": s.id, "part": each.part, "name": procedure.part(each.part).name}
                for i, s, each in _of(procedure, Replace)
            ],
            "counts": [
                {"at": i, "step": s.id, "opening": each.opening, "things": list(each.things), "close": each.close}
                for i, s, each in _of(procedure, Tally)
            ],
            "holds": [
                {"at": i, "step": s.id, "look": h.look, "who": h.who, "until": h.until}
                for i, s, h in _of(procedure, Hold)
            ],
            "passing": shown.passing(procedure),
            "way_back": shown.way_back(procedure),
            "branches": shown.branches(procedure),
            "findings": shown.finding_rows(procedure),
            "timeline": timeline.as_dict(procedure, self.timeline),
            "said_as": spoken.expanded(procedure),
            "unknown_words": self.unknown_words,
            "warnings": [each.as_dict() for each in self.warnings],
        }


def vet(procedure: Procedure, file: str = "", sounds: Sounds = SILENT) -> Vetting:
    """Look a loaded procedure through; mistakes are not in it, `load_text` has refused them.

    Args:
        file: for the lines.
        sounds: what the ears know of words.
    """
    remarks = (*about_all(procedure, sounds), *(r for step in procedure.steps for r in about(procedure, step)))
    return Vetting(procedure, remarks, file, sounds)


def _of(procedure: Procedure, kind: type[_D]) -> list[tuple[int, Step, _D]]:
    """(position from 1, step, detail) of each step whose detail is a `kind`."""
    steps = [(at + 1, procedure.steps[at]) for at in procedure.of_kind(Kind(kind.__name__.lower()))]
    return [(i, step, step.detail) for i, step in steps if isinstance(step.detail, kind)]


def about_all(procedure: Procedure, sounds: Sounds = SILENT) -> Iterator[Remark]:
    """What is unwise in the procedure as a whole."""
    for number, caution in enumerate(procedure.cautions, 1):
        yield from spoken.about_text("", f"caution {number} text", caution.text)
    yield from _about_parts(procedure)
    first: dict[str, str] = {}
    for _, step, measure in _of(procedure, Measure):
        name = measure.name.lower()
        if name in first:
            yield Remark(step.id, "name", f"the step {quoted(first[name])} measures {quoted(measure.name)} too",
                         "give each its own name, so that a correction finds the right one")  # fmt: skip
        first.setdefault(name, step.id)
    yield from sense.about_order(procedure)
    yield from sounds.about(procedure)


def _about_parts(procedure: Procedure) -> Iterator[Remark]:
    renewals = Counter(each.part for _, _, each in _of(procedure, Replace))
    for part in procedure.parts:
        yield from _heard("", f"part {part.id} name", part.name)
        if renewals[part.id] > part.quantity:
            yield Remark("", f"part {part.id} quantity", f"{part.quantity} listed, {renewals[part.id]} steps fit one",
                         "correct the quantity")  # fmt: skip


def about(procedure: Procedure, step: Step) -> Iterator[Remark]:
    """What is unwise in one step; depends on nothing else but the gauges of `procedure`."""
    yield from spoken.about(step)
    yield from sense.about(step)
    for reason in step.reasons:
        yield from _heard(step.id, "reasons", reason)
    detail = step.detail
    if step.pass_ is Passing.ALONE and isinstance(detail, (Hold, Tally)) and (isinstance(detail, Hold) or detail.close):
        what = "a hold point" if isinstance(detail, Hold) else "a count with something left inside"
        yield Remark(step.id, "pass", f"{what} takes another person in any case", "take pass out")
    if isinstance(detail, Check):
        if not detail.ask.endswith("?"):
            yield Remark(step.id, "ask", "the question has no question mark", "ask what is answered with yes or no")
    elif isinstance(detail, Measure):
        yield from _heard(step.id, "name", detail.name)
        if detail.low is not None and detail.low == detail.high:
            yield Remark(step.id, "low", "low and high are the same, only one reading is in order", "widen the limits")
        yield from _about_gauge(step.id, detail, procedure.gauge(detail.gauge))
    elif isinstance(detail, Tally):
        for thing in detail.things:
            yield from _heard(step.id, "things", thing)
    elif isinstance(detail, Wait):
        yield from _about_wait(step.id, detail)


def _about_gauge(step: str, measure: Measure, gauge: Gauge | None) -> Iterator[Remark]:
    """A gauge that can never show a reading to be within its limits (ISO 14253-1) makes the step hopeless."""
    if gauge is None or gauge.uncertainty is None or measure.low is None or measure.high is None:
        return
    uncertainty = convert(gauge.uncertainty, gauge.unit, measure.unit)
    if not guarded(measure.low, measure.high, uncertainty).provable:
        yield Remark(step, "gauge", f"the limits are nearer than twice the uncertainty of {quoted(gauge.name)}, so no "
                     "reading is shown to be within", "take a finer gauge")  # fmt: skip


def _about_wait(step: str, wait: Wait) -> Iterator[Remark]:
    if wait.wait is WaitKind.ACT and wait.at_most is None:
        yield Remark(step, "at_most", "nothing says when it has worked too long", "add at_most if the maker gives it")
    if wait.at_most is not None and not wait.recovery:
        yield Remark(step, "recovery", "nothing says where to go when the time has run out", "add recovery")
    if wait.at_least is not None and wait.at_least == wait.at_most:
        yield Remark(step, "at_most", "at_least and at_most are the same, nobody can meet them", "widen the window")


def _heard(step: str, key: str, name: str) -> Iterator[Remark]:
    """The technician says these names: they must be words."""
    odd = next((c for c in name if not (c.isalpha() or c in " -'’")), "")
    if odd:
        yield Remark(
            step, key, f"{quoted(name)} holds {quoted(odd)} and has to be said aloud", "write it as it is said"
        )


def _group(title: str, lines: list[str]) -> list[str]:
    return [f"{title}:", *(f"  {line}" for line in lines)] if lines else []


def _hold_line(hold: Hold) -> str:
    later = f", may be left open until {hold.until}" if hold.until else ""
    return f"{hold.who}: {hold.look}{later}"
