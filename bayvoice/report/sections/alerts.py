"""Alerts and how they ended."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.report.base.blocks import Block, Head, Table, step_name
from bayvoice.report.base.common import Common, text, whole
from bayvoice.report.base.judging import deviation
from bayvoice.report.base.model import Deviation
from bayvoice.report.base.section import Fold, Found, JobReport, Section
from bayvoice.report.base.words import TONES, Clock, count, one_line


@dataclass(frozen=True, slots=True)
class AlertEnd:
    """How an alert ended: `how` "silenced" (after `rung` bursts) or "unanswered"."""

    step: str
    number: int
    name: str
    tone: str
    how: str
    rung: int
    by: str
    wall: float
    seq: int


def _alert(state: list[AlertEnd], common: Common, fact: Fact) -> None:
    name, tone, rung = text(fact.body, "name"), text(fact.body, "tone"), whole(fact.body, "rung") or 0
    how = "unanswered" if fact.kind == "alert_unanswered" else "silenced"
    state.append(AlertEnd(*common.at(fact), name, tone, how, rung, common.by, fact.wall, fact.seq))


class Alerts(Section[list[AlertEnd]]):
    """What rang."""

    key = "alerts"
    title = "Alerts"

    def begin(self, common: Common) -> list[AlertEnd]:
        """None."""
        return []

    def folds(self) -> Mapping[str, Fold[list[AlertEnd]]]:
        """The end of an alert."""
        return {"alert_silenced": _alert, "alert_unanswered": _alert}

    def deviations(self, found: Found) -> Iterator[Deviation]:
        """Alerts nobody answered."""
        for alert in self.of(found):
            if alert.how == "unanswered":
                meaning = TONES.get(alert.tone, one_line(alert.tone))
                what = f"the alert for {one_line(alert.name)} ({meaning}) was not answered"
                yield deviation(found.common, "alert", alert.step, what, alert.seq)

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A row an alert."""
        rows = tuple(
            (
                step_name(a.number, a.step),
                one_line(a.name),
                one_line(a.tone),
                a.how if a.how == "unanswered" else f"silenced after {count(a.rung, 'burst')}",
                clock.time(a.wall),
            )
            for a in self.of(report)
        )
        return (Table("Alerts and how they ended", ("Step", "Wait", "Tone", "How", Head("At")), rows),)

    def data(self, report: JobReport) -> Mapping[str, object]:
        """Every alert."""
        return {self.key: tuple(self.of(report))}


ALERTS: Final = Alerts()
