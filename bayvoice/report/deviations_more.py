"""Deviations of signatures, parts, fasteners, counts, alerts, gauges, findings and time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bayvoice.job.facts import Fact
from bayvoice.procedure.model import Hold, Tally
from bayvoice.report.gathered import Gathered, text
from bayvoice.report.lines import StepLine
from bayvoice.report.model import Deviation
from bayvoice.report.reasons import deviation, reason, who_passed
from bayvoice.report.worded import worded
from bayvoice.report.words import TONES, count, one_line, quantity, span


def signature(gathered: Gathered, line: StepLine, hold: Hold) -> Iterator[Deviation]:
    """A hold that nobody signed, or somebody who worked on the job."""
    sign = gathered.signature_of.get(line.step)
    if sign is None:
        later = any(d.what == "hold" and d.step == line.step for d in gathered.deferred)
        what = f"nobody signed for {one_line(hold.look)}" + (", which was left for later" if later else "")
        yield deviation(gathered, "unsigned", line.step, what, line.seq, reason(gathered, "hold", line.step))
    elif sign.who.casefold().strip() in {by.casefold().strip() for by in gathered.workers()}:
        what = f"{one_line(sign.who)}, who worked on this job, signed in place of the {one_line(hold.who)}"
        yield deviation(gathered, "unsigned", line.step, what, sign.seq)


def parts(gathered: Gathered) -> Iterator[Deviation]:
    """One-use parts that were not fitted new."""
    for part in gathered.part_of.values():
        if not part.new:
            number = f" ({one_line(part.part_number)})" if part.part_number else ""
            what = f"no new {one_line(part.name)}{number} was fitted"
            yield deviation(gathered, "part", part.step, what, part.seq, reason(gathered, "part", part.step))


def supplies(gathered: Gathered) -> Iterator[Deviation]:
    """What was missing at the beginning, and what was past its date or of unknown date."""
    for supply in gathered.supplies.values():
        name, batch = one_line(supply.name) or one_line(supply.item), one_line(supply.batch)
        if supply.have is False:
            yield deviation(gathered, "part", "", f"{name} was not in hand before the job", supply.seq)
        if supply.state in ("", "in date"):
            continue
        what = f"{name}{f', batch {batch},' if batch else ''} was out of date since {one_line(supply.expires)}"
        if supply.state != "out of date":
            what = f"{name}{f', batch {batch}' if batch else ''}: nobody said until when it may be used"
        yield deviation(gathered, "batch", supply.step, what, supply.seq, reason(gathered, "batch", supply.step))


def bolts(gathered: Gathered) -> Iterator[Deviation]:
    """Fasteners whose reached value is outside its tolerance, as they were left."""
    for bolt in gathered.bolt_of.values():
        if bolt.verdict not in ("", "within"):
            reached, wanted = quantity(bolt.achieved, bolt.achieved_unit), quantity(bolt.amount, bolt.unit)
            what = f"fastener {bolt.bolt} reached {reached} in pass {bolt.stage}, wanted {wanted}"
            yield deviation(gathered, "fasten", bolt.step, what, bolt.seq, reason(gathered, "bolt", bolt.step))
    last = {r.step: r for r in gathered.rounds}
    for r in last.values():
        if r.turned:
            what = "in the last round a fastener still turned, and no further round is recorded"
            yield deviation(gathered, "fasten", r.step, what, r.seq)


def tallies(gathered: Gathered) -> Iterator[Deviation]:
    """What was left inside, with who searched for it; counts that were never closed."""
    for opening, closed in gathered.openings.items():
        step, seq = gathered.opening_step[opening]
        # A count that was passed and never closed: what is said of it stands at the step that should have closed it.
        skipped = _closing(gathered, opening)
        if skipped and not closed:
            step, seq = skipped.step, skipped.seq
        left = [line for line in gathered.tally.values() if line.opening == opening and line.inside]
        if left and (closed or gathered.ended is not None):
            listed = ", ".join(f"{line.inside} × {one_line(line.thing)}" for line in left)
            what = f"left inside {one_line(opening)}: {listed}"
        elif not closed and gathered.ended is not None:
            what = f"the count of {one_line(opening)} was never closed"
        else:
            continue
        searched = [s for s in gathered.searches if s.opening == opening and s.who]
        what += "".join(f"; searched by {one_line(s.who)}{_by_means(s.how)}" for s in searched)
        if not searched:
            what += "; nobody is named who searched for it" if left else ""
        if signed := who_passed(gathered, "tally", step):
            what += f"; passed by {one_line(signed)}"
        given = reason(gathered, "tally", step) or (skipped.reason if skipped else "")
        yield deviation(gathered, "tally", step, what, seq, given)
    for s in gathered.searches:
        if s.thing and not s.who:
            what = f"a foreign part was found in {one_line(s.opening)}: {one_line(s.thing)}"
            yield deviation(gathered, "finding", s.step, what, s.seq)


def _closing(gathered: Gathered, opening: str) -> StepLine | None:
    """The step that should have closed the count and was left out, None where none was."""
    for step in gathered.procedure.steps if gathered.procedure else ():
        detail, line = step.detail, gathered.steps[step.id]
        if isinstance(detail, Tally) and detail.close and detail.opening == opening and line.how == "skipped":
            return line
    return None


def _by_means(how: str) -> str:
    return f" ({one_line(how)})" if how else ""


def alerts(gathered: Gathered) -> Iterator[Deviation]:
    """Alerts nobody answered."""
    for alert in gathered.alerts:
        if alert.how == "unanswered":
            meaning = TONES.get(alert.tone, one_line(alert.tone))
            what = f"the alert for {one_line(alert.name)} ({meaning}) was not answered"
            yield deviation(gathered, "alert", alert.step, what, alert.seq)


def gauges(gathered: Gathered) -> Iterator[Deviation]:
    """Gauges that were out of date when a value was taken with them."""
    for gauge in gathered.gauge_of.values():
        if gauge.state == "out of date":
            name = ", ".join(one_line(piece) for piece in (gauge.gauge, gauge.gauge_number) if piece)
            since = f" since {one_line(gauge.due)}" if gauge.due else ""
            what = f"the calibration of {name} was out of date{since}"
            yield deviation(gathered, "gauge", gauge.step, what, gauge.seq, reason(gathered, "gauge", gauge.step))


def findings(gathered: Gathered) -> Iterator[Deviation]:
    """What the technician found; and asides that were gone through as often as they may be."""
    for branch in gathered.branches:
        if branch.why == "finding":
            led = f", which led to step {branch.to_number}" if branch.to_number else ""
            given = reason(gathered, "finding", branch.step)
            sign = next((s for s in gathered.signatures if s.step == branch.step and s.seq > branch.seq), None)
            signed = f"; {one_line(sign.who)} signed that the job goes on" if sign and not branch.to else ""
            what = f"found: {one_line(branch.what)}{led}{signed}"
            yield deviation(gathered, "finding", branch.step, what, branch.seq, given)


def gaps(gathered: Gathered) -> Iterator[Deviation]:
    """Time in which nobody can say what was done."""
    for gap in gathered.gaps:
        length = span(int(gap.ended - gap.began))
        if gap.kind == "broke off":
            what = f"the sitting of {one_line(gap.by) or 'unknown'} broke off without a word; {length} later it went on"
        else:
            what = f"nothing was entered for {length}, in no pause and with no wait running"
        yield deviation(gathered, "gap", gap.step, what, gap.seq)


def troubles(gathered: Gathered, facts: Sequence[Fact]) -> Iterator[Deviation]:
    """Microphone, voice, disk: whatever did not work."""
    found: dict[tuple[str, str], list[Fact]] = {}
    for fact in facts:
        if fact.kind == "trouble":
            body = worded(fact).body
            found.setdefault((text(body, "part"), text(body, "what")), []).append(fact)
    for (part, what), times in found.items():
        often = f" ({count(len(times), 'time')})" if len(times) > 1 else ""
        yield deviation(gathered, "trouble", "", f"{one_line(part)}: {one_line(what)}{often}", times[0].seq)


def procedure(gathered: Gathered, facts: Sequence[Fact]) -> Iterator[Deviation]:
    """The procedure cannot be read; its file is not the one the job began with."""
    if gathered.procedure is None and facts:
        what = "the procedure in the record cannot be read, so nobody can say whether its steps were done"
        yield deviation(gathered, "procedure", "", what, facts[0].seq)
    for fact in facts:
        if fact.kind == "procedure_changed":
            what = "the procedure's file was changed during the job, which kept to the version it began with"
            yield deviation(gathered, "procedure", "", what, fact.seq, reason(gathered, "procedure", ""))
