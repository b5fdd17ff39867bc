"""A picture of the fasteners of a step where they sit: numbered, each done, now or to come.

Circle: 1 is at twelve o'clock and the numbers go on clockwise. Rectangle and row: 1 is top left and the numbers go on
line by line. Another pattern has no known places, so the fasteners stand in the order in which they are taken.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, cos, pi, sin
from typing import Final

from bayvoice.screen.signs import Signs
from bayvoice.trade.order import rectangle_order, row_order, star_order

DONE: Final = "done"
NOW: Final = "now"
TO_COME: Final = "to come"

LEAST_GAP: Final = 1
"""Blank columns between two fasteners of one row."""


@dataclass(frozen=True, slots=True)
class Mark:
    """One fastener: its number and whether it is `DONE`, `NOW` or `TO_COME`."""

    number: int
    state: str


@dataclass(frozen=True, slots=True)
class Placed:
    """A fastener on the picture. `row`, `column`: where its `text` begins, from the top left."""

    mark: Mark
    row: int
    column: int
    text: str


def pattern_of(order: tuple[int, ...]) -> tuple[str, int]:
    """(pattern, rows) as `placed` takes them, read off a tightening order, so that the picture agrees with it."""
    count = len(order)
    if count > 2 and order == star_order(count):
        return "circle", 0
    if order == row_order(count):
        return "row", 1
    for rows in range(2, count // 2 + 1):
        if count % rows == 0 and order == rectangle_order(rows, count // rows):
            return "rectangle", rows
    return "list", 0


def placed(marks: Sequence[Mark], pattern: str, lines: int, width: int, height: int, signs: Signs) -> list[Placed]:
    """Where each of `marks` stands in a box of `width` columns and `height` rows.

    Args:
        marks: the fasteners, in the order in which they are taken.
        pattern: "circle", "rectangle", "row" or anything else (places not known).
        lines: rows of a rectangle.
        width, height: size of the box in character cells.
        signs: the symbols to use.

    Returns:
        The fasteners with their places: in the pattern, or where the box is too small for that in the order in which
        they are taken; empty where it is too small even for that.
    """
    if not marks or width < 1 or height < 1:
        return []
    cell = 1 + len(str(max(mark.number for mark in marks)))
    texts = {mark.number: f"{_sign(mark, signs)}{mark.number}" for mark in marks}
    by_number = sorted(marks, key=lambda mark: mark.number)
    if pattern == "circle" and len(marks) > 2:
        found = _circle(by_number, texts, cell, width, height)
        if found:
            return found
    if pattern == "rectangle" and lines > 0:
        found = _grid(by_number, texts, cell, ceil(len(marks) / lines), width, height)
        if found:
            return found
    across = max(1, (width + LEAST_GAP) // (cell + LEAST_GAP))
    return _grid(by_number if pattern == "row" else marks, texts, cell, across, width, height)


def _sign(mark: Mark, signs: Signs) -> str:
    return {DONE: signs.good, NOW: signs.now}.get(mark.state, signs.later)


def _circle(marks: Sequence[Mark], texts: dict[int, str], cell: int, width: int, height: int) -> list[Placed]:
    """An ellipse in the box that looks as round as the box allows, and in which no two fasteners touch."""
    up = (height - 1) / 2
    # a character cell is about twice as high as it is wide
    over = min((width - cell) / 2, 2.2 * up)
    if up < 1 or over < cell:
        return []
    found = []
    for place, mark in enumerate(marks):
        angle = 2 * pi * place / len(marks)
        row, column = round(up - up * cos(angle)), round(over + over * sin(angle))
        found.append(Placed(mark, row, column, texts[mark.number].ljust(cell)))
    clear = all(
        a.row != b.row or abs(a.column - b.column) >= cell + LEAST_GAP for i, a in enumerate(found) for b in found[:i]
    )
    return found if clear else []


def _grid(
    marks: Sequence[Mark], texts: dict[int, str], cell: int, across: int, width: int, height: int
) -> list[Placed]:
    rows = ceil(len(marks) / across)
    if across * (cell + LEAST_GAP) - LEAST_GAP > width or rows > height:
        return []
    step = min(cell + 4, (width - cell) // max(1, across - 1)) if across > 1 else cell
    down = 2 if 2 * rows - 1 <= height and rows > 1 else 1
    return [
        Placed(mark, place // across * down, place % across * step, texts[mark.number].ljust(cell))
        for place, mark in enumerate(marks)
    ]
