"""Vetting a text again and again while it is written: only what has changed is read anew.

The text is cut at its ``[[step]]`` lines. A piece that is the same as before keeps its parsed table, its step and the
remarks about it; what concerns the steps together is looked at anew each time. Where the text cannot be cut cleanly
(a string over several lines that holds such a line, a part after the first step) it is read as a whole.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from bayvoice.procedure import load
from bayvoice.procedure.forms import FORMS
from bayvoice.procedure.kind import Form, Kinds
from bayvoice.procedure.memo import Memo
from bayvoice.procedure.mistakes import BadProcedure
from bayvoice.procedure.model import Procedure, Step
from bayvoice.procedure.places import Path, line_numbers
from bayvoice.procedure.remark import Remark
from bayvoice.procedure.sounds import SILENT, Sounds
from bayvoice.procedure.vet import Vetting, about, about_all, vet

_CUT: Final = re.compile(r"^\[\[step\]\]", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Pieces:
    """A text cut before each step. `head`: what stands before the first."""

    head: str
    pieces: list[str]

    def changed_to(self, text: str) -> Change:
        """`text` in pieces, and which of them are new. Pieces at both ends that are the same are not looked at."""
        first = last = at = 0
        if self.pieces and text.startswith(self.head):
            at = len(self.head)
            for piece in self.pieces:
                if not text.startswith(piece, at):
                    break
                at += len(piece)
                first += 1
            first = max(0, first - 1)
            at = len(self.head) + sum(map(len, self.pieces[:first]))
        end = len(text)
        for piece in reversed(self.pieces[first:]):
            if end - len(piece) < at or not text.startswith(piece, end - len(piece)):
                break
            end -= len(piece)
            last += 1
        return self._cut_between(text, first, at, len(self.pieces) - last, end)

    def _cut_between(self, text: str, first: int, at: int, last: int, end: int) -> Change:
        starts = [found.start() for found in _CUT.finditer(text, at, end)]
        if not first and starts:
            head, at = text[: starts[0]], starts[0]
        else:
            head = self.head if first else text[:end]
        if starts[:1] != [at] or (end < len(text) and not _CUT.match(text, end)):
            # The cut does not fall on the old one: everything is cut anew.
            starts = [found.start() for found in _CUT.finditer(text)]
            head, first, last, end = text[: starts[0]] if starts else text, 0, len(self.pieces), len(text)
        new = [text[a:b] for a, b in zip(starts, [*starts[1:], end], strict=True)]
        return Change(head, [*self.pieces[:first], *new, *self.pieces[last:]], new, first, last)


@dataclass(frozen=True, slots=True)
class Change:
    """Pieces of a text: `new` ones stand where `first` to `last` (excluded) of the old ones were."""

    head: str
    pieces: list[str]
    new: list[str]
    first: int
    last: int

    @property
    def kept(self) -> Pieces:
        """To be compared with the next text."""
        return Pieces(self.head, self.pieces)


class Vetter:
    """Vets one file as often as it changes.

    Args:
        name: its file name, as for `load_text`.
        sounds: what the ears know of words.
        kinds: the step kinds that are known.
    """

    def __init__(self, name: str, sounds: Sounds = SILENT, kinds: Kinds[Form] = FORMS) -> None:
        self._name = name
        self._sounds = sounds
        self._kinds = kinds
        self._head: tuple[str, dict[str, Any]] = ("", {})
        self._pieces = Pieces("", [])
        self._tables: list[dict[str, Any]] = []
        self._memo = Memo()
        self._remarks: dict[int, tuple[Step, tuple[Remark, ...]]] = {}

    def vet(self, text: str) -> Vetting:
        """The vetting of `text`, the same as a first look would give.

        Raises:
            BadProcedure: with every mistake in it.
        """
        cut = self._cut(text)
        if cut is None:
            return vet(load.load_text(text, self._name, self._kinds), self._name, self._sounds)
        document, lines = cut
        procedure = load.read_document(document, lines, text, self._name, self._memo, self._kinds)
        vetting = Vetting(procedure, tuple(self._about(procedure)), self._name, self._sounds)
        self._memo.prune(document["step"])
        return vetting

    def _cut(self, text: str) -> tuple[dict[str, Any], _Lines] | None:
        """The document, put together from pieces, and where its lines are; None where it has to be read whole."""
        if len(text) > load.LONGEST_FILE or "\r" in text:
            return None
        cut = self._pieces.changed_to(text)
        try:
            if cut.head != self._head[0]:
                self._head = (cut.head, load.parse(cut.head, self._name))
                self._memo, self._remarks = Memo(), {}
            span = slice(cut.first, cut.last)
            known = dict(zip(self._pieces.pieces[span], self._tables[span], strict=True))
            tables = [known.get(piece) or _table(piece, self._name) for piece in cut.new]
        except BadProcedure:
            return None
        good = [table for table in tables if table is not None]
        if "step" in self._head[1] or len(good) < len(tables) or not cut.pieces:
            return None
        made = [*self._tables[: cut.first], *good, *self._tables[cut.last :]]
        if len(set(cut.pieces)) < len(cut.pieces):
            # The same text twice would be told once, and both are wrong.
            return None
        self._pieces, self._tables = cut.kept, made
        return {**self._head[1], "step": made}, _Lines(cut.head, cut.pieces)

    def _about(self, procedure: Procedure) -> Iterator[Remark]:
        yield from about_all(procedure, self._sounds)
        kept = self._remarks
        self._remarks = {}
        for step in procedure.steps:
            known = kept.get(id(step))
            if known is None:
                known = (step, tuple(about(procedure, step)))
            self._remarks[id(step)] = known
            yield from known[1]


def _table(piece: str, name: str) -> dict[str, Any] | None:
    """The one step in `piece`; None where it holds anything else. BadProcedure: it is not TOML by itself."""
    document = load.parse(piece, name)
    steps = document.pop("step", None)
    if document or not isinstance(steps, list) or len(steps) != 1 or not isinstance(steps[0], dict):
        return None
    return steps[0]


class _Lines(Mapping[Path, int]):
    """The lines of a text in pieces; a piece is looked through when a line in it is asked for."""

    def __init__(self, head: str, pieces: list[str]) -> None:
        self._texts = [head, *pieces]
        self._found: dict[int, dict[Path, int]] = {}

    def __getitem__(self, path: Path) -> int:
        number = 0
        if path[:1] == ("step",):
            number = 1
            if len(path) > 1:
                if not isinstance(path[1], int) or not 0 <= path[1] < len(self._texts) - 1:
                    raise KeyError(path)
                number, path = path[1] + 1, ("step", 0, *path[2:])
        if number not in self._found:
            self._found[number] = line_numbers(self._texts[number])
        return self._found[number][path] + sum(text.count("\n") for text in self._texts[:number])

    def __iter__(self) -> Iterator[Path]:
        raise NotImplementedError("lines are asked for, not listed")

    def __len__(self) -> int:
        return len(self._texts)
