"""What a procedure asks for, and what is allowed in it but unwise. `bayvoice vet` prints this."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final, TypeVar

from bayvoice.procedure.amounts import written
from bayvoice.procedure.measures import ASK
from bayvoice.procedure.mistakes import quoted
from bayvoice.procedure.model import (
    Check,
    Fasten,
    Gauge,
    Hold,
    Measure,
    Procedure,
    Replace,
    Step,
    Tally,
    Wait,
    WaitKind,
)  # fmt: skip
from bayvoice.speech.units import convert
from bayvoice.trade.verdict import guarded

MOST_SPOKEN: Final = 300
"""Characters of a spoken text that can still be kept in the head."""

_D = TypeVar("_D", Wait, Measure, Fasten, Replace, Tally, Hold)


@dataclass(frozen=True, slots=True)
class Remark:
    """Something that works and is unwise. `step` is empty where it concerns the whole procedure."""

    step: str
    key: str
    what: str
    mend: str

    def __str__(self) -> str:
        place = ", ".join(part for part in (f"step {self.step}" if self.step else "", self.key) if part)
        return f"{place + ': ' if place else ''}{self.what}; {self.mend}."

    def as_dict(self) -> dict[str, str]:
        """For JSON: the attributes under their own names."""
        return {"step": self.step, "key": self.key, "what": self.what, "mend": self.mend}


@dataclass(frozen=True, slots=True)
class Vetting:
    """A procedure that is in order, and what is to be known about it. `warnings` are in the order of the file."""

    procedure: Procedure
    warnings: tuple[Remark, ...]
    file: str = ""

    @property
    def kinds(self) -> dict[str, int]:
        """How many steps there are of each kind, in the order of first use."""
        return dict(Counter(step.kind.value for step in self.procedure.steps))

    def lines(self) -> list[str]:
        """The vetting for a reader, one entry a line."""
        procedure = self.procedure
        steps = len(procedure.steps)
        kinds = ", ".join(f"{kind} {amount}" for kind, amount in self.kinds.items())
        head = f"{self.file or procedure.id}: in order. {procedure.title} ({procedure.machine})"
        groups = [
            f"steps: {steps} ({kinds})",
            *_group("waits", [f"{i}. {_wait_line(wait)}" for i, _, wait in _of(procedure, Wait)]),
            *_group("measurements", [f"{i}. {_measure_line(each)}" for i, _, each in _of(procedure, Measure)]),
            *_group("gauges", [_gauge_line(each) for each in procedure.gauges]),
            *_group("fasteners", [f"{i}. {_fasten_line(each)}" for i, _, each in _of(procedure, Fasten)]),
            *_group("one-use parts", [f"{i}. {_part_line(procedure, each)}" for i, _, each in _of(procedure, Replace)]),
            *_group("counts", [f"{i}. {_tally_line(each)}" for i, _, each in _of(procedure, Tally)]),
            *_group("holds", [f"{i}. {each.who}: {each.look}" for i, _, each in _of(procedure, Hold)]),
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
            "waits": [{"at": i, "step": s.id, **_wait_dict(wait)} for i, s, wait in _of(procedure, Wait)],
            "measurements": [{"at": i, "step": s.id, **_measure_dict(each)} for i, s, each in _of(procedure, Measure)],
            "gauges": [_gauge_dict(each) for each in procedure.gauges],
            "fasteners": [{"at": i, "step": s.id, **_fasten_dict(each)} for i, s, each in _of(procedure, Fasten)],
            "one_use": [
                {"at": i, "step": s.id, "part": each.part, "name": procedure.part(each.part).name}
                for i, s, each in _of(procedure, Replace)
            ],
            "counts": [
                {"at": i, "step": s.id, "opening": each.opening, "things": list(each.things), "close": each.close}
                for i, s, each in _of(procedure, Tally)
            ],
            "holds": [{"at": i, "step": s.id, "look": h.look, "who": h.who} for i, s, h in _of(procedure, Hold)],
            "warnings": [each.as_dict() for each in self.warnings],
        }


def vet(procedure: Procedure, file: str = "") -> Vetting:
    """Look a loaded procedure through; mistakes are not in it, `load_text` has refused them. `file`: for the lines."""
    return Vetting(
        procedure, (*_about_all(procedure), *(r for step in procedure.steps for r in _about(procedure, step))), file
    )


def _of(procedure: Procedure, kind: type[_D]) -> list[tuple[int, Step, _D]]:
    """(position from 1, step, detail) of each step whose detail is a `kind`."""
    return [(i, step, step.detail) for i, step in enumerate(procedure.steps, 1) if isinstance(step.detail, kind)]


def _about_all(procedure: Procedure) -> Iterator[Remark]:
    for number, caution in enumerate(procedure.cautions, 1):
        yield from _spoken("", f"caution {number} text", caution.text)
    for part in procedure.parts:
        yield from _heard("", f"part {part.id} name", part.name)
        renewed = sum(each.part == part.id for _, _, each in _of(procedure, Replace))
        if renewed > part.quantity:
            yield Remark("", f"part {part.id} quantity", f"{part.quantity} listed, {renewed} steps fit one",
                         "correct the quantity")  # fmt: skip
    first: dict[str, str] = {}
    for _, step, measure in _of(procedure, Measure):
        name = measure.name.lower()
        if name in first:
            yield Remark(step.id, "name", f"the step {quoted(first[name])} measures {quoted(measure.name)} too",
                         "give each its own name, so that a correction finds the right one")  # fmt: skip
        first.setdefault(name, step.id)


def _about(procedure: Procedure, step: Step) -> Iterator[Remark]:
    yield from _spoken(step.id, "say", step.say)
    for caution in step.cautions:
        yield from _spoken(step.id, "caution", caution.text)
    detail = step.detail
    if isinstance(detail, Check):
        yield from _spoken(step.id, "ask", detail.ask)
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


def _spoken(step: str, key: str, text: str) -> Iterator[Remark]:
    if len(text) > MOST_SPOKEN:
        yield Remark(step, key, f"{len(text)} characters are more than can be kept in the head",
                     f"say less than {MOST_SPOKEN}, put the rest into show")  # fmt: skip


def _heard(step: str, key: str, name: str) -> Iterator[Remark]:
    """The technician says these names: they must be words."""
    odd = next((c for c in name if not (c.isalpha() or c in " -'’")), "")
    if odd:
        yield Remark(
            step, key, f"{quoted(name)} holds {quoted(odd)} and has to be said aloud", "write it as it is said"
        )


def _group(title: str, lines: list[str]) -> list[str]:
    return [f"{title}:", *(f"  {line}" for line in lines)] if lines else []


def _wait_line(wait: Wait) -> str:
    limits = [
        f"at least {written(wait.at_least)}" if wait.at_least is not None else "",
        f"at most {written(wait.at_most)}" if wait.at_most is not None else "",
        f"holds back {', '.join(wait.gates)}" if wait.gates else "",
        f"ends with {wait.closes}" if wait.closes else "",
        f"too late: {wait.recovery}" if wait.recovery else "",
        'starts on "go"' if wait.on_go else "starts with the step",
    ]
    return f"{wait.wait.value}, {wait.name}: {', '.join(limit for limit in limits if limit)}"


def _wait_dict(wait: Wait) -> dict[str, Any]:
    return {
        "wait": wait.wait.value, "name": wait.name, "at_least_s": wait.at_least, "at_most_s": wait.at_most,
        "gates": list(wait.gates), "closes": wait.closes, "recovery": wait.recovery,
        "starts": "go" if wait.on_go else "step",
    }  # fmt: skip


def _measure_line(measure: Measure) -> str:
    unit = measure.unit
    low = f"{measure.low:f}" if measure.low is not None else f"({measure.low_from})" if measure.low_from else ""
    high = f"{measure.high:f}" if measure.high is not None else f"({measure.high_from})" if measure.high_from else ""
    one = f"{low} {unit} or more" if low else f"{high} {unit} or less"
    limits = f"{low} to {high} {unit}" if low and high else one
    mean = f", mean of {measure.times}" if measure.times > 1 else ""
    spread = "" if measure.spread is None else f", spread {measure.spread:f} {unit} at most"
    return f"{measure.name}: {limits}{mean}{spread}{f', {measure.gauge}' if measure.gauge else ''}"


def _measure_dict(measure: Measure) -> dict[str, Any]:
    return {
        "name": measure.name, "unit": measure.unit, "gauge": measure.gauge,
        "low": None if measure.low is None else f"{measure.low:f}",
        "high": None if measure.high is None else f"{measure.high:f}",
        "low_from": measure.low_from, "high_from": measure.high_from, "times": measure.times,
        "spread": None if measure.spread is None else f"{measure.spread:f}",
    }  # fmt: skip


def _gauge_line(gauge: Gauge) -> str:
    due = "" if not gauge.due else ", asked for its date" if gauge.due == ASK else f", in date until {gauge.due}"
    if gauge.uncertainty is None:
        return f"{gauge.title}{due}"
    return f"{gauge.title}, uncertain by {gauge.uncertainty:f} {gauge.unit}{due}"


def _gauge_dict(gauge: Gauge) -> dict[str, Any]:
    return {
        "id": gauge.id, "name": gauge.name, "number": gauge.number, "unit": gauge.unit, "due": gauge.due,
        "uncertainty": None if gauge.uncertainty is None else f"{gauge.uncertainty:f}",
    }  # fmt: skip


def _fasten_line(fasten: Fasten) -> str:
    stages = ", ".join(f"{stage.amount:f} {stage.unit}" for stage in fasten.stages)
    way = "loosen" if fasten.undo else f"tighten to {stages}" if stages else "tighten"
    each = ", one by one" if fasten.each else ""
    off = f", within {' and '.join(f'{t.amount:f} {t.unit}' for t in fasten.tolerance)}" if fasten.tolerance else ""
    last = ", then round until none turns" if fasten.last_round else ""
    return f"{fasten.count} x {fasten.name}, {way}{each}{off}{last}: {'-'.join(map(str, fasten.sequence))}"


def _fasten_dict(fasten: Fasten) -> dict[str, Any]:
    return {
        "name": fasten.name, "count": fasten.count, "undo": fasten.undo, "sequence": list(fasten.sequence),
        "stages": [{"amount": f"{stage.amount:f}", "unit": stage.unit} for stage in fasten.stages],
        "each": fasten.each, "last_round": fasten.last_round,
        "tolerance": [{"amount": f"{each.amount:f}", "unit": each.unit} for each in fasten.tolerance],
    }  # fmt: skip


def _part_line(procedure: Procedure, replace: Replace) -> str:
    part = procedure.part(replace.part)
    return f"{part.name}{f' ({part.number})' if part.number else ''}"


def _tally_line(tally: Tally) -> str:
    return f"{tally.opening}, {'closed' if tally.close else 'opened: ' + ', '.join(tally.things)}"
