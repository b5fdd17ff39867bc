"""Mistakes of a procedure file: gathered while reading, told all at once, in the order of the file."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final, Protocol

from bayvoice.errors import BayError
from bayvoice.procedure.places import Path, nearest

MOST_MISTAKES: Final = 1000
"""So many mistakes are told at most: more than that is no procedure with mistakes."""


@dataclass(frozen=True, slots=True)
class Mistake:
    """One thing that is wrong in a file.

    Attributes:
        file: name of the file as it was given.
        step: id of the step ("number 3" where it has no usable id), empty outside the steps.
        key: the key it concerns, empty where it concerns the whole table or file.
        what: what is wrong, without a full stop.
        mend: how to mend it, without a full stop.
        line: line in the file, from 1; None where it cannot be told.
    """

    file: str
    step: str
    key: str
    what: str
    mend: str
    line: int | None = None

    def __str__(self) -> str:
        file = visible(self.file)
        place = file if self.line is None else f"{file}:{self.line}"
        inner = ", ".join(part for part in (f"step {self.step}" if self.step else "", self.key) if part)
        return f"{place}: {inner + ': ' if inner else ''}{self.what}; {self.mend}."

    def as_dict(self) -> dict[str, Any]:
        """For JSON: the attributes under their own names."""
        return {
            "file": self.file,
            "line": self.line,
            "step": self.step,
            "key": self.key,
            "what": self.what,
            "mend": self.mend,
        }


class BadProcedure(BayError):  # noqa: N818 - named for what the reader holds in hand, as BayError's other kinds are
    """A procedure file that cannot be used. `mistakes`: all that was found, in the order of the file."""

    def __init__(self, mistakes: Iterable[Mistake]) -> None:
        self.mistakes = tuple(mistakes)
        first = self.mistakes[0]
        more = len(self.mistakes)
        what = first.what if more == 1 else f"{more} mistakes in the procedure"
        super().__init__(what, first.file, first.mend if more == 1 else "mend each and vet it again")

    def __str__(self) -> str:
        return "\n".join(str(mistake) for mistake in self.mistakes)

    def as_dict(self) -> dict[str, Any]:
        """For JSON: file, ok (False) and the mistakes."""
        return {"file": self.where, "ok": False, "mistakes": [mistake.as_dict() for mistake in self.mistakes]}


class SupportsNames(Protocol):
    """The name of each step, by its number in the file."""

    def __getitem__(self, number: int, /) -> str: ...


class Notes:
    """Collects mistakes of the file `file` while it is read."""

    def __init__(self, file: str, lines: Mapping[Path, int], step_names: SupportsNames) -> None:
        self._file = file
        self._lines = lines
        self._step_names = step_names
        self._noted: dict[Mistake, None] = {}

    def add(self, path: Path, what: str, mend: str) -> None:
        """Note that what stands at `path` is wrong.

        Raises:
            BadProcedure: there are `MOST_MISTAKES` already; whoever mends those looks again.
        """
        step, rest = "", path
        if len(path) > 1 and path[0] == "step" and isinstance(path[1], int):
            step, rest = self._step_names[path[1]], path[2:]
        mistake = Mistake(self._file, step, show_path(rest), what, mend, nearest(self._lines, path))
        self._noted[mistake] = None
        if len(self._noted) >= MOST_MISTAKES:
            self.raise_if_any()

    @property
    def count(self) -> int:
        """How many are noted so far."""
        return len(self._noted)

    def raise_if_any(self) -> None:
        """Raises BadProcedure if anything was noted."""
        if self._noted:
            raise BadProcedure(sorted(self._noted, key=lambda mistake: mistake.line or 0))


def show_path(path: Path) -> str:
    """``("part", 1, "name")`` as "part 2 name". A key may be any text in quotes: it is made safe to show."""
    return " ".join(str(part + 1) if isinstance(part, int) else visible(part[:40]) for part in path)


def suggest(word: str, known: Iterable[str], otherwise: str) -> str:
    """How to mend a word that is not one of `known`: the nearest, else `otherwise`."""
    names = {name.lower(): name for name in known}
    near = difflib.get_close_matches(word[:80].lower(), names, n=1)
    return f"perhaps {quoted(names[near[0]])} is meant" if near else otherwise


def quoted(value: object) -> str:
    """`value` in quotes as shown in a sentence, cut when long."""
    if isinstance(value, int) and abs(value) > 10**40:
        return "a very long number"
    text = str(value).lower() if isinstance(value, bool) else str(value)
    return f'"{visible(text if len(text) <= 40 else text[:37] + "...")}"'


def visible(text: str) -> str:
    """`text` with what cannot be shown or encoded written as escapes, so that printing it is safe."""
    return "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in text)


def listed(names: Iterable[str]) -> str:
    """The names as "a, b or c"."""
    items = list(names)
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} or {items[-1]}"
