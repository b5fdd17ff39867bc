"""The report as one HTML page: nothing to fetch, nothing to run, reads on a screen and on paper."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import tzinfo
from typing import Final

from bayvoice.job.facts import KINDS
from bayvoice.report import tables, tables_people, tables_work
from bayvoice.report.joblines import heading_of
from bayvoice.report.lines import Measurement
from bayvoice.report.markup import Markup, el, join
from bayvoice.report.model import JobReport
from bayvoice.report.pictures import SLOW, limit_picture, pace_picture, wait_picture
from bayvoice.report.sound import Fetch, Sounds, no_sound
from bayvoice.report.style import SHEET
from bayvoice.report.tables import Table
from bayvoice.report.timeline import timeline
from bayvoice.report.words import LEVELS, Clock, one_line, quantity, sentence, uncertain

POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'; media-src data:"
"""Content Security Policy: whatever a text of the record holds, the page runs nothing and fetches nothing."""

_GOOD: Final = frozenset(
    {"within", "in window", "in order", "new", "done", "open", "yes", "restarted", "in hand", "in date", "–", "0"}
)
_JUDGED: Final = frozenset(
    {"Verdict", "Fitted", "Result", "Count closed", "Left inside", "Before the job", "Date", "State"}
)
_TIGHT: Final = frozenset({"At", "From", "To", "When", "Value", "Limits", "Taken", "Verdict", "Time", "Given", "Mean"})

_SHORT: Final = 20
"""Rows of a table that paper keeps on one page."""

Cell = Callable[[int, int, str], Markup | None]


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
    body = el("main", *_sections(report, clock, title, Sounds(fetch)), **doubt)
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


def _sections(report: JobReport, clock: Clock, title: str, sounds: Sounds) -> Iterator[Markup]:
    yield el("p", f"Job record, {one_line(report.header.machine) or 'machine not named'}", class_="kicker")
    yield el("h1", title)
    yield _result(report, clock)
    yield el("dl", *(el("div", el("dt", name), el("dd", value)) for name, value in tables.header_rows(report, clock)))
    yield from _deviations(report, clock)
    yield from _remarks(report, clock)
    yield from _measurements(report, clock)
    yield from section("Repeated readings", tables_work.repeated_rows(report))
    yield from _bolts(report, clock)
    yield from _waits(report, clock)
    yield from section("Checks", tables_work.check_rows(report, clock))
    yield from section("Parts replaced", tables_work.part_rows(report, clock))
    yield from section("Parts and batches", tables_work.supply_rows(report))
    yield from section("Opening tally", tables_work.tally_rows(report))
    yield from section("Searched", tables_work.search_rows(report, clock))
    yield from section("Steps signed", tables_people.signature_rows(report, clock))
    yield from section("Found on the way", tables_people.branch_rows(report, clock))
    yield from _notes(report, clock, sounds)
    yield from _steps(report, clock)
    yield from section("Done together", tables_people.helped_rows(report, clock))
    yield from section("People", tables_people.sitting_rows(report, clock))
    yield from section("Handed over", tables_people.handover_rows(report, clock))
    yield from section("Gauges", tables_work.gauge_rows(report, clock))
    yield from section("Surroundings", tables_work.ambient_rows(report, clock))
    yield from section("Sums asked for", tables_people.reckoned_rows(report, clock))
    yield from section("Alerts", tables_people.alert_rows(report, clock))
    yield from section("Refused", tables_work.refusal_rows(report, clock))
    yield from section("Every fact", tables.fact_rows(report), class_="facts")


def _result(report: JobReport, clock: Clock) -> Markup:
    trust = el("p", tables.chain_line(report), **({"class_": "broken"} if report.chain.ok is False else {}))
    said = [el("p", line, class_="word") for line in tables.word_lines(report, clock)]
    more = [el("p", line) for line in tables.trust_lines(report)]
    off = "" if heading_of(report).good else " off"
    first = (trust, *said) if report.chain.ok is False else (*said, trust)
    return el("div", el("strong", tables.headline(report)), *first, *more, class_=f"result{off}")


def _deviations(report: JobReport, clock: Clock) -> Iterator[Markup]:
    if not report.deviations:
        return
    yield el("h2", "Deviations, the worst first")
    for level in dict.fromkeys(d.level for d in report.deviations):
        yield el("h3", LEVELS.get(level, level))
        yield from _of_level(report, clock, level)


def _of_level(report: JobReport, clock: Clock, level: str) -> Iterator[Markup]:
    """The deviations of one level; their numbers go on from level to level."""
    items = []
    start = 1 + next(i for i, d in enumerate(report.deviations) if d.level == level)
    for d in (d for d in report.deviations if d.level == level):
        where = el("span", f"Step {tables.step_name(d.number, d.step)}:", class_="where") if d.step else Markup("")
        reason = el("span", f" Reason given: {sentence(one_line(d.reason))}") if d.reason else Markup("")
        by = f"{one_line(d.by)}, " if d.by else ""
        items.append(
            el(
                "li",
                el(
                    "div",
                    el("span", where, sentence(d.text if d.step else d.text[:1].upper() + d.text[1:]), reason),
                    el("span", f"{by}{clock.time(d.wall)}", class_="who"),
                ),
            )
        )
    yield el("ol", *items, class_="deviations", start=start)


def _remarks(report: JobReport, clock: Clock) -> Iterator[Markup]:
    gaps = tables_people.gap_lines(report, clock)
    if gaps:
        yield el("h2", "Also look at")
        yield el("ul", *(el("li", sentence(gap[:1].upper() + gap[1:])) for gap in gaps))


def _measurements(report: JobReport, clock: Clock) -> Iterator[Markup]:
    table = tables_work.measurement_rows(report, clock)
    value, bounds = table.heads.index("Value"), table.heads.index("Limits")

    def cell(row: int, column: int, shown: str) -> Markup | None:
        m = report.measurements[row]
        if column == value:
            return _value(m, shown, clock)
        if column == bounds and (m.limits_from or m.uncertainty):
            guard = el("small", f"judged{uncertain(m.uncertainty, m.unit)}") if m.uncertainty else Markup("")
            return join(shown, el("small", f"from {one_line(m.limits_from)}") if m.limits_from else Markup(""), guard)
        return limit_picture(m) if column == len(table.heads) else None

    yield from section("Measurements", table, cell, extra="Against the limits")


def _value(m: Measurement, shown: str, clock: Clock) -> Markup:
    """The standing value; below it what it replaced, struck, with who did so and when."""
    struck = [
        join(
            el("s", quantity(old.reading.value, m.unit)),
            el("small", f"until {clock.time(old.wall)}, by {one_line(old.by) or 'unknown'}"),
        )
        for old in m.earlier
    ]
    said = m.standing
    spoken = Markup("")
    if m.average:
        spoken = el("small", f"mean of {m.average.n}")
    elif said.said_unit and said.said_unit != said.unit:
        spoken = el("small", f"said as {quantity(said.said_value, said.said_unit)}")
    return join(el("strong", shown), spoken, *struck)


def _bolts(report: JobReport, clock: Clock) -> Iterator[Markup]:
    whole = tables_work.stage_rows(report, clock)
    each = tables_work.bolt_tables(report, clock)
    if not whole.rows and not each:
        return
    yield el("h2", "Bolts and other fasteners")
    boxes = [(whole, table_box(whole, titled=True))] if whole.rows else []
    boxes += [(table, table_box(table, class_="bolts")) for table in each]
    for table, box in boxes:
        yield el("div", box, **({"class_": "whole"} if len(table.rows) <= _SHORT else {}))


def _waits(report: JobReport, clock: Clock) -> Iterator[Markup]:
    table = tables_work.wait_rows(report, clock)
    if not table.rows:
        return

    def cell(row: int, column: int, shown: str) -> Markup | None:
        return wait_picture(report.waits[row]) if column == len(table.heads) else None

    picture = el(
        "figure",
        el("div", timeline(report, clock), class_="scroll", tabindex=0, role="region", aria_label="Waits over time"),
        el(
            "figcaption",
            "Light: the window. Line: how long it ran. Round: in its window; square: begun anew; diamond: outside.",
        ),
    )
    yield el("section", el("h2", "Waits"), picture)
    yield table_box(table, cell, extra="Against its window", titled=True)


def _notes(report: JobReport, clock: Clock, sounds: Sounds) -> Iterator[Markup]:
    if not report.notes:
        return
    yield el("h2", "Notes")
    for note, (head, words) in zip(report.notes, tables.note_lines(report, clock), strict=True):
        quote = el("blockquote", words) if words else Markup("")
        yield el("div", el("p", head, class_="kicker"), quote, sounds.player(note), class_="note")


def _steps(report: JobReport, clock: Clock) -> Iterator[Markup]:
    table = tables_work.step_rows(report, clock)
    lines = [line for line in report.steps if line.visits or not line.aside]
    if not any(line.takes for line in lines):
        yield from section("Steps", table)
        return

    def cell(row: int, column: int, shown: str) -> Markup | None:
        return pace_picture(lines[row]) if column == len(table.heads) else None

    slow = sum(1 for line in lines if line.takes and line.seconds > SLOW * line.takes)
    extra = f"Against the time given{f' ({slow} slow)' if slow else ''}"
    yield from section("Steps", table, cell, extra=extra)


def section(
    title: str, table: Table, cell: Cell | None = None, *, extra: str = "", class_: str = ""
) -> Iterator[Markup]:
    """A heading and a table, nothing where the table is empty."""
    if table.rows:
        short = {"class_": "whole"} if len(table.rows) <= _SHORT else {}
        box = table_box(table, cell, extra=extra, class_=class_, titled=True)
        yield el("section", el("h2", title), box, **short)


def table_box(
    table: Table, cell: Cell | None = None, *, extra: str = "", class_: str = "", titled: bool = False
) -> Markup:
    """A table in a box that scrolls sideways. `cell` may replace what a cell shows; `extra` heads one more column.

    titled: a heading stands above it, so the caption is there for those who listen, and is not shown.
    """
    heads = (*table.heads, *((extra,) if extra else ()))
    rows = []
    for i, row in enumerate(table.rows):
        cells = []
        for j, shown in enumerate((*row, *(("",) if extra else ()))):
            inside = (cell(i, j, shown) if cell else None) or shown
            if j == 0:
                cells.append(el("th", inside, scope="row"))
            elif (heads[j] in _JUDGED and shown not in _GOOD) or (class_ == "bolts" and ", " in shown):
                cells.append(el("td", inside, class_="off"))
            elif heads[j] in _TIGHT:
                cells.append(el("td", inside, class_="nowrap"))
            elif heads[j] == "Gauge":
                cells.append(el("td", inside, class_="gauge"))
            else:
                cells.append(el("td", inside))
        rows.append(el("tr", *cells))
    table_el = el(
        "table",
        el("caption", table.caption, **({"class_": "heard"} if titled else {})),
        el("thead", el("tr", *(el("th", head, scope="col") for head in heads))),
        el("tbody", *rows),
        **({"class_": class_} if class_ else {}),
    )
    # What scrolls sideways must be reachable by keyboard; on paper a short table stays with its heading.
    return el("div", table_el, class_="scroll", tabindex=0, role="region", aria_label=table.caption)


def _footer(report: JobReport) -> Markup:
    unknown = tables.unknown_kinds(report, frozenset(KINDS))
    lines = [el("p", "This page needs no network and runs no program. It shows what was recorded, nothing else.")]
    lines.append(el("p", tables.STOP_IS))
    if report.chain.head:
        lines.append(el("p", f"Seal of the last fact: {one_line(report.chain.head)}"))
    if unknown:
        lines.append(el("p", f"Kinds of fact this version does not know: {', '.join(unknown)}."))
    return el("footer", *lines)
