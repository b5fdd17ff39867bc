"""What a section is laid out in, as plain strings: tables, lists of points, quotes. The same for every renderer."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from bayvoice.report.base.markup import Markup
from bayvoice.report.base.words import one_line

CODES: Final = {
    "right": "with the right code",
    "": "no code was asked for",
    "no roster": "signed without a roster: no code was asked for, and nobody is known",
}
"""What stands under `code` of a signature -> what it means."""

Cell = Callable[[int, int, str], Markup | None]
"""Row, column and what stands there -> what the page shows instead, None for just that."""


class Bad(str):
    """A cell that says that something is not in order; the page marks it."""

    __slots__ = ()


def judged(shown: str, good: bool) -> str:
    """A cell that says whether something is in order."""
    return shown if good else Bad(shown)


class Head(str):
    """Head of a column whose cells have a look in the style sheet of the page: "nowrap" are not broken into lines."""

    __slots__ = ("look",)

    look: str

    def __new__(cls, shown: str, look: str = "nowrap") -> Head:
        """`shown` with its look."""
        made = super().__new__(cls, shown)
        made.look = look
        return made


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of plain strings.

    Attributes:
        caption: what the rows are.
        heads, rows: every row has as many cells as `heads`; either may be marked (`Head`, `Bad`).
        cell: what the page shows in a cell instead of its string, a picture for instance.
        extra: head of one more column that only the page has, filled by `cell`.
        look: class of the table in the style sheet of the page.
        titled: the section's title says enough, so that the page does not show the caption.
    """

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    cell: Cell | None = None
    extra: str = ""
    look: str = ""
    titled: bool = True


@dataclass(frozen=True, slots=True)
class Point:
    """One point of a list. `where` stands before the text, `more` after it, `who` with the moment at the end."""

    text: str
    where: str = ""
    more: str = ""
    who: str = ""


@dataclass(frozen=True, slots=True)
class Points:
    """A list. `first`: number of the first point, 0 for a list without numbers; `head`: what stands above it."""

    points: tuple[Point, ...]
    head: str = ""
    first: int = 0


@dataclass(frozen=True, slots=True)
class Quote:
    """Somebody's own words, of any number of lines, under `head`, with the file of their sound, "" for none."""

    head: str
    words: str
    sound: str = ""
    sha256: str = ""
    seconds: int = 0


Block = Table | Points | Quote


def step_name(number: int, step: str) -> str:
    """``14``, or the id of a step the procedure does not have."""
    return str(number) if number else one_line(step) or "–"


def code_text(code: str) -> str:
    """What was asked for before a signature was taken."""
    return CODES.get(code, f"code: {one_line(code)}")
