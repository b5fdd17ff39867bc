"""The report as plain text, 100 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from datetime import tzinfo
from typing import Any, Final

from bayvoice.report import top
from bayvoice.report.base.blocks import Block, Points, Quote, Table
from bayvoice.report.base.section import JobReport, Section
from bayvoice.report.base.words import Clock, one_line

WIDTH: Final = 100


def to_text(report: JobReport, zone: tzinfo | None = None) -> str:
    """`report` for reading in a terminal. `zone`: the reader's time zone, None for the computer's own."""
    clock = Clock.over(report.header.began, report.header.last, zone)
    return "\n".join(line.rstrip() for line in _lines(report, clock)) + "\n"


def _lines(report: JobReport, clock: Clock) -> Iterator[str]:
    yield from _wrapped(one_line(report.header.title), "", "")
    yield "=" * min(WIDTH, max(1, len(one_line(report.header.title))))
    yield ""
    yield from _wrapped(f"{report.heading.upper()}.", "", "")
    for line in (*top.word_lines(report, clock), top.chain_line(report), *top.trust_lines(report)):
        yield from _wrapped(line, "", "")
    yield ""
    for name, value in top.header_rows(report, clock):
        yield from _wrapped(value, f"{name + ':':<30}", " " * 30)
    for each in report.sections:
        yield from _section(each, report, clock)
    yield ""
    yield from _wrapped(top.STOP_IS, "", "")
    if unknown := top.unknown_line(report):
        yield ""
        yield from _wrapped(unknown, "", "")


def _section(each: Section[Any], report: JobReport, clock: Clock) -> Iterator[str]:
    blocks = [block for block in each.rows(report, clock) if not isinstance(block, Table) or block.rows]
    if blocks:
        yield from _headed(each.title)
    for i, block in enumerate(blocks):
        if i and isinstance(block, Table):
            yield ""
        yield from _block(block, each.title)


def _block(block: Block, title: str) -> Iterator[str]:
    match block:
        case Table():
            if block.caption != title:
                yield from _wrapped(f"{block.caption}:", "", "")
            yield from row_lines(block)
        case Quote():
            yield from _wrapped(block.head + ":", "  ", "  ")
            for line in block.words.split("\n"):
                yield from _wrapped(line, "    ", "    ")
        case Points():
            if block.head:
                yield from _wrapped(f"{block.head}:", "", "")
            for i, point in enumerate(block.points, block.first):
                who = f"({point.who})" if point.who else ""
                said = " ".join(piece for piece in (point.where, point.text, point.more, who) if piece)
                yield from _wrapped(said, f"{i:>2}. " if block.first else "  - ", "    ")


def _headed(title: str) -> Iterator[str]:
    yield ""
    yield from _wrapped(title, "", "")
    yield "-" * min(WIDTH, len(title))


def _wrapped(text: str, first: str, further: str) -> list[str]:
    return textwrap.wrap(
        text, WIDTH, initial_indent=first, subsequent_indent=further, break_on_hyphens=False, expand_tabs=True
    ) or [first]


def table_lines(table: Table) -> Iterator[str]:
    """The rows under the caption as a heading; nothing where there are none."""
    if table.rows:
        yield from _headed(table.caption)
        yield from row_lines(table)


def row_lines(table: Table) -> Iterator[str]:
    """The rows in columns; where they do not fit, the widest column is wrapped."""
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
