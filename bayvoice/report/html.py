"""The report as one HTML page: nothing to fetch, nothing to run, reads on a screen and on paper."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import tzinfo
from typing import Final

from bayvoice.core.facts import KINDS
from bayvoice.report import tables
from bayvoice.report.markup import Markup, el, join
from bayvoice.report.model import JobReport, Measurement
from bayvoice.report.pictures import limit_picture, wait_picture
from bayvoice.report.style import SHEET
from bayvoice.report.tables import Table
from bayvoice.report.words import Clock, one_line, quantity, sentence

_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'"
"""Content Security Policy: whatever a text of the record holds, the page runs nothing and fetches nothing."""

_GOOD: Final = frozenset({"within", "in window", "in order", "new", "done", "open", "yes"})
_JUDGED: Final = frozenset({"Verdict", "Fitted", "How", "Count closed"})

_SHORT: Final = 20
"""Rows of a table that paper keeps on one page."""

Cell = Callable[[int, int, str], Markup | None]


def to_html(report: JobReport, zone: tzinfo | None = None) -> str:
    """`report` as a whole HTML document. `zone`: the reader's time zone, None for the computer's own."""
    clock = Clock.over(report.header.began, report.header.last, zone)
    title = one_line(report.header.title) or "Job"
    head = el(
        "head",
        el("meta", charset="utf-8"),
        el("meta", name="viewport", content="width=device-width, initial-scale=1"),
        el("meta", http_equiv="Content-Security-Policy", content=_POLICY),
        el("meta", name="color-scheme", content="light dark"),
        el("title", f"{title} – {one_line(report.header.job)}"),
        # A style element holds raw text: SHEET is ours and nothing of the record goes into it.
        Markup(f"<style>{SHEET}</style>"),
    )
    body = el("body", el("main", *_sections(report, clock, title)), _footer(report))
    return f"<!DOCTYPE html>\n{el('html', head, body, lang='en')}\n"


def _sections(report: JobReport, clock: Clock, title: str) -> Iterator[Markup]:
    yield el("p", f"Job record, {one_line(report.header.machine) or 'machine not named'}", class_="kicker")
    yield el("h1", title)
    off = "" if report.in_order else " off"
    trust = el("p", tables.chain_line(report), **({"class_": "broken"} if report.chain.ok is False else {}))
    yield el("div", el("strong", tables.headline(report)), trust, class_=f"result{off}")
    yield el("dl", *(el("div", el("dt", name), el("dd", value)) for name, value in tables.header_rows(report, clock)))
    yield from _deviations(report, clock)
    yield from _remarks(report, clock)
    yield from _measurements(report, clock)
    yield from _section("Checks", tables.check_rows(report, clock))
    yield from _section("Bolts and other fasteners", tables.stage_rows(report, clock))
    yield from _waits(report, clock)
    yield from _section("Refused", tables.refusal_rows(report, clock))
    yield from _section("Parts replaced", tables.part_rows(report, clock))
    yield from _section("Opening tally", tables.tally_rows(report))
    yield from _section("Signed", tables.signature_rows(report, clock))
    if report.notes:
        yield el("h2", "Notes")
        for head, note in tables.note_lines(report, clock):
            yield el("div", el("p", head, class_="kicker"), el("blockquote", note))
    yield from _section("Steps", tables.step_rows(report, clock))
    yield from _section("People", tables.sitting_rows(report, clock))
    yield from _section("Every fact", tables.fact_rows(report), class_="facts")


def _deviations(report: JobReport, clock: Clock) -> Iterator[Markup]:
    if not report.deviations:
        return
    yield el("h2", "Deviations")
    items = []
    for d in report.deviations:
        where = el("span", f"Step {tables.step_name(d.number, d.step)}:", class_="where") if d.step else Markup("")
        reason = el("span", f" Reason given: {sentence(one_line(d.reason))}") if d.reason else Markup("")
        by = f"{one_line(d.by)}, " if d.by else ""
        items.append(
            el(
                "li",
                where,
                sentence(d.text if d.step else d.text[:1].upper() + d.text[1:]),
                reason,
                el("span", f"{by}{clock.time(d.wall)}", class_="who"),
            )
        )
    yield el("ol", *items, class_="deviations")


def _remarks(report: JobReport, clock: Clock) -> Iterator[Markup]:
    gaps = tables.gap_lines(report, clock)
    if gaps:
        yield el("h2", "Also look at")
        yield el("ul", *(el("li", sentence(gap)) for gap in gaps))


def _measurements(report: JobReport, clock: Clock) -> Iterator[Markup]:
    table = tables.measurement_rows(report, clock)
    value = table.heads.index("Value")

    def cell(row: int, column: int, shown: str) -> Markup | None:
        m = report.measurements[row]
        return _value(m, shown, clock) if column == value else limit_picture(m) if column == len(table.heads) else None

    yield from _section("Measurements", table, cell, extra="Against the limits")


def _value(m: Measurement, shown: str, clock: Clock) -> Markup:
    """The standing value; below it what it replaced, struck, with who did so and when."""
    struck = [
        join(
            el("br"),
            el("s", quantity(old.reading.value, m.unit)),
            el("small", f"until {clock.time(old.wall)}, by {one_line(old.by) or 'unknown'}"),
        )
        for old in m.earlier
    ]
    said = m.standing
    spoken = (
        el("small", f"said as {quantity(said.said_value, said.said_unit)}")
        if said.said_unit and said.said_unit != said.unit
        else Markup("")
    )
    return join(el("strong", shown), spoken, *struck)


def _waits(report: JobReport, clock: Clock) -> Iterator[Markup]:
    table = tables.wait_rows(report, clock)

    def cell(row: int, column: int, shown: str) -> Markup | None:
        return wait_picture(report.waits[row]) if column == len(table.heads) else None

    yield from _section("Waits", table, cell, extra="Against its window")


def _section(
    title: str, table: Table, cell: Cell | None = None, *, extra: str = "", class_: str = ""
) -> Iterator[Markup]:
    """A heading and a table, nothing where the table is empty. `cell` may replace what a cell shows."""
    if not table.rows:
        return
    heads = (*table.heads, *((extra,) if extra else ()))
    rows = []
    for i, row in enumerate(table.rows):
        cells = []
        for j, shown in enumerate((*row, *(("",) if extra else ()))):
            inside = (cell(i, j, shown) if cell else None) or shown
            if j == 0:
                cells.append(el("th", inside, scope="row"))
            elif heads[j] in _JUDGED and shown not in _GOOD:
                cells.append(el("td", inside, class_="off"))
            elif heads[j] in ("At", "From", "To", "When", "Value", "Limits", "Taken", "Verdict"):
                cells.append(el("td", inside, class_="nowrap"))
            else:
                cells.append(el("td", inside))
        rows.append(el("tr", *cells))
    table_el = el(
        "table",
        el("caption", table.caption),
        el("thead", el("tr", *(el("th", head, scope="col") for head in heads))),
        el("tbody", *rows),
        **({"class_": class_} if class_ else {}),
    )
    # What scrolls sideways must be reachable by keyboard; on paper a short table stays with its heading.
    scroll = el("div", table_el, class_="scroll", tabindex=0, role="region", aria_label=table.caption)
    yield el("section", el("h2", title), scroll, **({"class_": "whole"} if len(rows) <= _SHORT else {}))


def _footer(report: JobReport) -> Markup:
    unknown = tables.unknown_kinds(report, frozenset(KINDS))
    lines = [el("p", "This page needs no network and runs no program. It shows what was recorded, nothing else.")]
    if unknown:
        lines.append(el("p", f"Kinds of fact this version does not know: {', '.join(unknown)}."))
    return el("footer", *lines)
