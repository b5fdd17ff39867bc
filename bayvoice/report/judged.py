"""A job of the record with the audit's word on it: what every report, list and live look is made from."""

from __future__ import annotations

from collections.abc import Sequence

from bayvoice.errors import BayError
from bayvoice.job.facts import Fact
from bayvoice.record.sqlite.store import Store
from bayvoice.report.audit import JobAudit, removal_text, trust_of
from bayvoice.report.base.model import Chain
from bayvoice.report.base.section import JobReport
from bayvoice.report.base.words import Clock
from bayvoice.report.joblines import JobLine, damaged_line, job_line
from bayvoice.report.summary import procedure_of, summarise


def chain_of(found: JobAudit) -> Chain:
    """The audit of a job as its report shows it."""
    fault, seal = found.fault, found.seal
    return Chain(
        ok=fault is None,
        seq=fault.seq if fault else 0,
        why=fault.why if fault else "",
        means=fault.means if fault else "",
        sealed=str(seal.said.get("sealed", "")) if seal else "",
        key=seal.key if seal else "",
        removed=tuple(removal_text(gone, Clock()) for gone in found.removed),
        head=found.head,
    )


def report_of(store: Store, job: str, badges: bool = False) -> JobReport:
    """The report of a job, with what the audit says of it. BayError where there is no such job or it is unreadable."""
    return judge(store, job, store.facts(job, badges))


def judge(store: Store, job: str, facts: Sequence[Fact]) -> JobReport:
    """The report of a job whose facts are known already. BayError where there are none."""
    return summarise(facts, procedure_of(facts), chain_of(trust_of(store, job)))


def job_lines(store: Store, badges: bool = False, last: int | None = None) -> list[JobLine]:
    """One line a job, the one begun last first; `last`: only so many."""
    lines = []
    for name in store.job_names()[::-1][:last]:
        try:
            lines.append(job_line(name, report_of(store, name, badges)))
        except BayError:
            # One job that cannot be read must not hide the others.
            lines.append(damaged_line(name))
    return lines
