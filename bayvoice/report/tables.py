"""The tables of a report as rows of plain strings, the same for text and HTML."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bayvoice.core.effects import Fact
from bayvoice.report.model import Check, JobReport, Measurement, WaitRun
from bayvoice.report.words import WAITS, Clock, clean, count, limits, one_line, quantity, span, utc, window

LONGEST_IN_FACTS = 200
"""Characters of one string that the list of all facts shows; the JSON report has them all."""


@dataclass(frozen=True, slots=True)
class Table:
    """`caption` says what the rows are; every row has as many cells as `heads`."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def step_name(number: int, step: str) -> str:
    """``14``, or the id of a step the procedure does not have."""
    return str(number) if number else one_line(step) or "–"


def headline(report: JobReport) -> str:
    """The result in one line: ``In order``, ``3 deviations``, with ``so far`` while the job is open."""
    n = len(report.deviations)
    so_far = " so far" if report.header.state == "open" else ""
    return (count(n, "deviation") if n else "In order") + so_far


def chain_line(report: JobReport) -> str:
    """Whether the record can be trusted, one sentence."""
    chain = report.chain
    if chain.ok is None:
        return "Whether the record is as it was written was not looked at."
    if chain.ok:
        return f"The record is as it was written: {count(len(report.facts), 'fact')}, each sealed with the one before."
    return f"Do not rely on this record from fact {chain.seq} on: {one_line(chain.why)}."


def header_rows(report: JobReport, clock: Clock) -> tuple[tuple[str, str], ...]:
    """What, who, when."""
    head = report.header
    began, last = clock.full(head.began), clock.full(head.ended or head.last)
    return (
        ("Machine", one_line(head.machine) or "not named"),
        ("Job", one_line(head.job)),
        ("Worked on by", ", ".join(one_line(name) for name in head.people) or "nobody named"),
        ("Signed by", ", ".join(dict.fromkeys(one_line(s.who) for s in report.signatures)) or "nobody"),
        ("Began", began),
        ("Finished" if head.state == "done" else "Still open, last entry", last),
        ("Time worked, pauses left out", span(head.worked)),
        ("Steps", f"{head.steps_done} of {head.steps_total}"),
        ("Procedure", f"{one_line(head.procedure)}, fingerprint {one_line(head.sha256)[:12] or 'unknown'}"),
        ("Times", f"local, {clock.zone_name(head.began)}; all facts also in UTC"),
    )


def gap_lines(report: JobReport, clock: Clock) -> tuple[str, ...]:
    """Readings and answers put right, and sittings that broke off: no deviations, worth a look all the same."""
    found = [
        f"{one_line(m.name)} was {value_text(m, old.reading.value, old.reading.verdict)}, "
        f"replaced by {one_line(old.by) or 'unknown'} at {clock.time(old.wall)}"
        for m in report.measurements
        for old in m.earlier
    ]
    answers: dict[tuple[str, str], Check] = {}
    for check in report.checks:
        before = answers.get((check.step, check.ask))
        if before and before.answer != check.answer and before.answer != before.want:
            found.append(
                f"“{one_line(check.ask)}” was answered {one_line(before.answer)} at {clock.time(before.wall)}, "
                f"then {one_line(check.answer)} by {one_line(check.by) or 'unknown'} at {clock.time(check.wall)}"
            )
        answers[check.step, check.ask] = check
    for sitting, after in zip(report.sittings, report.sittings[1:], strict=False):
        if sitting.left is None:
            found.append(
                f"the sitting of {one_line(sitting.by)} broke off after {clock.time(sitting.last)} "
                f"and was taken up at {clock.time(after.began)}"
            )
    return tuple(found)


def value_text(m: Measurement, value: str, verdict: str) -> str:
    """``0.26 mm (above the limits)``."""
    side = {"within": "within the limits", "low": "below the limits", "high": "above the limits"}.get(
        verdict, "not judged"
    )
    return f"{quantity(value, m.unit)} ({side})"


def measurement_rows(report: JobReport, clock: Clock) -> Table:
    rows = []
    for m in report.measurements:
        r = m.standing
        verdict = {"within": "within", "low": "too low", "high": "too high"}.get(r.verdict, "not judged")
        rows.append(
            (step_name(m.number, m.step), one_line(m.name), quantity(r.value, m.unit), limits(m.low, m.high, m.unit),
             verdict, one_line(m.gauge), one_line(r.by), clock.time(r.wall))
        )  # fmt: skip
    heads = ("Step", "Measurement", "Value", "Limits", "Verdict", "Gauge", "By", "At")
    return Table("Measured values against their limits", heads, tuple(rows))


def wait_result(run: WaitRun) -> str:
    """``in window``, ``early``, … or what stands for a missing end."""
    return one_line(run.verdict) or ("past its limit, no end recorded" if run.over is not None else "no end recorded")


def wait_rows(report: JobReport, clock: Clock) -> Table:
    rows = []
    for w in report.waits:
        taken = "–" if w.seconds is None else span(w.seconds)
        ended = "–" if w.ended is None else clock.time(w.ended)
        kind, allowed = WAITS.get(w.kind, one_line(w.kind)), window(w.at_least, w.at_most)
        name = step_name(w.number, w.step), one_line(w.name)
        rows.append((*name, kind, allowed, taken, wait_result(w), clock.time(w.began), ended))
    heads = ("Step", "Wait", "Kind", "Window", "Taken", "Verdict", "From", "To")
    return Table("Waits against their windows", heads, tuple(rows))


def refusal_rows(report: JobReport, clock: Clock) -> Table:
    rows = tuple(
        (step_name(r.number, r.step), one_line(r.name),
         f"{span(r.missing)} missing" if r.what == "wait" else f"{r.missing} left inside" if r.what == "tally"
         else one_line(r.what), one_line(r.by), clock.time(r.wall))
        for r in report.refusals
    )  # fmt: skip
    return Table("Times the way on was refused", ("Step", "Because of", "What was missing", "By", "At"), rows)


def check_rows(report: JobReport, clock: Clock) -> Table:
    rows = tuple(
        (step_name(c.number, c.step), one_line(c.ask), one_line(c.answer),
         "in order" if c.answer == c.want else "not in order", one_line(c.by), clock.time(c.wall))
        for c in report.checks
    )  # fmt: skip
    return Table("Checks and their answers", ("Step", "Question", "Answer", "Verdict", "By", "At"), rows)


def stage_rows(report: JobReport, clock: Clock) -> Table:
    rows = tuple(
        (step_name(s.number, s.step), one_line(s.name), f"{s.stage} of {s.stages}",
         quantity(s.amount, s.unit) if s.amount else "no set value", one_line(" ".join(s.order)), one_line(s.by),
         clock.time(s.wall))
        for s in report.stages
    )  # fmt: skip
    return Table("Fasteners, pass by pass", ("Step", "Fastener", "Pass", "To", "Order", "By", "At"), rows)


def part_rows(report: JobReport, clock: Clock) -> Table:
    rows = tuple(
        (step_name(p.number, p.step), one_line(p.name), one_line(p.part_number), "new" if p.new else "not new",
         one_line(p.by), clock.time(p.wall))
        for p in report.parts
    )  # fmt: skip
    return Table("One-use parts", ("Step", "Part", "Number", "Fitted", "By", "At"), rows)


def tally_rows(report: JobReport) -> Table:
    rows = tuple(
        (
            one_line(t.opening),
            one_line(t.thing),
            str(t.went_in),
            str(t.came_out),
            str(t.inside),
            "yes" if t.closed else "no",
        )
        for t in report.tally
    )
    return Table("Things counted in and out", ("Opening", "Thing", "In", "Out", "Left inside", "Count closed"), rows)


def signature_rows(report: JobReport, clock: Clock) -> Table:
    rows = tuple(
        (step_name(s.number, s.step), one_line(s.look), one_line(s.who), one_line(s.role), clock.time(s.wall))
        for s in report.signatures
    )
    return Table("Signatures", ("Step", "Looked at", "Signed by", "As", "At"), rows)


def step_rows(report: JobReport, clock: Clock) -> Table:
    rows = tuple(
        (step_name(s.number, s.step), one_line(s.say) or one_line(s.step), one_line(s.kind), one_line(s.how) or "open",
         "–" if s.entered is None else clock.time(s.entered), span(s.seconds) if s.visits else "–",
         str(s.visits))
        for s in report.steps
    )  # fmt: skip
    return Table(
        "Every step with the time spent in it", ("Step", "What", "Kind", "How", "From", "Time", "Visits"), rows
    )


def sitting_rows(report: JobReport, clock: Clock) -> Table:
    rows = []
    for i, s in enumerate(report.sittings, 1):
        if s.left is not None:
            ending = one_line(s.why)
        elif i < len(report.sittings):
            ending = "broke off"
        else:
            ending = "not recorded, it may go on" if report.header.state == "open" else "job finished"
        end = clock.full(s.last if s.left is None else s.left)
        rows.append((one_line(s.by), clock.full(s.began), end, ending, one_line(s.product)))
    heads = ("By", "From", "To", "How it ended", "Program")
    return Table("Who worked on the job, and when", heads, tuple(rows))


def fact_rows(report: JobReport) -> Table:
    rows = tuple((str(f.seq), utc(f.wall), one_line(f.kind), body_text(f)) for f in report.facts)
    return Table("All facts in the order they were written, times in UTC", ("No.", "When", "Kind", "What"), rows)


def body_text(fact: Fact) -> str:
    """A fact's body on one line, long strings shortened."""
    return " · ".join(f"{one_line(key)}: {_short(value)}" for key, value in fact.body.items())


def _short(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        value = ", ".join(str(item) for item in value)
    # Cut first: a text of a megabyte need not be cleaned to show its beginning.
    raw = "none" if value is None else str(value)
    cut = one_line(raw[:LONGEST_IN_FACTS])
    return f"{cut} … ({len(raw)} characters)" if len(raw) > LONGEST_IN_FACTS else cut or "–"


def unknown_kinds(report: JobReport, known: frozenset[str]) -> tuple[str, ...]:
    """Kinds of fact in the record that this version does not know."""
    return tuple(dict.fromkeys(one_line(f.kind) for f in report.facts if f.kind not in known))


def note_lines(report: JobReport, clock: Clock) -> Iterator[tuple[str, str]]:
    """(who, when and where; the note) for every note."""
    for n in report.notes:
        yield f"{one_line(n.by)}, {clock.time(n.wall)}, step {step_name(n.number, n.step)}", clean(n.text)
