"""The foreman's word on the whole job; it stands in the head of a report."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.report.base.common import Common, text, whole
from bayvoice.report.base.section import Fold, JobReport, Section


@dataclass(frozen=True, slots=True)
class Word:
    """The foreman's word on the job, as in the fact of that `kind`; `heard`: when a remark was heard."""

    kind: str
    who: str
    remark: str
    heard: float | None
    wall: float
    seq: int
    role: str = ""
    code: str = ""
    facts: int = 0


def _word(state: list[Word], common: Common, fact: Fact) -> None:
    who, remark, role, code = (text(fact.body, key) for key in ("who", "remark", "role", "code"))
    facts = whole(fact.body, "facts") or 0
    state.append(Word(fact.kind, who, remark, None, fact.wall, fact.seq, role, code, facts))


def _heard(state: list[Word], common: Common, fact: Fact) -> None:
    seq = whole(fact.body, "seq")
    state[:] = [replace(word, heard=fact.wall) if word.seq == seq else word for word in state]


class Words(Section[list[Word]]):
    """Signed off, or given back with a remark."""

    key = "words"
    title = "The foreman's word"

    def begin(self, common: Common) -> list[Word]:
        """None."""
        return []

    def folds(self) -> Mapping[str, Fold[list[Word]]]:
        """A word, and that its remark was heard."""
        return {"signed_off": _word, "returned": _word, "remark_heard": _heard}

    def data(self, report: JobReport) -> Mapping[str, object]:
        """Every word, the last one last."""
        return {self.key: tuple(self.of(report))}


WORDS: Final = Words()
