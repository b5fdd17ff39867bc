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

_GOOD: Final = frozenset(
    {"within", "in window", "in order", "new", "done", "open", "yes", "restarted", "in hand", "in date", "–", "0"}
)
_JUDGED: Final = frozenset(
    {"Verdict", "Fitted", "Result", "Count closed", "Left inside", "Before the job", "Date", "State"}
)

Cell = Callable[[int, int, str], Markup | None]
"""Row, column and what stands there -> what the page shows instead, None for just that."""


def judged(head: str, shown: str) -> bool:
    """Whether a cell under that head says that something is not in order."""
    return head in _JUDGED and shown not in _GOOD


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of plain strings.

    Attributes:
        caption: what the rows are.
        heads, rows: every row has as many cells as `heads`.
        cell: what the page shows in a cell instead of its string, a picture for instance.
        extra: head of one more column that only the page has, filled by `cell`.
        look: class of the table in the style sheet of the page.
        off: head and string of a cell -> whether it is marked as not in order.
        titled: the section's title says enough, so that the page does not show the caption.
    """

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    cell: Cell | None = None
    extra: str = ""
    look: str = ""
    off: Callable[[str, str], bool] = judged
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
