"""From the facts of a job to what the foreman reads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from bayvoice.dialogue.steps import KINDS
from bayvoice.errors import BayError
from bayvoice.job.facts import Fact
from bayvoice.procedure.load import load_kept
from bayvoice.procedure.model import Procedure
from bayvoice.report.base.common import Common, text
from bayvoice.report.base.judging import other_overrides, worst_first
from bayvoice.report.base.model import Chain, Deviation, Header
from bayvoice.report.base.section import Fold, Found, JobReport, Section
from bayvoice.report.base.worded import worded
from bayvoice.report.heading import heading
from bayvoice.report.sections import SECTIONS
from bayvoice.report.sections.steps import STEPS


@lru_cache(maxsize=64)
def loaded(source: str) -> Procedure | None:
    """The procedure in `source`, None where it cannot be read any more."""
    try:
        return load_kept(source, "the procedure in the record", KINDS)
    except BayError:
        return None


def procedure_of(facts: Sequence[Fact]) -> Procedure | None:
    """The procedure the job began with, read from its first fact; None where that cannot be read any more."""
    source = text(facts[0].body, "text") if facts else ""
    return loaded(source) if source else None


def summarise(
    facts: Sequence[Fact],
    procedure: Procedure | None,
    chain: Chain | None = None,
    sections: tuple[Section[Any], ...] = SECTIONS,
) -> JobReport:
    """Fold and judge the facts of one job.

    Args:
        facts: all facts of the job, in order.
        procedure: the one it began with (`procedure_of`); without it steps have no text and their demands are unknown.
        chain: what the audit of the record said.
        sections: what the report consists of, in order; `SECTIONS` among them.

    Raises:
        BayError: there are no facts.
    """
    if not facts:
        raise BayError("this job has no facts", "report", "look at the list of jobs")
    found = gather(facts, procedure, sections)
    deviations = _deviations(found)
    chain, header = chain or Chain(), _header(found, facts)
    broken = chain.ok is False
    return JobReport(
        header=header,
        result="does not hold" if broken else f"deviations: {len(deviations)}" if deviations else "in order",
        in_order=not deviations and not broken,
        chain=chain,
        deviations=deviations,
        facts=tuple(facts),
        heading=heading(chain, len(deviations), header.state == "open").text,
        found=found,
    )


def gather(facts: Sequence[Fact], procedure: Procedure | None, sections: tuple[Section[Any], ...]) -> Found:
    """Let every section take all facts of a job, once, in order."""
    common = Common(procedure)
    found = Found(common, sections, {section.key: section.begin(common) for section in sections})
    folds: dict[str, list[tuple[Any, Fold[Any]]]] = {}
    for section in sections:
        for kind, fold in section.folds().items():
            folds.setdefault(kind, []).append((found.states[section.key], fold))
    watching = [section for section in sections if type(section).before is not Section.before]
    for fact in map(worded, facts):
        for section in watching:
            section.before(found, fact)
        common.take(fact)
        if again := common.done_again(fact):
            for section in sections:
                section.void(found.states[section.key], again)
        for state, fold in folds.get(fact.kind, ()):
            fold(state, common, fact)
    for section in sections:
        section.end(found.states[section.key], common)
    return found


def _deviations(found: Found) -> tuple[Deviation, ...]:
    """All deviations, the worst first. Each thing once: an override that explains one gives it its reason."""
    judged = [one for section in found.sections for one in section.deviations(found)]
    # Only now: what is left over explains nothing else.
    return worst_first([*judged, *other_overrides(found.common)])


def _header(found: Found, facts: Sequence[Fact]) -> Header:
    first: Mapping[str, Any] = facts[0].body
    common, lines = found.common, STEPS.of(found).lines
    procedure = common.procedure
    return Header(
        job=text(first, "job"),
        title=text(first, "title") or (procedure.title if procedure else ""),
        machine=text(first, "machine") or (procedure.machine if procedure else ""),
        procedure=text(first, "procedure"),
        sha256=text(first, "sha256"),
        people=common.workers(),
        began=facts[0].wall,
        ended=common.ended,
        last=facts[-1].wall,
        worked=int(common.worked),
        state="open" if common.ended is None else "done",
        steps_done=sum(1 for line in lines if line.how and not line.aside),
        steps_total=len(procedure.line) if procedure else len(lines),
    )
