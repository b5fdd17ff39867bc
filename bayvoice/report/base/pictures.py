"""Small pictures of a value against its limits, a time against its window, as inline SVG.

Shape carries the meaning, colour only repeats it: a round mark lies within, a square one is too close to call, a
diamond lies outside.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal, InvalidOperation
from typing import Final

from bayvoice.report.base.markup import Markup, el

WIDTH: Final = 170.0
EDGE: Final = 8.0
MIDDLE: Final = 13.0
"""Of a picture in a row of a table: its width, the margin at both ends, and the line everything stands on."""

MARKS: Final = {"within": "fits", "in window": "fits", "close": "near", "restarted": "near"}
"""Verdict -> class of its mark; every other one misses."""


def number(text: str) -> float | None:
    """A finite number of ordinary size, None where `text` is none."""
    try:
        value = float(Decimal(text))
    except (InvalidOperation, OverflowError, ValueError):
        return None
    return value if abs(value) < 1e300 else None


def svg(label: str, shapes: Sequence[Markup], width: float, height: float, class_: str = "") -> Markup:
    """A picture with its words."""
    attributes: dict[str, str | int | float] = {"class_": class_} if class_ else {}
    return el(
        "svg",
        *shapes,
        role="img",
        aria_label=label,
        viewBox=f"0 0 {width:.0f} {height:.0f}",
        width=f"{width:.0f}",
        height=f"{height:.0f}",
        **attributes,
    )


def mark(x: float, y: float, kind: str) -> Markup:
    """The mark of a verdict: "fits", "near" or "misses"."""
    if kind == "fits":
        return el("circle", cx=x, cy=y, r=5, class_="mark fits")
    if kind == "near":
        return el("rect", x=round(x - 5, 1), y=y - 5, width=10, height=10, class_="mark near")
    return el("path", d=f"M{x} {y - 7}l7 7l-7 7l-7 -7z", class_="mark misses")


def against(
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
    """`value` on a line from `left` to `right` with its limits, in the picture of a row of a table.

    Args:
        kind: which mark stands for its verdict, see `mark`.
        trail: the value has grown from 0; a line shows how far.
        guard: within that of a limit nothing is proven.
        ticks: single readings the value is the mean of.
    """

    def x(position: float) -> float:
        return round(EDGE + (position - left) / (right - left) * (WIDTH - 2 * EDGE), 1)

    def span_of(begin: float, end: float) -> tuple[float, float]:
        first = min(max(x(begin), EDGE), WIDTH - EDGE)
        last = min(max(x(end), EDGE), WIDTH - EDGE)
        return first, round(max(1.0, last - first), 1)

    begin, wide = span_of(left if low is None else low, right if high is None else high)
    shapes = [
        el("path", d=f"M{EDGE} {MIDDLE}H{WIDTH - EDGE}", class_="axis"),
        el("rect", x=begin, y=MIDDLE - 5, width=wide, height=10, class_="band"),
    ]
    limits_shown = [end for end in (low, high) if end is not None and not (trail and end == 0)]
    for end in limits_shown if guard else ():
        # Within the gauge's uncertainty of a limit nothing is proven.
        first, room = span_of(end - guard, end + guard)
        shapes.append(el("rect", x=first, y=MIDDLE - 5, width=room, height=10, class_="guard"))
    shapes += [el("path", d=f"M{x(end)} {MIDDLE - 9}V{MIDDLE + 9}", class_="limit") for end in limits_shown]
    shapes += [el("path", d=f"M{x(one)} {MIDDLE - 6}V{MIDDLE + 6}", class_="tick") for one in ticks]
    if value is not None:
        at = x(value)
        if trail:
            shapes.append(el("path", d=f"M{x(0)} {MIDDLE}H{at}", class_="trail"))
        shapes.append(mark(at, MIDDLE, kind))
    return svg(label, shapes, WIDTH, 2 * MIDDLE)
