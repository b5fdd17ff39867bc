"""Microphone, voice, disk: whatever did not work; and a procedure that is not what it was."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.report.base.common import Common, text
from bayvoice.report.base.judging import deviation, reason
from bayvoice.report.base.model import Deviation
from bayvoice.report.base.section import Fold, Found, Section
from bayvoice.report.base.words import count, one_line


@dataclass(slots=True)
class Faults:
    """`failed`: (part, what) -> the facts that say so; `changed`: those that say that the procedure's file changed."""

    failed: dict[tuple[str, str], list[int]] = field(default_factory=dict)
    changed: list[int] = field(default_factory=list)


def _trouble(state: Faults, common: Common, fact: Fact) -> None:
    state.failed.setdefault((text(fact.body, "part"), text(fact.body, "what")), []).append(fact.seq)


def _changed(state: Faults, common: Common, fact: Fact) -> None:
    state.changed.append(fact.seq)


class Trouble(Section[Faults]):
    """What failed around the job."""

    key = "trouble"
    title = "Trouble"

    def begin(self, common: Common) -> Faults:
        """None."""
        return Faults()

    def folds(self) -> Mapping[str, Fold[Faults]]:
        """Something failed; the procedure's file is another one."""
        return {"trouble": _trouble, "procedure_changed": _changed}

    def deviations(self, found: Found) -> Iterator[Deviation]:
        """All of it, the same trouble once."""
        state, common = self.of(found), found.common
        for (part, what), times in state.failed.items():
            often = f" ({count(len(times), 'time')})" if len(times) > 1 else ""
            yield deviation(common, "trouble", "", f"{one_line(part)}: {one_line(what)}{often}", times[0])
        if common.procedure is None:
            what = "the procedure in the record cannot be read, so nobody can say whether its steps were done"
            yield deviation(common, "procedure", "", what, common.first)
        for seq in state.changed:
            what = "the procedure's file was changed during the job, which kept to the version it began with"
            yield deviation(common, "procedure", "", what, seq, reason(common, "procedure", ""))


TROUBLE: Final = Trouble()
