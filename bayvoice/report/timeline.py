"""All waits of a job on one line of time, each against its window, as inline SVG."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bayvoice.report.lines import WaitRun
from bayvoice.report.markup import Markup, el
from bayvoice.report.model import JobReport
from bayvoice.report.pictures import MARKS, mark, svg
from bayvoice.report.tables_work import wait_result
from bayvoice.report.words import Clock, count, one_line, span, window

WIDTH: Final = 1040.0
LEFT: Final = 230.0
"""Room for the names."""
ROW: Final = 30.0
TOP: Final = 26.0
CUT_S: Final = 30 * 60.0
"""A stretch longer than this in which no wait runs is drawn as short as `CUT_WIDTH`."""
CUT_WIDTH: Final = 26.0
MOST: Final = 60
"""Waits that are drawn; the table below has them all."""


@dataclass(frozen=True, slots=True)
class Axis:
    """Moments to places: stretches of time, and where each begins and ends on paper."""

    stretches: tuple[tuple[float, float, float, float], ...]
    cuts: tuple[float, ...]

    def x(self, wall: float) -> float:
        """Where a moment lies."""
        first, last = self.stretches[0], self.stretches[-1]
        if wall <= first[0]:
            return round(first[2], 1)
        for begin, end, left, right in self.stretches:
            if wall <= end:
                return round(left + (max(wall, begin) - begin) / max(end - begin, 1e-9) * (right - left), 1)
        return round(last[3], 1)


def axis_of(runs: Sequence[WaitRun], last: float) -> Axis:
    """The line of time over `runs`; what lies idle between them is cut short."""
    busy: list[tuple[float, float]] = []
    for begin, end in sorted((run.began, end_of(run, last)) for run in runs):
        if busy and begin - busy[-1][1] <= CUT_S:
            busy[-1] = busy[-1][0], max(busy[-1][1], end)
        else:
            busy.append((begin, end))
    cuts = len(busy) - 1
    room = WIDTH - LEFT - 24 - cuts * CUT_WIDTH
    total = sum(max(end - begin, 1.0) for begin, end in busy)
    stretches, at, breaks = [], LEFT, []
    for begin, end in busy:
        width = max(end - begin, 1.0) / total * max(room, 50.0)
        stretches.append((begin, end, at, at + width))
        at += width
        breaks.append(at + CUT_WIDTH / 2)
        at += CUT_WIDTH
    return Axis(tuple(stretches), tuple(breaks[:-1]))


def end_of(run: WaitRun, last: float) -> float:
    """To where a run is drawn: its end, its limits, or the job's last fact while it runs."""
    ended = run.ended if run.ended is not None else last
    limit = run.at_most if run.at_most is not None else run.at_least
    until = run.began + min(limit, 7 * 86_400) if limit is not None else ended
    return max(ended, until, run.began + 1)


def timeline(report: JobReport, clock: Clock) -> Markup:
    """The picture; nothing where there are no waits."""
    runs = report.waits[:MOST]
    if not runs:
        return Markup("")
    axis = axis_of(runs, report.header.last)
    height = TOP + ROW * len(runs) + 22
    shapes = [_grid(axis, height, clock)]
    for i, run in enumerate(runs):
        shapes += _row(run, axis, TOP + ROW * i + ROW / 2, report.header.last)
    bad = sum(1 for run in runs if run.verdict not in ("in window", "restarted"))
    label = f"{count(len(runs), 'wait')} on the time of the job; {bad or 'none'} outside its window"
    return svg(label, shapes, WIDTH, height, "timeline")


def _grid(axis: Axis, height: float, clock: Clock) -> Markup:
    bottom = height - 20
    shapes = []
    for begin, end, left, right in axis.stretches:
        step = _step((end - begin) / max((right - left) / 90, 1))
        first = begin - begin % step + step
        ticks = [begin, *(first + step * i for i in range(int(max(0.0, end - first) // step) + 1) if first <= end)]
        shown = -100.0
        for wall in ticks:
            x = axis.x(wall)
            shapes.append(el("path", d=f"M{x} {TOP - 4}V{bottom}", class_="grid"))
            if x - shown >= 52 and x <= WIDTH - 30:
                shapes.append(el("text", clock.time(wall)[:-3], x=x, y=height - 5, class_="small middle"))
                shown = x
    shapes += [
        el("path", d=f"M{x - 4:.1f} {bottom + 5}l3 -10M{x + 1:.1f} {bottom + 5}l3 -10", class_="limit")
        for x in axis.cuts
    ]
    return el("g", *shapes, aria_hidden="true")


def _step(least: float) -> float:
    return next(
        (s for s in (10, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 21_600, 86_400) if s >= least), 7 * 86_400.0
    )


def _row(run: WaitRun, axis: Axis, y: float, last: float) -> list[Markup]:
    """Name, window, what really happened, and the mark of the verdict."""
    ended = run.ended if run.ended is not None else last
    begin, end = axis.x(run.began), axis.x(max(ended, run.began))
    open_from = axis.x(run.began + (run.at_least or 0))
    open_to = axis.x(run.began + run.at_most) if run.at_most is not None else axis.x(end_of(run, last)) + 12
    name = one_line(run.name)
    taken = "no end recorded" if run.seconds is None else span(run.seconds)
    title = f"{name}: {taken}, {wait_result(run)}; window {window(run.at_least, run.at_most)}"
    shapes = [
        el("title", title),
        el("text", name if len(name) <= 28 else f"{name[:27]}…", x=LEFT - 12, y=y + 4, class_="end"),
        el("rect", x=open_from, y=y - 6, width=round(max(2.0, open_to - open_from), 1), height=12, class_="band"),
        el("path", d=f"M{begin} {y}H{max(end, begin + 1)}", class_="trail"),
    ]
    bounds = [axis.x(run.began + limit) for limit in (run.at_least, run.at_most) if limit is not None]
    shapes += [el("path", d=f"M{x} {y - 10}V{y + 10}", class_="limit") for x in bounds]
    if run.ended is not None:
        shapes.append(mark(end, y, MARKS.get(run.verdict, "misses")))
    return [el("g", *shapes)]
