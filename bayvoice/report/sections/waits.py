"""Waits against their windows, and all of them on one line of time."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.procedure.model import Step, Wait
from bayvoice.report.base.blocks import Block, Head, Table, judged, step_name
from bayvoice.report.base.common import Common, text, whole
from bayvoice.report.base.judging import deviation, reason, undone
from bayvoice.report.base.markup import Markup, el
from bayvoice.report.base.model import Deviation, StepLine
from bayvoice.report.base.pictures import MARKS, against, mark, svg
from bayvoice.report.base.section import Fold, Found, JobReport, Section
from bayvoice.report.base.words import WAITS as KINDS
from bayvoice.report.base.words import Clock, count, one_line, span, window


@dataclass(frozen=True, slots=True)
class WaitChange:
    """The limits of a running wait were changed, with the reason that was given."""

    at_least: int | None
    at_most: int | None
    reason: str
    by: str
    wall: float
    seq: int


@dataclass(frozen=True, slots=True)
class WaitRun:
    """One run of a wait.

    Attributes:
        at_least, at_most: its limits at the end, in seconds.
        verdict: "in window", "early", "late", "dropped", "cancelled", "restarted", "" where its end is not recorded.
        ago: seconds by which its start was said to lie back.
        model, given: how its length was worked out and from what values; "fixed" and "" for the procedure's own.
        reason: why it was cancelled or restarted.
        changes: what was changed while it ran.
    """

    step: str
    number: int
    name: str
    kind: str
    at_least: int | None
    at_most: int | None
    began: float
    ended: float | None
    over: float | None
    seconds: int | None
    verdict: str
    seq: int
    ago: int = 0
    model: str = "fixed"
    given: str = ""
    reason: str = ""
    changes: tuple[WaitChange, ...] = ()


@dataclass(slots=True)
class Runs:
    """`lines`: every run, in the order they were begun."""

    lines: list[WaitRun] = field(default_factory=list)

    def at(self, fact: Fact) -> int | None:
        """Place of the last run of the fact's step, None where there is none."""
        step = text(fact.body, "step")
        return next((i for i in reversed(range(len(self.lines))) if self.lines[i].step == step), None)


def _started(state: Runs, common: Common, fact: Fact) -> None:
    (step, number), body = common.at(fact), fact.body
    ago = whole(body, "ago") or 0
    began = fact.wall - ago
    if not 0 <= began <= fact.wall + 86_400:
        began = fact.wall
    run = WaitRun(
        step=step,
        number=number,
        name=text(body, "name"),
        kind=text(body, "wait"),
        at_least=whole(body, "at_least"),
        at_most=whole(body, "at_most"),
        began=began,
        ended=None,
        over=None,
        seconds=None,
        verdict="",
        seq=fact.seq,
        ago=ago,
        model=text(body, "model"),
        given=text(body, "from_"),
    )
    state.lines.append(run)


def _changed(state: Runs, common: Common, fact: Fact) -> None:
    if (at := state.at(fact)) is not None:
        run, body = state.lines[at], fact.body
        least, most = whole(body, "at_least"), whole(body, "at_most")
        why = text(body, "reason")
        if why == "extended" and least is not None and run.at_least is not None:
            why = f"extended by {span(least - run.at_least)}"
        change = WaitChange(least, most, why, common.by, fact.wall, fact.seq)
        state.lines[at] = replace(run, at_least=least, at_most=most, changes=(*run.changes, change))


def _over(state: Runs, common: Common, fact: Fact) -> None:
    if (at := state.at(fact)) is not None:
        state.lines[at] = replace(state.lines[at], over=fact.wall)


def _ended(state: Runs, common: Common, fact: Fact) -> None:
    if (at := state.at(fact)) is not None:
        state.lines[at] = replace(
            state.lines[at],
            ended=fact.wall,
            seconds=whole(fact.body, "seconds"),
            verdict=text(fact.body, "verdict"),
            reason=text(fact.body, "reason"),
            seq=fact.seq,
        )


class Waits(Section[Runs]):
    """What ran against the clock."""

    key = "waits"
    title = "Waits"
    rank = 5

    def begin(self, common: Common) -> Runs:
        """None."""
        return Runs()

    def folds(self) -> Mapping[str, Fold[Runs]]:
        """Begun, changed, past its limit, ended."""
        return {"wait_started": _started, "wait_changed": _changed, "wait_over": _over, "wait_ended": _ended}

    def deviations(self, found: Found) -> Iterator[Deviation]:
        """Windows that were changed or missed."""
        common, runs = found.common, self.of(found).lines
        for at, run in enumerate(runs):
            again = any(later.step == run.step for later in runs[at + 1 :])
            for change in run.changes:
                what = f"the window of {one_line(run.name)} was changed to {window(change.at_least, change.at_most)}"
                yield deviation(common, "wait", run.step, what, change.seq, change.reason)
            if what := wait_fault(run, common.ended is not None):
                late = run.verdict == "late" or run.over is not None
                guard = "cancel" if run.verdict == "cancelled" else "late" if late else "wait"
                given = reason(common, guard, run.step) or run.reason
                what = f"{one_line(run.name)} {what}" + ("; it was done again" if again else "")
                yield deviation(common, "wait", run.step, what, run.seq, given)

    def missing(self, found: Found, line: StepLine, step: Step) -> Iterator[Deviation]:
        """The wait's beginning."""
        if isinstance(step.detail, Wait) and all(run.step != line.step for run in self.of(found).lines):
            yield undone(found.common, line, f"the wait {one_line(step.detail.name)} was never begun")

    def explains_silence(self, found: Found, step: Step | None) -> bool:
        """While a wait runs there is nothing to enter."""
        return any(run.ended is None for run in self.of(found).lines)

    def remarks(self, report: JobReport, clock: Clock) -> Iterator[str]:
        """Waits that were begun anew."""
        for run in self.of(report).lines:
            if run.verdict == "restarted":
                why = f": {one_line(run.reason)}" if run.reason else ""
                yield f"{one_line(run.name)} was begun anew at {clock.time(run.ended or run.began)}{why}"

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A row a run; the page draws it against its window."""
        runs = self.of(report).lines
        rows = []
        for w in runs:
            name = one_line(w.name) + (f", begun {span(w.ago)} before it was said" if w.ago > 0 else "")
            given = f" (by {one_line(w.model)}: {one_line(w.given)})" if w.given else ""
            row = (
                step_name(w.number, w.step),
                name,
                KINDS.get(w.kind, one_line(w.kind)),
                window(w.at_least, w.at_most) + given,
                "–" if w.seconds is None else span(w.seconds),
                judged(wait_result(w), w.verdict in ("in window", "restarted")),
                clock.time(w.began),
                "–" if w.ended is None else clock.time(w.ended),
            )
            rows.append(row)
        heads = ("Step", "Wait", "Kind", "Window", Head("Taken"), Head("Verdict"), Head("From"), Head("To"))

        def cell(row: int, column: int, shown: str) -> Markup | None:
            return wait_picture(runs[row]) if column == len(heads) else None

        return (Table("Waits against their windows", heads, tuple(rows), cell, extra="Against its window"),)

    def picture(self, report: JobReport, clock: Clock) -> Markup:
        """All waits on one line of time; nothing where there are none."""
        drawn = timeline(self.of(report).lines, report.header.last, clock)
        if not drawn:
            return drawn
        key = "Light: the window. Line: how long it ran. Round: in its window; square: begun anew; diamond: outside."
        box = el("div", drawn, class_="scroll", tabindex=0, role="region", aria_label="Waits over time")
        return el("figure", box, el("figcaption", key))

    def data(self, report: JobReport) -> Mapping[str, object]:
        """Every run."""
        return {self.key: tuple(self.of(report).lines)}


def wait_fault(run: WaitRun, job_done: bool) -> str:
    """What is wrong with a wait, to follow its name; "" where nothing is."""
    took = "" if run.seconds is None else f" after {span(run.seconds)}"
    if run.verdict == "early" and run.at_least is not None and run.seconds is not None:
        return f"was ended{took}, {span(run.at_least - run.seconds)} before its {span(run.at_least)}"
    if run.verdict == "late" and run.at_most is not None and run.seconds is not None:
        return f"was ended{took}, {span(run.seconds - run.at_most)} past its {span(run.at_most)}"
    if run.verdict in ("early", "late"):
        return f"was ended {run.verdict}{took}"
    if run.verdict in ("dropped", "cancelled"):
        return f"was {run.verdict}{took}"
    if not run.verdict and run.over is not None:
        limit = "its limit" if run.at_most is None else f"its {span(run.at_most)}"
        return f"passed {limit} and its end is not recorded"
    if not run.verdict and job_done:
        return "was started and its end is not recorded"
    return ""


def wait_result(run: WaitRun) -> str:
    """``in window``, ``early``, … or what stands for a missing end."""
    return one_line(run.verdict) or ("past its limit, no end recorded" if run.over is not None else "no end recorded")


def _told(run: WaitRun) -> str:
    """What its pictures say of it."""
    taken = "no end recorded" if run.seconds is None else span(run.seconds)
    return f"{one_line(run.name)}: {taken}, {wait_result(run)}"


def wait_picture(run: WaitRun) -> Markup:
    """The length of `run` from 0 on, against its window."""
    longest = max(run.at_most or 0, run.at_least or 0, run.seconds or 0, 1)
    right = longest * (1.12 if run.at_most is not None and longest == run.at_most else 1.35)
    label, kind = f"{_told(run)}, window {window(run.at_least, run.at_most)}", MARKS.get(run.verdict, "misses")
    return against(label, 0.0, right, run.at_least or 0, run.at_most, run.seconds, kind, trail=True)


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


def timeline(runs: Sequence[WaitRun], last: float, clock: Clock) -> Markup:
    """The picture; nothing where there are no waits. `last`: moment of the job's last fact."""
    runs = runs[:MOST]
    if not runs:
        return Markup("")
    axis = axis_of(runs, last)
    height = TOP + ROW * len(runs) + 22
    shapes = [_grid(axis, height, clock)]
    for i, run in enumerate(runs):
        shapes += _row(run, axis, TOP + ROW * i + ROW / 2, last)
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
    title = f"{_told(run)}; window {window(run.at_least, run.at_most)}"
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


WAITS: Final = Waits()
