"""The tables of a report on the work: values, fasteners, waits, parts, counts, steps."""

from __future__ import annotations

from bayvoice.report.lines import BoltDone, Measurement, Refusal, WaitRun
from bayvoice.report.model import JobReport
from bayvoice.report.tables import Table, step_name
from bayvoice.report.words import (
    REFUSED,
    SIDES,
    VERDICTS,
    WAITS,
    Clock,
    count,
    limits,
    one_line,
    quantity,
    span,
    window,
)


def value_text(m: Measurement, value: str, verdict: str) -> str:
    """``0.26 mm (above the limits)``."""
    side = f"{SIDES.get(verdict, verdict)} the limits" if verdict in (*SIDES, "within") else VERDICTS.get(verdict, "")
    return f"{quantity(value, m.unit)} ({side or 'not judged'})"


def measurement_rows(report: JobReport, clock: Clock) -> Table:
    rows = []
    gauges = {gauge.step: gauge for gauge in report.gauges}
    for m in report.measurements:
        r, used = m.standing, gauges.get(m.step)
        gauge = " ".join(one_line(piece) for piece in (used.gauge, used.gauge_number) if piece) if used else ""
        late = ", out of date" if used and used.state == "out of date" else ""
        rows.append(
            (step_name(m.number, m.step), one_line(m.name), quantity(m.value, m.unit), limits(m.low, m.high, m.unit),
             VERDICTS.get(m.verdict, "not judged"), (gauge or one_line(m.gauge)) + late, one_line(r.by),
             clock.time(r.wall))
        )  # fmt: skip
    heads = ("Step", "Measurement", "Value", "Limits", "Verdict", "Gauge", "By", "At")
    return Table("Measured values against their limits", heads, tuple(rows))


def repeated_rows(report: JobReport) -> Table:
    rows = []
    for m in report.measurements:
        if (a := m.average) is None:
            continue
        readings = ", ".join(one_line(r.value) for r in m.readings)
        spread = quantity(a.spread, m.unit) + (f" of {quantity(a.spread_limit, m.unit)}" if a.spread_limit else "")
        rows.append(
            (step_name(m.number, m.step), one_line(m.name), readings, quantity(a.value, m.unit), spread,
             quantity(a.deviation, m.unit) if a.deviation else "–", VERDICTS.get(a.verdict, one_line(a.verdict)))
        )  # fmt: skip
    heads = ("Step", "Measurement", "Readings", "Mean", "Spread", "Standard deviation", "Verdict")
    return Table("Repeated readings and their mean, which is what is judged", heads, tuple(rows))


def gauge_rows(report: JobReport, clock: Clock) -> Table:
    rows = tuple(
        (step_name(g.number, g.step), one_line(g.gauge), one_line(g.gauge_number) or "–",
         f"±{quantity(g.uncertainty, g.unit)}" if g.uncertainty else "not known", one_line(g.due) or "not known",
         one_line(g.state), clock.time(g.wall))
        for g in report.gauges
    )  # fmt: skip
    heads = ("Step", "Gauge", "Number", "Uncertainty (k = 2)", "Calibrated until", "State", "At")
    return Table("Gauges that values were taken with", heads, rows)


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


def bolt_tables(report: JobReport, clock: Clock) -> tuple[Table, ...]:
    """For each step whose fasteners were answered one by one: a row a fastener, a column a pass."""
    steps: dict[str, dict[tuple[int, int], BoltDone]] = {}
    for bolt in report.bolts:
        steps.setdefault(bolt.step, {})[bolt.bolt, bolt.stage] = bolt
    tables = []
    for step, done in steps.items():
        first = next(iter(done.values()))
        name = next((s.name for s in report.stages if s.step == step), "fastener")
        passes = sorted({stage for _, stage in done})
        wanted = {stage: next(b for (_, s), b in done.items() if s == stage) for stage in passes}
        heads = (
            one_line(name).capitalize(),
            *(f"Pass {n}: {quantity(wanted[n].amount, wanted[n].unit)}" if wanted[n].amount else f"Pass {n}"
              for n in passes),
        )  # fmt: skip
        places = {bolt.bolt: bolt.place for bolt in done.values() if bolt.stage == passes[0]}
        rows = tuple(
            (str(number), *(_reached(done.get((number, stage))) for stage in passes))
            for number in sorted({b for b, _ in done}, key=lambda n: (places.get(n, 10**6), n))
        )
        rounds = [r for r in report.rounds if r.step == step]
        still = (
            f"; {count(len(rounds), 'round')} after that, the last one {_still(rounds[-1].turned)}" if rounds else ""
        )
        caption = f"Step {step_name(first.number, step)}: {one_line(name)}s in the order they were taken{still}"
        tables.append(Table(caption, heads, rows))
    return tuple(tables)


def _still(turned: bool) -> str:
    return "with one that still turned" if turned else "without one that turned"


def _reached(bolt: BoltDone | None) -> str:
    if bolt is None:
        return "–"
    reached = quantity(bolt.achieved, bolt.achieved_unit) if bolt.achieved else "done"
    return f"{reached}, {VERDICTS.get(bolt.verdict, bolt.verdict)}" if bolt.verdict not in ("", "within") else reached


def wait_result(run: WaitRun) -> str:
    """``in window``, ``early``, … or what stands for a missing end."""
    return one_line(run.verdict) or ("past its limit, no end recorded" if run.over is not None else "no end recorded")


def wait_rows(report: JobReport, clock: Clock) -> Table:
    rows = []
    for w in report.waits:
        taken = "–" if w.seconds is None else span(w.seconds)
        ended = "–" if w.ended is None else clock.time(w.ended)
        name = one_line(w.name) + (f", begun {span(w.ago)} before it was said" if w.ago > 0 else "")
        given = f" (by {one_line(w.model)}: {one_line(w.given)})" if w.given else ""
        rows.append(
            (step_name(w.number, w.step), name, WAITS.get(w.kind, one_line(w.kind)),
             window(w.at_least, w.at_most) + given, taken, wait_result(w), clock.time(w.began), ended)
        )  # fmt: skip
    heads = ("Step", "Wait", "Kind", "Window", "Taken", "Verdict", "From", "To")
    return Table("Waits against their windows", heads, tuple(rows))


def ambient_rows(report: JobReport, clock: Clock) -> Table:
    rows = tuple(
        (step_name(a.number, a.step), one_line(a.name), quantity(a.value, a.unit), one_line(a.source),
         clock.time(a.wall))
        for a in report.ambient
    )  # fmt: skip
    return Table("Surroundings that waits were worked out from", ("Step", "What", "Value", "Given", "At"), rows)


def refusal_rows(report: JobReport, clock: Clock) -> Table:
    rows = tuple(
        (step_name(r.number, r.step), one_line(r.name), _missing(r), one_line(r.by),
         clock.time(r.wall))
        for r in report.refusals
    )  # fmt: skip
    return Table("Times the way on was refused", ("Step", "Because of", "What was missing", "By", "At"), rows)


def _missing(r: Refusal) -> str:
    if r.what == "wait":
        return f"{span(r.missing)} missing"
    if r.what == "tally":
        return f"{r.missing} left inside"
    counted = f", {span(r.missing)}" if r.of == "seconds" else f", {r.missing} in a row" if r.of == "tries" else ""
    return f"{REFUSED.get(r.what, one_line(r.what))}{counted}"


def part_rows(report: JobReport, clock: Clock) -> Table:
    rows = tuple(
        (step_name(p.number, p.step), one_line(p.name), one_line(p.part_number), "new" if p.new else "not new",
         one_line(p.by), clock.time(p.wall))
        for p in report.parts
    )  # fmt: skip
    return Table("One-use parts", ("Step", "Part", "Number", "Fitted", "By", "At"), rows)


def supply_rows(report: JobReport) -> Table:
    rows = tuple(
        (one_line(s.name) or one_line(s.item), one_line(s.part_number) or "–", one_line(s.quantity) or "–",
         "–" if s.have is None else "in hand" if s.have else "missing", one_line(s.batch) or "–",
         one_line(s.expires) or "–", one_line(s.state) or "–")
        for s in report.supplies
    )  # fmt: skip
    heads = ("Item", "Number", "Quantity", "Before the job", "Batch", "Usable until", "Date")
    return Table("Parts and consumables, with their batches", heads, rows)


def tally_rows(report: JobReport) -> Table:
    rows = tuple(
        (one_line(t.opening), one_line(t.thing), str(t.went_in), str(t.came_out), str(t.inside),
         "yes" if t.closed else "no")
        for t in report.tally
    )  # fmt: skip
    return Table("Things counted in and out", ("Opening", "Thing", "In", "Out", "Left inside", "Count closed"), rows)


def search_rows(report: JobReport, clock: Clock) -> Table:
    rows = tuple(
        (one_line(s.opening), f"foreign part: {one_line(s.thing)}" if s.thing else "searched", one_line(s.who) or "–",
         one_line(s.how) or "–", clock.time(s.wall))
        for s in report.searches
    )  # fmt: skip
    return Table(
        "Searches, and what was found that does not belong there", ("Opening", "What", "By", "How", "At"), rows
    )


def pace(seconds: int, takes: int | None) -> str:
    """``1.4 of the time given``, "" where the procedure gives none."""
    return f"{seconds / takes:.1f} of the time given" if takes else ""


def step_rows(report: JobReport, clock: Clock) -> Table:
    rows = tuple(
        (step_name(s.number, s.step), one_line(s.say) or one_line(s.step), one_line(s.kind), one_line(s.how) or "open",
         "–" if s.entered is None else clock.time(s.entered), span(s.seconds) if s.visits else "–",
         "–" if s.takes is None else span(s.takes), str(s.visits))
        for s in report.steps
        if s.visits or not s.aside
    )  # fmt: skip
    heads = ("Step", "What", "Kind", "Result", "From", "Time", "Given", "Visits")
    return Table("Every step with the time spent in it and the time the procedure gives it", heads, rows)
