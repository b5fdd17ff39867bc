"""The report as plain text, 100 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from datetime import tzinfo
from typing import Final

from bayvoice.job.facts import KINDS
from bayvoice.report import tables, tables_people, tables_work
from bayvoice.report.model import JobReport
from bayvoice.report.tables import Table
from bayvoice.report.words import LEVELS, Clock, one_line, sentence

WIDTH: Final = 100


def to_text(report: JobReport, zone: tzinfo | None = None) -> str:
    """`report` for reading in a terminal. `zone`: the reader's time zone, None for the computer's own."""
    return (
        "\n".join(line.rstrip() for line in _lines(report, Clock.over(report.header.began, report.header.last, zone)))
        + "\n"
    )


def _lines(report: JobReport, clock: Clock) -> Iterator[str]:
    yield from _wrapped(one_line(report.header.title), "", "")
    yield "=" * min(WIDTH, max(1, len(one_line(report.header.title))))
    yield ""
    yield from _wrapped(f"{tables.headline(report).upper()}.", "", "")
    for line in (*tables.word_lines(report, clock), tables.chain_line(report), *tables.trust_lines(report)):
        yield from _wrapped(line, "", "")
    yield ""
    for name, value in tables.header_rows(report, clock):
        yield from _wrapped(value, f"{name + ':':<30}", " " * 30)
    if report.deviations:
        yield from _headed("Deviations, the worst first")
        level = ""
        for i, d in enumerate(report.deviations, 1):
            where = f"Step {tables.step_name(d.number, d.step)}: " if d.step else ""
            by = f"{one_line(d.by)}, " if d.by else ""
            reason = f" Reason given: {sentence(one_line(d.reason))}" if d.reason else ""
            what = sentence(d.text if d.step else d.text[:1].upper() + d.text[1:])
            if d.level != level:
                level = d.level
                yield from _wrapped(f"{LEVELS.get(level, level)}:", "", "")
            yield from _wrapped(f"{where}{what}{reason} ({by}{clock.time(d.wall)})", f"{i:>2}. ", "    ")
    if gaps := tables_people.gap_lines(report, clock):
        yield from _headed("Also look at")
        for gap in gaps:
            yield from _wrapped(sentence(gap[:1].upper() + gap[1:]), "  - ", "    ")
    for table in _tables(report, clock):
        yield from table_lines(table)
    if report.notes:
        yield from _headed("Notes")
        for head, note in tables.note_lines(report, clock):
            yield from _wrapped(head + ":", "  ", "  ")
            for line in note.split("\n"):
                yield from _wrapped(line, "    ", "    ")
    for table in (
        tables_work.step_rows(report, clock), tables_people.sitting_rows(report, clock),
        tables_people.handover_rows(report, clock), tables.fact_rows(report),
    ):  # fmt: skip
        yield from table_lines(table)
    yield ""
    yield from _wrapped(tables.STOP_IS, "", "")
    if unknown := tables.unknown_kinds(report, frozenset(KINDS)):
        yield ""
        yield from _wrapped(f"Kinds of fact this version does not know: {', '.join(unknown)}.", "", "")


def _tables(report: JobReport, clock: Clock) -> tuple[Table, ...]:
    return (
        tables_work.measurement_rows(report, clock), tables_work.repeated_rows(report),
        tables_work.gauge_rows(report, clock), tables_work.check_rows(report, clock),
        tables_work.stage_rows(report, clock), *tables_work.bolt_tables(report, clock),
        tables_work.wait_rows(report, clock), tables_work.ambient_rows(report, clock),
        tables_people.alert_rows(report, clock), tables_work.refusal_rows(report, clock),
        tables_work.part_rows(report, clock), tables_work.supply_rows(report), tables_work.tally_rows(report),
        tables_work.search_rows(report, clock), tables_people.signature_rows(report, clock),
        tables_people.branch_rows(report, clock), tables_people.helped_rows(report, clock),
        tables_people.reckoned_rows(report, clock),
    )  # fmt: skip


def _headed(title: str) -> Iterator[str]:
    yield ""
    yield from _wrapped(title, "", "")
    yield "-" * min(WIDTH, len(title))


def _wrapped(text: str, first: str, further: str) -> list[str]:
    return textwrap.wrap(
        text, WIDTH, initial_indent=first, subsequent_indent=further, break_on_hyphens=False, expand_tabs=True
    ) or [first]


def table_lines(table: Table) -> Iterator[str]:
    """The rows in columns; where they do not fit, the widest column is wrapped."""
    if not table.rows:
        return
    yield from _headed(table.caption)
    every = (table.heads, *table.rows)
    widths = [max(len(row[i]) for row in every) for i in range(len(table.heads))]
    while sum(widths) + 2 * (len(widths) - 1) > WIDTH:
        widest = widths.index(max(widths))
        widths[widest] -= 1
    for row in every:
        cells = [
            textwrap.wrap(cell, width, break_on_hyphens=False) or [""] for cell, width in zip(row, widths, strict=True)
        ]
        for i in range(max(len(cell) for cell in cells)):
            yield "  ".join((cell[i] if i < len(cell) else "").ljust(w) for cell, w in zip(cells, widths, strict=True))
