"""The list of jobs of a bay."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import tzinfo
from typing import Any

from bayvoice.core.effects import Fact
from bayvoice.edges.chain import wall_text
from bayvoice.report.summary import procedure_of, summarise
from bayvoice.report.words import Clock, one_line


@dataclass(frozen=True, slots=True)
class JobLine:
    """One job in a list.

    Attributes:
        name: the job's name.
        title, machine: of the procedure.
        by: who began the last sitting.
        began, last: seconds since 1970 UTC of the first and the last fact.
        state: "open", "done", or "damaged" where the record of this job cannot be read.
        done, total: steps done or skipped, steps of the procedure.
        deviations: how many the report lists.
        word: the foreman's last word, "signed off" or "returned", "" where there is none.
    """

    name: str
    title: str
    machine: str
    by: str
    began: float
    last: float
    state: str
    done: int
    total: int
    deviations: int
    word: str = ""


def job_line(name: str, facts: Sequence[Fact]) -> JobLine:
    """Fold the facts of job `name`; BayError where there are none."""
    report = summarise(facts, procedure_of(facts))
    head = report.header
    return JobLine(
        name, head.title, head.machine, report.sittings[-1].by if report.sittings else "", head.began, head.last,
        head.state, head.steps_done, head.steps_total, len(report.deviations),
        {"signed_off": "signed off", "returned": "returned"}.get(report.words[-1].kind, "") if report.words else "",
    )  # fmt: skip


def render_jobs(lines: Sequence[JobLine], zone: tzinfo | None = None) -> str:
    """The list as a plain text table, at most 100 columns where names are not longer than usual."""
    if not lines:
        return "No jobs in this record.\n"
    clock = Clock(zone)
    rows = [("JOB", "STATE", "STEPS", "DEVIATIONS", "LAST", "BY", "PROCEDURE")]
    for line in lines:
        damaged = line.state == "damaged"
        rows.append(
            (
                one_line(line.name),
                line.word if line.word and not damaged else line.state,
                "" if damaged else f"{line.done}/{line.total}",
                "" if damaged else str(line.deviations),
                "" if damaged else clock.full(line.last),
                one_line(line.by),
                one_line(f"{line.title}, {line.machine}" if line.machine else line.title),
            )
        )
    widths = [max(len(row[i]) for row in rows) for i in range(6)]
    return "".join(
        "  ".join([*(c.ljust(w) for c, w in zip(row, widths, strict=False)), row[6]]).rstrip() + "\n" for row in rows
    )


def jobs_json(lines: Sequence[JobLine]) -> list[dict[str, Any]]:
    """The list for programs; times as ISO 8601 UTC."""
    return [
        {
            "job": line.name,
            "title": line.title,
            "machine": line.machine,
            "by": line.by,
            "began": wall_text(line.began),
            "last": wall_text(line.last),
            "state": line.state,
            "steps_done": line.done,
            "steps_total": line.total,
            "deviations": line.deviations,
            "word": line.word,
        }
        for line in lines
    ]
