"""The tables of a report on people: signatures, findings, sittings; and what is worth a look."""

from __future__ import annotations

from collections.abc import Iterator

from bayvoice.report.lines import Check
from bayvoice.report.model import JobReport
from bayvoice.report.tables import Table, step_name
from bayvoice.report.tables_work import value_text
from bayvoice.report.worded import signed_words
from bayvoice.report.words import Clock, count, one_line, span


def gap_lines(report: JobReport, clock: Clock) -> tuple[str, ...]:
    """What is no deviation and worth a look all the same: put right, deferred, restarted, trusted, handed over."""
    return (*_replaced(report, clock), *_trusted(report), *_answers(report, clock), *_later(report, clock),
            *_waits(report, clock), *_sittings(report, clock))  # fmt: skip


def _replaced(report: JobReport, clock: Clock) -> Iterator[str]:
    for m in report.measurements:
        for old in m.earlier:
            value = value_text(m, old.reading.value, old.reading.verdict)
            yield (
                f"{one_line(m.name)} was {value}, replaced by {one_line(old.by) or 'unknown'} at {clock.time(old.wall)}"
            )


def _trusted(report: JobReport) -> Iterator[str]:
    for m in report.measurements:
        if any(r.trusted for r in m.readings):
            yield f"{one_line(m.name)} was logged without being read back"
    for gauge in report.gauges:
        if gauge.state == "not known":
            yield f"until when {one_line(gauge.gauge)} is calibrated is not known (step {gauge.number or gauge.step})"


def _answers(report: JobReport, clock: Clock) -> Iterator[str]:
    answers: dict[tuple[str, str], Check] = {}
    for check in report.checks:
        before = answers.get((check.step, check.ask))
        if before and before.answer != check.answer and before.answer != before.want:
            yield (
                f"“{one_line(check.ask)}” was answered {one_line(before.answer)} at {clock.time(before.wall)}, "
                f"then {one_line(check.answer)} by {one_line(check.by) or 'unknown'} at {clock.time(check.wall)}"
            )
        answers[check.step, check.ask] = check


def _later(report: JobReport, clock: Clock) -> Iterator[str]:
    for d in report.deferred:
        what = "a hold point" if d.what == "hold" else "the list of parts" if d.what == "parts" else one_line(d.what)
        where = f" (step {step_name(d.number, d.step)})" if d.step else ""
        settled = "" if d.settled is None else f" and signed at {clock.time(d.settled)}"
        yield f"{what}{where} was left for later at {clock.time(d.wall)}{settled}"


def _waits(report: JobReport, clock: Clock) -> Iterator[str]:
    for run in report.waits:
        if run.verdict == "restarted":
            reason = f": {one_line(run.reason)}" if run.reason else ""
            yield f"{one_line(run.name)} was begun anew at {clock.time(run.ended or run.began)}{reason}"
    for fact in report.facts:
        if fact.kind == "clock_moved":
            seconds = fact.body.get("seconds")
            by = f" by {span(seconds)}" if isinstance(seconds, int) and not isinstance(seconds, bool) else ""
            yield f"the computer's clock moved{by} at {clock.time(fact.wall)}: {one_line(str(fact.body.get('what')))}"


def _sittings(report: JobReport, clock: Clock) -> Iterator[str]:
    told = {gap.began for gap in report.gaps}
    for sitting, after in zip(report.sittings, report.sittings[1:], strict=False):
        if sitting.left is None and sitting.last not in told:
            yield (
                f"the sitting of {one_line(sitting.by)} broke off after {clock.time(sitting.last)} "
                f"and was taken up at {clock.time(after.began)}"
            )


def signature_rows(report: JobReport, clock: Clock) -> Table:
    rows = tuple(
        (step_name(s.number, s.step), one_line(s.look) or "–", one_line(s.who), one_line(s.role),
         (signed_words(one_line(s.how)) or "–")
         + (", with the right code" if s.code == "right" else ""),
         clock.time(s.wall))
        for s in report.signatures
    )  # fmt: skip
    return Table("Signatures", ("Step", "Looked at", "Signed by", "As", "How", "At"), rows)


def branch_rows(report: JobReport, clock: Clock) -> Table:
    whys = {"finding": "found", "check": "an answer was not in order", "measure": "a value was not in order"}
    rows = tuple(
        (step_name(b.number, b.step), ": ".join(p for p in (whys.get(b.why, one_line(b.why)), one_line(b.what)) if p),
         f"step {step_name(b.to_number, b.to)}" if b.to else "–", f"{b.turn} of {b.turns}" if b.turns else "–",
         one_line(b.by), clock.time(b.wall))
        for b in report.branches
    )  # fmt: skip
    heads = ("Step", "Why", "Went to", "Time", "By", "At")
    return Table("Findings, and where the job left its line", heads, rows)


def helped_rows(report: JobReport, clock: Clock) -> Table:
    rows = tuple(
        (step_name(h.number, h.step), count(h.people, "person", "people") if h.people else "–",
         {"yes": "in order", "no": "not in order"}.get(h.result, one_line(h.result)) or "–", clock.time(h.wall))
        for h in report.helped
    )  # fmt: skip
    return Table("Steps done together", ("Step", "Hands", "Common move", "At"), rows)


def reckoned_rows(report: JobReport, clock: Clock) -> Table:
    rows = tuple(
        (step_name(r.number, r.step), one_line(r.what), one_line(r.given), one_line(r.result), clock.time(r.wall))
        for r in report.reckoned
    )  # fmt: skip
    return Table("Sums asked for; nothing is judged by them", ("Step", "What", "Given", "Result", "At"), rows)


def alert_rows(report: JobReport, clock: Clock) -> Table:
    rows = tuple(
        (step_name(a.number, a.step), one_line(a.name), one_line(a.tone), a.how if a.how == "unanswered"
         else f"silenced after {count(a.rung, 'burst')}", clock.time(a.wall))
        for a in report.alerts
    )  # fmt: skip
    return Table("Alerts and how they ended", ("Step", "Wait", "Tone", "How", "At"), rows)


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


def handover_rows(report: JobReport, clock: Clock) -> Table:
    rows = tuple(
        (one_line(h.leaves), one_line(h.takes), " ".join(one_line(line) for line in h.told) or "nothing was open",
         clock.full(h.wall))
        for h in report.handovers
    )  # fmt: skip
    return Table("Handed over", ("From", "To", "What was told", "At"), rows)
