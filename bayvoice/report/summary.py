"""From the facts of a job to what the foreman reads."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from bayvoice.errors import BayError
from bayvoice.job.facts import Fact
from bayvoice.procedure.load import load_kept
from bayvoice.procedure.model import Procedure
from bayvoice.report import deviations
from bayvoice.report.folding import take
from bayvoice.report.gathered import Gathered, text
from bayvoice.report.heading import heading
from bayvoice.report.model import Chain, Header, JobReport


@lru_cache(maxsize=64)
def loaded(source: str) -> Procedure | None:
    """The procedure in `source`, None where it cannot be read any more."""
    try:
        return load_kept(source, "the procedure in the record")
    except BayError:
        return None


def procedure_of(facts: Sequence[Fact]) -> Procedure | None:
    """The procedure the job began with, read from its first fact; None where that cannot be read any more."""
    source = text(facts[0].body, "text") if facts else ""
    return loaded(source) if source else None


def summarise(facts: Sequence[Fact], procedure: Procedure | None, chain: Chain | None = None) -> JobReport:
    """Fold and judge the facts of one job.

    Args:
        facts: all facts of the job, in order.
        procedure: the one it began with (`procedure_of`); without it steps have no text and their demands are unknown.
        chain: what the audit of the record said.

    Raises:
        BayError: there are no facts.
    """
    if not facts:
        raise BayError("this job has no facts", "report", "look at the list of jobs")
    gathered = Gathered(procedure)
    take(gathered, facts)
    found = deviations.find(gathered, facts)
    chain, header = chain or Chain(), _header(gathered, facts)
    broken = chain.ok is False
    return JobReport(
        header=header,
        result="does not hold" if broken else f"deviations: {len(found)}" if found else "in order",
        in_order=not found and not broken,
        chain=chain,
        words=tuple(gathered.words),
        deviations=found,
        measurements=tuple(gathered.measurements.values()),
        gauges=tuple(gathered.gauges),
        checks=tuple(gathered.checks),
        stages=tuple(gathered.stages),
        bolts=tuple(gathered.bolts),
        rounds=tuple(gathered.rounds),
        waits=tuple(gathered.waits),
        alerts=tuple(gathered.alerts),
        ambient=tuple(gathered.ambient),
        refusals=tuple(gathered.refusals),
        parts=tuple(gathered.parts),
        supplies=tuple(gathered.supplies.values()),
        tally=tuple(gathered.tally.values()),
        searches=tuple(gathered.searches),
        signatures=tuple(gathered.signatures),
        deferred=tuple(gathered.deferred),
        helped=tuple(gathered.helped),
        branches=tuple(gathered.branches),
        reckoned=tuple(gathered.reckoned),
        notes=tuple(gathered.notes),
        steps=tuple(gathered.steps.values()),
        sittings=tuple(gathered.sittings),
        handovers=tuple(gathered.handovers),
        gaps=tuple(gathered.gaps),
        facts=tuple(facts),
        heading=heading(chain, len(found), header.state == "open").text,
    )


def _header(gathered: Gathered, facts: Sequence[Fact]) -> Header:
    first = facts[0].body
    procedure = gathered.procedure
    return Header(
        job=text(first, "job"),
        title=text(first, "title") or (procedure.title if procedure else ""),
        machine=text(first, "machine") or (procedure.machine if procedure else ""),
        procedure=text(first, "procedure"),
        sha256=text(first, "sha256"),
        people=gathered.workers(),
        began=facts[0].wall,
        ended=gathered.ended,
        last=facts[-1].wall,
        worked=int(gathered.worked),
        state="open" if gathered.ended is None else "done",
        steps_done=sum(1 for line in gathered.steps.values() if line.how and not line.aside),
        steps_total=len(procedure.line) if procedure else len(gathered.steps),
    )
