"""Small pictures of a value against its limits, a wait against its window, a step against its time, as inline SVG.

Shape carries the meaning, colour only repeats it: a round mark lies within, a square one is too close to call, a
diamond lies outside.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal, InvalidOperation
from typing import Final

from bayvoice.report.lines import Measurement, StepLine, WaitRun
from bayvoice.report.markup import Markup, el
from bayvoice.report.tables_work import pace, value_text, wait_result
from bayvoice.report.words import limits, one_line, span, window

_WIDTH: Final = 170.0
_EDGE: Final = 8.0
_MIDDLE: Final = 13.0

MARKS: Final = {"within": "fits", "in window": "fits", "close": "near", "restarted": "near"}
"""Verdict -> class of its mark; every other one misses."""


def number(text: str) -> float | None:
    """A finite number of ordinary size, None where `text` is none."""
    try:
        value = float(Decimal(text))
    except (InvalidOperation, OverflowError, ValueError):
        return None
    return value if abs(value) < 1e300 else None


def limit_picture(m: Measurement) -> Markup:
    """The value of `m` on a line with its limits, repeated readings as ticks; nothing where it cannot be drawn."""
    value, low, high = number(m.value), number(m.low), number(m.high)
    ends = [end for end in (low, high) if end is not None]
    if value is None or not ends or (m.low and low is None) or (m.high and high is None):
        return Markup("")
    # The limits keep the same place in every picture of a column, unless the value lies far out.
    width = (max(ends) - min(ends)) or abs(ends[0]) or 1.0
    singles = [n for r in m.readings if m.average and (n := number(r.value)) is not None]
    left = min(min(ends) - width * 0.6, *(n - width * 0.1 for n in (value, *singles)))
    right = max(max(ends) + width * 0.6, *(n + width * 0.1 for n in (value, *singles)))
    said = f"{value_text(m, m.value, m.verdict)}, limits {limits(m.low, m.high, m.unit)}"
    if m.average:
        said += f", mean of {len(m.readings)} readings"
    guard = number(m.uncertainty) or 0.0
    return _picture(
        f"{one_line(m.name)}: {said}", left, right, low, high, value, MARKS.get(m.verdict, "misses"),
        guard=guard, ticks=singles,
    )  # fmt: skip


def wait_picture(run: WaitRun) -> Markup:
    """The length of `run` from 0 on, against its window."""
    taken = run.seconds
    longest = max(run.at_most or 0, run.at_least or 0, taken or 0, 1)
    right = longest * (1.12 if run.at_most is not None and longest == run.at_most else 1.35)
    said = f"{one_line(run.name)}: {'no end recorded' if taken is None else span(taken)}, {wait_result(run)}"
    return _picture(
        f"{said}, window {window(run.at_least, run.at_most)}", 0.0, right, run.at_least or 0, run.at_most, taken,
        MARKS.get(run.verdict, "misses"), trail=True,
    )  # fmt: skip


SLOW: Final = 1.5
"""A step that takes longer than this share of the time it is given is marked."""


def pace_picture(line: StepLine) -> Markup:
    """The time spent in a step as a bar, against the time the procedure gives it; nothing where it gives none."""
    if not line.takes or not line.visits:
        return Markup("")
    # The time given is at the same place in every row; what takes three times as long goes to the edge.
    given = (_WIDTH - 2 * _EDGE) / 3
    taken = min(given * line.seconds / line.takes, _WIDTH - 2 * _EDGE)
    slow = line.seconds > SLOW * line.takes
    shapes = [
        el("rect", x=_EDGE, y=_MIDDLE - 4, width=round(max(1.0, taken), 1), height=8,
           class_="pace slow" if slow else "pace"),
        el("path", d=f"M{_EDGE + given:.1f} {_MIDDLE - 9}V{_MIDDLE + 9}", class_="limit"),
    ]  # fmt: skip
    label = f"{span(line.seconds)} of {span(line.takes)} given, {pace(line.seconds, line.takes)}"
    return svg(label, shapes, _WIDTH, 2 * _MIDDLE)


def svg(label: str, shapes: Sequence[Markup], width: float, height: float, class_: str = "") -> Markup:
    """A picture with its words."""
    attributes: dict[str, str | int | float] = {"class_": class_} if class_ else {}
    return el(
        "svg", *shapes, role="img", aria_label=label, viewBox=f"0 0 {width:.0f} {height:.0f}", width=f"{width:.0f}",
        height=f"{height:.0f}", **attributes,
    )  # fmt: skip


def mark(x: float, y: float, kind: str) -> Markup:
    """The mark of a verdict: "fits", "near" or "misses"."""
    if kind == "fits":
        return el("circle", cx=x, cy=y, r=5, class_="mark fits")
    if kind == "near":
        return el("rect", x=round(x - 5, 1), y=y - 5, width=10, height=10, class_="mark near")
    return el("path", d=f"M{x} {y - 7}l7 7l-7 7l-7 -7z", class_="mark misses")


def _picture(
    label: str,
    left: float,
    right: float,
    low: float | None,
    high: float | None,
    value: float | None,
    kind: str,
    *,
    trail: bool = False,
    guard: float = 0.0,
    ticks: Sequence[float] = (),
) -> Markup:
    def x(position: float) -> float:
        return round(_EDGE + (position - left) / (right - left) * (_WIDTH - 2 * _EDGE), 1)

    def span_of(begin: float, end: float) -> tuple[float, float]:
        first = min(max(x(begin), _EDGE), _WIDTH - _EDGE)
        last = min(max(x(end), _EDGE), _WIDTH - _EDGE)
        return first, round(max(1.0, last - first), 1)

    begin, wide = span_of(left if low is None else low, right if high is None else high)
    shapes = [
        el("path", d=f"M{_EDGE} {_MIDDLE}H{_WIDTH - _EDGE}", class_="axis"),
        el("rect", x=begin, y=_MIDDLE - 5, width=wide, height=10, class_="band"),
    ]
    limits_shown = [end for end in (low, high) if end is not None and not (trail and end == 0)]
    for end in limits_shown if guard else ():
        # Within the gauge's uncertainty of a limit nothing is proven.
        first, room = span_of(end - guard, end + guard)
        shapes.append(el("rect", x=first, y=_MIDDLE - 5, width=room, height=10, class_="guard"))
    shapes += [el("path", d=f"M{x(end)} {_MIDDLE - 9}V{_MIDDLE + 9}", class_="limit") for end in limits_shown]
    shapes += [el("path", d=f"M{x(one)} {_MIDDLE - 6}V{_MIDDLE + 6}", class_="tick") for one in ticks]
    if value is not None:
        at = x(value)
        if trail:
            shapes.append(el("path", d=f"M{x(0)} {_MIDDLE}H{at}", class_="trail"))
        shapes.append(mark(at, _MIDDLE, kind))
    return svg(label, shapes, _WIDTH, 2 * _MIDDLE)
