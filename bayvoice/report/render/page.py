"""The report as one HTML page: nothing to fetch, nothing to run, reads on a screen and on paper."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import tzinfo
from typing import Any, Final

from bayvoice.report import top
from bayvoice.report.base.blocks import Bad, Block, Head, Points, Quote, Table
from bayvoice.report.base.markup import Markup, el
from bayvoice.report.base.section import JobReport, Section
from bayvoice.report.base.words import Clock, one_line
from bayvoice.report.joblines import heading_of
from bayvoice.report.render.sound import Fetch, Sounds, no_sound
from bayvoice.report.render.style import SHEET

POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'; media-src data:"
"""Content Security Policy: whatever a text of the record holds, the page runs nothing and fetches nothing."""

_SHORT: Final = 20
"""Rows of a table that paper keeps on one page."""


def to_html(report: JobReport, zone: tzinfo | None = None, fetch: Fetch = no_sound) -> str:
    """`report` as a whole HTML document.

    Args:
        report: what it says.
        zone: the reader's time zone, None for the computer's own.
        fetch: gives the sound of notes, which goes into the page.
    """
    clock = Clock.over(report.header.began, report.header.last, zone)
    title = one_line(report.header.title) or "Job"
    doubt = {"class_": "doubt"} if report.chain.ok is False else {}
    sounds = Sounds(fetch)
    shown = (part for each in report.sections for part in _section(each, report, clock, sounds))
    body = el("main", *_head(report, clock, title), *shown, **doubt)
    return document(f"{title} – {one_line(report.header.job)}", body, _footer(report))


def document(title: str, *body: Markup) -> str:
    """A page of our own: style inside, nothing fetched, nothing run."""
    head = el(
        "head",
        el("meta", charset="utf-8"),
        el("meta", name="viewport", content="width=device-width, initial-scale=1"),
        el("meta", http_equiv="Content-Security-Policy", content=POLICY),
        el("meta", name="color-scheme", content="light dark"),
        el("title", title),
        # A style element holds raw text: SHEET is ours and nothing of the record goes into it.
        Markup(f"<style>{SHEET}</style>"),
    )
    return f"<!DOCTYPE html>\n{el('html', head, el('body', *body), lang='en')}\n"


def _head(report: JobReport, clock: Clock, title: str) -> Iterator[Markup]:
    yield el("p", f"Job record, {one_line(report.header.machine) or 'machine not named'}", class_="kicker")
    yield el("h1", title)
    yield _result(report, clock)
    yield el("dl", *(el("div", el("dt", name), el("dd", value)) for name, value in top.header_rows(report, clock)))


def _result(report: JobReport, clock: Clock) -> Markup:
    trust = el("p", top.chain_line(report), **({"class_": "broken"} if report.chain.ok is False else {}))
    said = [el("p", line, class_="word") for line in top.word_lines(report, clock)]
    more = [el("p", line) for line in top.trust_lines(report)]
    off = "" if heading_of(report).good else " off"
    first = (trust, *said) if report.chain.ok is False else (*said, trust)
    return el("div", el("strong", report.heading), *first, *more, class_=f"result{off}")


def _section(each: Section[Any], report: JobReport, clock: Clock, sounds: Sounds) -> Iterator[Markup]:
    """Heading, picture and blocks of a section; nothing where it has nothing to show."""
    blocks = [block for block in each.rows(report, clock) if not isinstance(block, Table) or block.rows]
    if not blocks:
        return
    if picture := each.picture(report, clock):
        yield el("section", el("h2", each.title), picture)
    elif len(blocks) == 1 and isinstance(table := blocks[0], Table) and not each.apart:
        yield from section(each.title, table)
        return
    else:
        yield el("h2", each.title)
    for block in blocks:
        if each.apart and isinstance(block, Table):
            yield el("div", table_box(block), **_whole(block))
        else:
            yield from _block(block, sounds)


def _block(block: Block, sounds: Sounds) -> Iterator[Markup]:
    match block:
        case Table():
            yield table_box(block)
        case Quote():
            quote = el("blockquote", block.words) if block.words else Markup("")
            yield el("div", el("p", block.head, class_="kicker"), quote, sounds.player(block), class_="note")
        case Points():
            if block.head:
                yield el("h3", block.head)
            yield _points(block)


def _points(block: Points) -> Markup:
    if not block.first:
        return el("ul", *(el("li", point.text) for point in block.points))
    items = []
    for point in block.points:
        where = el("span", point.where, class_="where") if point.where else Markup("")
        more = el("span", f" {point.more}") if point.more else Markup("")
        items.append(el("li", el("div", el("span", where, point.text, more), el("span", point.who, class_="who"))))
    return el("ol", *items, class_="deviations", start=block.first)


def _whole(table: Table) -> dict[str, str]:
    """On paper a short table is not broken."""
    return {"class_": "whole"} if len(table.rows) <= _SHORT else {}


def section(title: str, table: Table) -> Iterator[Markup]:
    """A heading and a table, nothing where the table is empty."""
    if table.rows:
        yield el("section", el("h2", title), table_box(table), **_whole(table))


def table_box(table: Table) -> Markup:
    """A table in a box that scrolls sideways.

    Where a heading stands above it that says enough, the caption is there for those who listen, and is not shown.
    """
    heads = (*table.heads, *((table.extra,) if table.extra else ()))
    rows = []
    for i, row in enumerate(table.rows):
        cells = []
        for j, shown in enumerate((*row, *(("",) if table.extra else ()))):
            inside = (table.cell(i, j, shown) if table.cell else None) or shown
            if j == 0:
                cells.append(el("th", inside, scope="row"))
            else:
                cells.append(el("td", inside, **_look(heads[j], shown)))
        rows.append(el("tr", *cells))
    table_el = el(
        "table",
        el("caption", table.caption, **({"class_": "heard"} if table.titled else {})),
        el("thead", el("tr", *(el("th", head, scope="col") for head in heads))),
        el("tbody", *rows),
        **({"class_": table.look} if table.look else {}),
    )
    # What scrolls sideways must be reachable by keyboard; on paper a short table stays with its heading.
    return el("div", table_el, class_="scroll", tabindex=0, role="region", aria_label=table.caption)


def _look(head: str, shown: str) -> dict[str, str]:
    """The class of a cell: that it is not in order counts more than what its column looks like."""
    if isinstance(shown, Bad):
        return {"class_": "off"}
    return {"class_": head.look} if isinstance(head, Head) else {}


def _footer(report: JobReport) -> Markup:
    lines = [el("p", "This page needs no network and runs no program. It shows what was recorded, nothing else.")]
    lines.append(el("p", top.STOP_IS))
    if report.chain.head:
        lines.append(el("p", f"Seal of the last fact: {one_line(report.chain.head)}"))
    if unknown := top.unknown_line(report):
        lines.append(el("p", unknown))
    return el("footer", *lines)
