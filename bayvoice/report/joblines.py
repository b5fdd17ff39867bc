"""The list of jobs of a bay."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import tzinfo
from typing import Any, Final

from bayvoice.record.chain import wall_text
from bayvoice.report.base.model import Chain
from bayvoice.report.base.section import JobReport
from bayvoice.report.base.words import Clock, one_line
from bayvoice.report.heading import DISTRUST, Heading, heading
from bayvoice.report.sections.foreman import WORDS
from bayvoice.report.sections.sittings import SITTINGS

SAID: Final = {"signed_off": "signed off", "returned": "returned"}
WORST: Final = 110
"""Characters of the line that says what matters most of a job."""


@dataclass(frozen=True, slots=True)
class JobLine:
    """One job in a list.

    Attributes:
        name: the job's name.
        title, machine: of the procedure.
        by: who was at the job last.
        began, last: seconds since 1970 UTC of the first and the last fact.
        state: "open", "done", or "damaged" where the record of this job cannot be read.
        done, total: steps done or skipped, steps of the procedure.
        deviations: how many the report lists.
        word: the foreman's last word, "signed off" or "returned", "" where there is none.
        heading: what its report is headed with; good: nothing in it needs anybody's eye.
        worst: what matters most of what is not in order, "" where all is.
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
    heading: str = ""
    good: bool = True
    worst: str = ""


def job_line(name: str, report: JobReport) -> JobLine:
    """The line of job `name`."""
    head, sittings, words = report.header, SITTINGS.of(report), WORDS.of(report)
    return JobLine(
        name=name,
        title=head.title,
        machine=head.machine,
        by=sittings[-1].hands[-1] if sittings and sittings[-1].hands else "",
        began=head.began,
        last=head.last,
        state=head.state,
        done=head.steps_done,
        total=head.steps_total,
        deviations=len(report.deviations),
        word=SAID.get(words[-1].kind, "") if words else "",
        heading=report.heading,
        good=heading_of(report).good,
        worst=next(iter(flags(report)), ""),
    )


def damaged_line(name: str) -> JobLine:
    """The line of a job whose record cannot be read."""
    return JobLine(
        name,
        "",
        "",
        "",
        0.0,
        0.0,
        "damaged",
        0,
        0,
        0,
        heading=DISTRUST,
        good=False,
        worst="the record of this job cannot be read; run its audit",
    )


def heading_of(report: JobReport) -> Heading:
    """What the job is headed with."""
    return heading(report.chain, len(report.deviations), report.header.state == "open")


def flags(report: JobReport) -> tuple[str, ...]:
    """What is not in order, in words, the worst first: that the record does not hold comes before everything else."""
    broken = (broken_text(report.chain),) if report.chain.ok is False else ()
    return (*broken, *(one.text for one in report.deviations))


def broken_text(chain: Chain) -> str:
    """``fact 12 does not hold: its content is not what was sealed``."""
    return f"{f'fact {chain.seq}' if chain.seq else 'the record'} does not hold: {one_line(chain.why)}"


def render_jobs(lines: Sequence[JobLine], zone: tzinfo | None = None) -> str:
    """The list as a plain text table; under a job that is not in order what matters most of it."""
    if not lines:
        return "No jobs in this record.\n"
    clock = Clock(zone)
    rows = [("JOB", "STATE", "STEPS", "RESULT", "LAST", "BY", "PROCEDURE")]
    for line in lines:
        damaged = line.state == "damaged"
        rows.append(
            (
                one_line(line.name),
                line.word if line.word and not damaged else line.state,
                "" if damaged else f"{line.done}/{line.total}",
                line.heading,
                "" if damaged else clock.full(line.last),
                one_line(line.by),
                one_line(f"{line.title}, {line.machine}" if line.machine else line.title),
            )
        )
    widths = [max(len(row[i]) for row in rows) for i in range(6)]
    shown = []
    for row, worst in zip(rows, ("", *(line.worst for line in lines)), strict=True):
        shown.append("  ".join([*(c.ljust(w) for c, w in zip(row, widths, strict=False)), row[6]]).rstrip())
        if worst:
            shown.append(f"    {textwrap.shorten(one_line(worst), WORST, placeholder=' …')}")
    return "".join(f"{line}\n" for line in shown)


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
            "heading": line.heading,
            "in_order": line.good,
            "worst": line.worst,
        }
        for line in lines
    ]
