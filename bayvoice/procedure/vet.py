"""What a procedure asks for, and what is allowed in it but unwise. `bayvoice vet` prints this."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from bayvoice.procedure import sense, shown, spoken, timeline
from bayvoice.procedure.kind import form_of, kinds_of
from bayvoice.procedure.model import Procedure, Step
from bayvoice.procedure.remark import Remark
from bayvoice.procedure.sounds import SILENT, Sounds
from bayvoice.procedure.spoken import MOST_SPOKEN
from bayvoice.procedure.supplies import needs, renewed

__all__ = ["MOST_SPOKEN", "Remark", "Vetting", "vet"]


@dataclass(frozen=True)
class Vetting:
    """A procedure that is in order, and what is to be known about it.

    Attributes:
        warnings: what is unwise, in the order of the file.
        file: its name, for the lines.
        sounds: what the ears and the voice know of words; without it nothing is said about pronunciation.
    """

    procedure: Procedure
    warnings: tuple[Remark, ...]
    file: str = ""
    sounds: Sounds = field(default=SILENT, repr=False)

    @cached_property
    def timeline(self) -> timeline.Timeline:
        """The job in time, waits overlapped."""
        return timeline.timeline(self.procedure)

    @property
    def kinds(self) -> dict[str, int]:
        """How many steps there are of each kind, in the order of first use."""
        return dict(Counter(str(step.kind) for step in self.procedure.steps))

    @cached_property
    def unknown_words(self) -> dict[str, str]:
        """Word -> how it will be pronounced, for each spoken word that is in no dictionary."""
        return self.sounds.unknown(self.procedure)

    def lines(self) -> list[str]:
        """The vetting for a reader, one entry a line."""
        procedure = self.procedure
        steps = len(procedure.steps)
        kinds = ", ".join(f"{kind} {amount}" for kind, amount in self.kinds.items())
        head = f"{self.file or procedure.id}: in order. {procedure.title} ({procedure.machine})"
        groups = [
            f"steps: {steps} ({kinds})",
            *_group("to have ready", [shown.need_line(need) for need in needs(procedure)]),
            *(line for each in shown.listings(procedure) for line in _group(each.title, each.lines)),
            *_group("who may pass", [shown.passing_line(row) for row in shown.passing(procedure)]),
            *_group("the way back", [shown.way_back_line(row) for row in shown.way_back(procedure)]),
            *_group("branches", [shown.branch_line(row) for row in shown.branches(procedure)]),
            *_group("findings", [shown.finding_line(row) for row in shown.finding_rows(procedure)]),
            *timeline.lines(procedure, self.timeline),
            *_group("said as", [f"{text}: {said}" for text, said in spoken.expanded(procedure).items()]),
            *_group("words in no dictionary", [f"{word}: {said}" for word, said in self.unknown_words.items()]),
            *_group("warnings", [str(each) for each in self.warnings]),
        ]
        return [head, *(f"  {line}" for line in groups)]

    def as_dict(self) -> dict[str, Any]:
        """For JSON. Times are seconds, `at` counts steps from 1, limits and amounts are strings."""
        procedure = self.procedure
        return {
            "file": self.file,
            "ok": True,
            "id": procedure.id,
            "title": procedure.title,
            "machine": procedure.machine,
            "sha256": procedure.sha256,
            "steps": len(procedure.steps),
            "kinds": self.kinds,
            "needs": [shown.need_dict(need) for need in needs(procedure)],
            **{each.key: each.rows for each in shown.listings(procedure)},
            "passing": shown.passing(procedure),
            "way_back": shown.way_back(procedure),
            "branches": shown.branches(procedure),
            "findings": shown.finding_rows(procedure),
            "timeline": timeline.as_dict(procedure, self.timeline),
            "said_as": spoken.expanded(procedure),
            "unknown_words": self.unknown_words,
            "warnings": [each.as_dict() for each in self.warnings],
        }


def vet(procedure: Procedure, file: str = "", sounds: Sounds = SILENT) -> Vetting:
    """Look a loaded procedure through; mistakes are not in it, `load_text` has refused them.

    Args:
        file: for the lines.
        sounds: what the ears know of words.
    """
    remarks = (*about_all(procedure, sounds), *(r for step in procedure.steps for r in about(procedure, step)))
    return Vetting(procedure, remarks, file, sounds)


def about_all(procedure: Procedure, sounds: Sounds = SILENT) -> Iterator[Remark]:
    """What is unwise in the procedure as a whole."""
    for number, caution in enumerate(procedure.cautions, 1):
        yield from spoken.about_text("", f"caution {number} text", caution.text)
    yield from _about_parts(procedure)
    for form in kinds_of(procedure).values():
        yield from form.about_all(procedure)
    yield from sense.about_order(procedure)
    yield from sounds.about(procedure)


def _about_parts(procedure: Procedure) -> Iterator[Remark]:
    renewals = Counter(renewed(procedure))
    for part in procedure.parts:
        yield from spoken.unsayable("", f"part {part.id} name", part.name)
        if renewals[part.id] > part.quantity:
            what = f"{part.quantity} listed, {renewals[part.id]} steps fit one"
            yield Remark("", f"part {part.id} quantity", what, "correct the quantity")


def about(procedure: Procedure, step: Step) -> Iterator[Remark]:
    """What is unwise in one step; depends on nothing else but the gauges and parts of `procedure`."""
    yield from spoken.about(procedure, step)
    yield from form_of(procedure, step).about(procedure, step)
    for reason in step.reasons:
        yield from spoken.unsayable(step.id, "reasons", reason)


def _group(title: str, lines: list[str]) -> list[str]:
    return [f"{title}:", *(f"  {line}" for line in lines)] if lines else []
