"""Notes: what somebody wanted to be remembered, in words or as sound."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.report.base.blocks import Block, Quote, step_name
from bayvoice.report.base.common import Common, text, whole
from bayvoice.report.base.section import Fold, JobReport, Section
from bayvoice.report.base.words import Clock, clean, one_line, span


@dataclass(frozen=True, slots=True)
class Note:
    """`sound`: file name of the recording, "" for a typed one; `sha256` of it; `seconds` long."""

    step: str
    number: int
    text: str
    by: str
    wall: float
    seq: int
    sound: str = ""
    sha256: str = ""
    seconds: int = 0


def _noted(state: list[Note], common: Common, fact: Fact) -> None:
    said, sound, digest = (text(fact.body, key) for key in ("text", "sound", "sha256"))
    seconds = whole(fact.body, "seconds") or 0
    state.append(Note(*common.at(fact), said, common.by, fact.wall, fact.seq, sound, digest, seconds))


class Notes(Section[list[Note]]):
    """What was noted."""

    key = "notes"
    title = "Notes"

    def begin(self, common: Common) -> list[Note]:
        """None."""
        return []

    def folds(self) -> Mapping[str, Fold[list[Note]]]:
        """A note."""
        return {"noted": _noted}

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A quote a note: who, when and where, and the words."""
        return tuple(_quote(note, clock) for note in self.of(report))

    def data(self, report: JobReport) -> Mapping[str, object]:
        """Every note."""
        return {self.key: tuple(self.of(report))}


def _quote(n: Note, clock: Clock) -> Quote:
    sound = f", {span(n.seconds)} of sound" if n.sound else ""
    head = f"{one_line(n.by)}, {clock.time(n.wall)}, step {step_name(n.number, n.step)}{sound}"
    words = clean(n.text) or ("" if n.sound else "A mark without words.")
    return Quote(head, words, n.sound, n.sha256, n.seconds)


NOTES: Final = Notes()
