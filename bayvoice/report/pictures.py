"""Small pictures of a value against its limits and of a wait against its window, as inline SVG.

Shape carries the meaning, colour only repeats it: a round mark lies within, a diamond outside.
"""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from typing import Final

from bayvoice.report.markup import Markup, el
from bayvoice.report.model import Measurement, WaitRun
from bayvoice.report.tables import value_text, wait_result
from bayvoice.report.words import limits, one_line, span, window

_WIDTH: Final = 170.0
_EDGE: Final = 8.0
_MIDDLE: Final = 13.0


def limit_picture(m: Measurement) -> Markup:
    """The standing value of `m` on a line with its limits; nothing where a number cannot be read."""
    try:
        value = float(Decimal(m.standing.value))
        low = float(Decimal(m.low)) if m.low else None
        high = float(Decimal(m.high)) if m.high else None
    except (InvalidOperation, OverflowError):
        return Markup("")
    ends = [number for number in (low, high) if number is not None]
    if not ends or not all(abs(number) < 1e300 for number in (value, *ends)):
        return Markup("")
    # The limits keep the same place in every picture of a column, unless the value lies far out.
    width = (max(ends) - min(ends)) or abs(ends[0]) or 1.0
    left, right = min(min(ends) - width * 0.6, value - width * 0.1), max(max(ends) + width * 0.6, value + width * 0.1)
    said = f"{value_text(m, m.standing.value, m.standing.verdict)}, limits {limits(m.low, m.high, m.unit)}"
    return _picture(f"{one_line(m.name)}: {said}", left, right, low, high, value, m.standing.verdict == "within")


def wait_picture(run: WaitRun) -> Markup:
    """The length of `run` from 0 on, against its window."""
    taken = run.seconds
    longest = max(run.at_most or 0, run.at_least or 0, taken or 0, 1)
    right = longest * (1.12 if run.at_most is not None and longest == run.at_most else 1.35)
    said = f"{one_line(run.name)}: {'no end recorded' if taken is None else span(taken)}, {wait_result(run)}"
    return _picture(
        f"{said}, window {window(run.at_least, run.at_most)}", 0.0, right, run.at_least or 0, run.at_most, taken,
        run.verdict == "in window", trail=True,
    )  # fmt: skip


def _picture(
    label: str,
    left: float,
    right: float,
    low: float | None,
    high: float | None,
    value: float | None,
    fits: bool,
    *,
    trail: bool = False,
) -> Markup:
    def x(number: float) -> float:
        return round(_EDGE + (number - left) / (right - left) * (_WIDTH - 2 * _EDGE), 1)

    begin, end = x(left if low is None else low), x(right if high is None else high)
    shapes = [
        el("path", d=f"M{_EDGE} {_MIDDLE}H{_WIDTH - _EDGE}", class_="axis"),
        el("rect", x=begin, y=_MIDDLE - 5, width=round(max(1.0, end - begin), 1), height=10, class_="band"),
    ]
    limits_shown = [number for number in (low, high) if number is not None and not (trail and number == 0)]
    shapes += [el("path", d=f"M{x(number)} {_MIDDLE - 9}V{_MIDDLE + 9}", class_="limit") for number in limits_shown]
    if value is not None:
        at = x(value)
        if trail:
            shapes.append(el("path", d=f"M{x(0)} {_MIDDLE}H{at}", class_="trail"))
        mark = (
            el("circle", cx=at, cy=_MIDDLE, r=5, class_="mark fits")
            if fits
            else el("path", d=f"M{at} {_MIDDLE - 7}l7 7l-7 7l-7 -7z", class_="mark misses")
        )
        shapes.append(mark)
    width, height = f"{_WIDTH:.0f}", f"{2 * _MIDDLE:.0f}"
    box = f"0 0 {width} {height}"
    return el("svg", *shapes, role="img", aria_label=label, viewBox=box, width=width, height=height)
