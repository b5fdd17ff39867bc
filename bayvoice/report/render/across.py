"""What was found over jobs, as a page and as text."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from datetime import tzinfo
from decimal import Decimal
from typing import Final

from bayvoice.report.across import Across, Values, guard_text
from bayvoice.report.base.blocks import Head, Table, judged, step_name
from bayvoice.report.base.markup import Markup, el
from bayvoice.report.base.pictures import MARKS, mark, number, svg
from bayvoice.report.base.words import VERDICTS, Clock, count, limits, one_line, quantity, sentence, span
from bayvoice.report.render.page import document, section
from bayvoice.report.render.text import table_lines

WIDTH: Final = 1040.0
HEIGHT: Final = 300.0
_LEFT: Final = 84.0
_RIGHT: Final = 100.0
MOST: Final = 400
"""Newest values that are drawn."""


def figures(v: Values) -> tuple[str, ...]:
    """The figures as sentences: capability with its conditions, or why there is none."""
    said = [
        f"{count(len(v.points), 'job')}, median {quantity(_short(v.middle), v.unit)}, {limits(v.low, v.high, v.unit)}"
    ]
    outside = sum(1 for point in v.points if point.verdict != "within")
    said.append(f"{outside or 'none'} of {len(v.points)} not within {'its' if outside == 1 else 'their'} limits")
    if (c := v.capability) is None:
        said.append(f"no capability figure: {one_line(v.why_not)}")
    else:
        share = f"{c.confidence:.0%}"
        cp = ""
        if c.cp is not None and c.cp_range is not None:
            cp = f"Cp {c.cp:.2f} ({share} interval {c.cp_range[0]:.2f} to {c.cp_range[1]:.2f}), "
        said.append(
            f"{cp}Cpk {c.cpk:.2f} ({share} interval {c.cpk_range[0]:.2f} to {c.cpk_range[1]:.2f}), mean {c.mean:.6g}, "
            f"standard deviation {c.sd:.3g} {one_line(v.unit)}"
        )
        said += [f"condition: {condition}" for condition in c.conditions]
    return (*said, *v.remarks)


def _short(value: Decimal) -> str:
    return f"{value:f}"


def value_rows(v: Values, clock: Clock) -> Table:
    rows = tuple(
        (
            one_line(p.job),
            quantity(_short(p.value), v.unit),
            limits(p.low, p.high, v.unit),
            judged(VERDICTS.get(p.verdict, one_line(p.verdict)), p.verdict == "within"),
            str(p.mean_of) if p.mean_of > 1 else "single",
            one_line(p.by),
            clock.full(p.wall),
        )
        for p in reversed(v.points)
    )
    heads = ("Job", Head("Value"), Head("Limits"), Head("Verdict"), "Readings", "By", Head("At"))
    return Table("Every value, the newest first", heads, rows)


def slow_rows(across: Across) -> Table:
    rows = tuple(
        (
            one_line(s.procedure),
            step_name(s.number, s.step),
            one_line(s.say),
            span(s.takes),
            span(s.middle),
            span(s.longest),
            str(s.jobs),
        )
        for s in across.slow
    )
    heads = ("Procedure", "Step", "What", Head("Given"), "Median", "Longest", "Jobs")
    return Table("Steps whose median time is more than one and a half of the time given", heads, rows)


def again_rows(across: Across) -> Table:
    rows = tuple(
        (
            one_line(a.procedure),
            step_name(a.number, a.step),
            guard_text(a.what),
            str(a.jobs),
            str(a.times),
            ", ".join(f"{reason} ({n})" for reason, n in a.reasons),
        )
        for a in across.again
    )
    heads = ("Procedure", "Step", "What", "Jobs", "Times", "Reasons")
    return Table("What was passed over again and again", heads, rows)


def name_rows(across: Across) -> Table:
    rows = tuple((name, str(jobs)) for name, jobs in across.names)
    return Table("Values that can be looked at over jobs", (Head("Value"), "Jobs"), rows)


def to_page(across: Across, zone: tzinfo | None = None) -> str:
    """A whole HTML document."""
    clock = Clock(zone)
    v = across.values
    title = f"{v.name} over {count(len(v.points), 'job')}" if v else f"Over {count(across.jobs, 'job')}"
    return document(title, el("main", *_parts(across, clock, title)))


def _parts(across: Across, clock: Clock, title: str) -> Iterator[Markup]:
    yield el("p", f"Over {count(across.jobs, 'job')} of this bay", class_="kicker")
    yield el("h1", title[:1].upper() + title[1:])
    if v := across.values:
        box = el("div", run_chart(v, clock), class_="scroll", tabindex=0, role="region", aria_label="Run chart")
        yield el("figure", box, el("figcaption", "Each mark is one job, in the order of time; dashed: the median."))
        yield el("ul", *(el("li", sentence(line[:1].upper() + line[1:])) for line in figures(v)))
    yield from section("Slow steps", slow_rows(across))
    yield from section("Overridden again", again_rows(across))
    if v:
        yield from section("Every value", value_rows(v, clock))
    else:
        yield from section("Values", name_rows(across))


def run_chart(v: Values, clock: Clock) -> Markup:
    """The values in the order of time between their limits."""
    points = v.points[-MOST:]
    numbers = [float(point.value) for point in points]
    low, high = number(v.low), number(v.high)
    ends = [end for end in (low, high) if end is not None]
    bottom, top = min((*numbers, *ends)), max((*numbers, *ends))
    room = (top - bottom) or abs(top) or 1.0
    bottom, top = bottom - room * 0.12, top + room * 0.12

    def y(value: float) -> float:
        return round(HEIGHT - 34 - (value - bottom) / (top - bottom) * (HEIGHT - 50), 1)

    def x(index: int) -> float:
        return round(_LEFT + (index + 0.5) * (WIDTH - _LEFT - _RIGHT) / len(points), 1)

    begin, end = y(top if high is None else high), y(bottom if low is None else low)
    shapes = []
    if ends:
        shapes.append(
            el("rect", x=_LEFT, y=begin, width=WIDTH - _LEFT - _RIGHT, height=round(end - begin, 1), class_="band")
        )
    for value, said in ((low, v.low), (high, v.high)):
        if value is not None:
            shapes.append(el("path", d=f"M{_LEFT} {y(value)}H{WIDTH - _RIGHT}", class_="limit"))
            shapes.append(el("text", quantity(said, v.unit), x=_LEFT - 8, y=y(value) + 4, class_="end"))
    middle = y(float(v.middle))
    shapes.append(el("path", d=f"M{_LEFT} {middle}H{WIDTH - _RIGHT}", class_="median"))
    shapes.append(el("text", f"median {_short(v.middle)}", x=WIDTH - _RIGHT + 6, y=middle + 4, class_="small"))
    line = "L".join(f"{x(i)} {y(value)}" for i, value in enumerate(numbers))
    shapes.append(el("path", d=f"M{line}", class_="joined"))
    for i, point in enumerate(points):
        told = f"{one_line(point.job)}: {quantity(_short(point.value), v.unit)}, {clock.full(point.wall)}"
        shapes.append(el("g", el("title", told), mark(x(i), y(numbers[i]), MARKS.get(point.verdict, "misses"))))
    for i in sorted({0, len(points) - 1}):
        place = "small" if i == 0 and len(points) > 1 else "small end" if i else "small middle"
        shapes.append(el("text", clock.day(points[i].wall), x=x(i), y=HEIGHT - 8, class_=place))
    label = f"{v.name}, {count(len(points), 'value')} in the order of time, {limits(v.low, v.high, v.unit)}"
    return svg(label, shapes, WIDTH, HEIGHT, "run")


def to_plain(across: Across, zone: tzinfo | None = None) -> str:
    """For a terminal, 100 columns."""
    clock = Clock(zone)
    lines: list[str] = []
    if v := across.values:
        lines += [f"{v.name} over {count(len(v.points), 'job')}", "", *plot(v), ""]
        for line in figures(v):
            lines += textwrap.wrap(sentence(line[:1].upper() + line[1:]), 100, subsequent_indent="  ")
    tables = [slow_rows(across), again_rows(across), value_rows(v, clock) if v else name_rows(across)]
    for table in tables:
        lines += table_lines(table)
    return "\n".join(line.rstrip() for line in lines).strip("\n") + "\n"


_ROWS: Final = 11
_COLUMNS: Final = 84


def plot(v: Values) -> list[str]:
    """The run chart in letters: o within, ? too close to call, X outside; = the limits, - the median."""
    points = v.points[-_COLUMNS:]
    numbers = [float(point.value) for point in points]
    low, high = number(v.low), number(v.high)
    ends = [end for end in (low, high) if end is not None]
    bottom, top = min((*numbers, *ends)), max((*numbers, *ends))
    room = (top - bottom) or abs(top) or 1.0
    bottom, top = bottom - room * 0.06, top + room * 0.06

    def row(value: float) -> int:
        return round((top - value) / (top - bottom) * (_ROWS - 1))

    grid = [[" "] * max(len(points), 20) for _ in range(_ROWS)]
    for value, letter in ((float(v.middle), "-"), *((end, "=") for end in ends)):
        grid[row(value)] = [letter] * len(grid[0])
    for i, value in enumerate(numbers):
        grid[row(value)][i] = {"within": "o", "close": "?"}.get(points[i].verdict, "X")
    names = {row(float(v.middle)): _short(v.middle)}
    names |= {row(end): one_line(said) for end, said in ((low, v.low), (high, v.high)) if end is not None}
    width = max(len(name) for name in names.values())
    return [f"{names.get(i, ''):>{width}} |{''.join(cells)}" for i, cells in enumerate(grid)]
