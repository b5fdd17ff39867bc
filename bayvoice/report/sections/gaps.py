"""Time in which nobody can say what was done, and jumps of the computer's clock."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.report.base.common import Common, text, whole
from bayvoice.report.base.judging import deviation
from bayvoice.report.base.model import Deviation
from bayvoice.report.base.section import Fold, Found, JobReport, Section
from bayvoice.report.base.words import Clock, one_line, span

SILENT_S: Final = 30 * 60
"""Seconds without any entry, in a sitting with no wait running, after which a report says so."""

AWAY_S: Final = 5 * 60
"""Seconds between a sitting that broke off and the next one after which a report says so."""

AFTERWARDS: Final = frozenset({"signed_off", "returned"})
"""Kinds of fact that belong to no sitting: the foreman's word on the job."""


@dataclass(frozen=True, slots=True)
class Gap:
    """A stretch without any entry. `kind`: "broke off" (a sitting that ended without a farewell) or "silent"."""

    kind: str
    by: str
    step: str
    number: int
    began: float
    ended: float
    seq: int


@dataclass(slots=True)
class Silence:
    """Gaps and jumps of the clock, and what is known of the last sitting.

    Attributes:
        jumps: moment, seconds where they are known, and what is said of it.
        open: somebody sat down and has not left.
        by: who sat down last; heard: moment of the last fact of the sitting.
    """

    lines: list[Gap] = field(default_factory=list)
    jumps: list[tuple[float, int | None, str]] = field(default_factory=list)
    open: bool = False
    by: str = ""
    heard: float = 0.0


def _moved(state: Silence, common: Common, fact: Fact) -> None:
    state.jumps.append((fact.wall, whole(fact.body, "seconds"), str(fact.body.get("what"))))


class Gaps(Section[Silence]):
    """Where the record says nothing."""

    key = "gaps"
    title = "Time without an entry"
    rank = 6

    def begin(self, common: Common) -> Silence:
        """None."""
        return Silence()

    def folds(self) -> Mapping[str, Fold[Silence]]:
        """A jump of the computer's clock."""
        return {"clock_moved": _moved}

    def before(self, found: Found, fact: Fact) -> None:
        """Every fact ends a stretch in which nothing was entered."""
        state, common = self.of(found), found.common
        if fact.kind == "sitting_began":
            if state.open and fact.wall - state.heard >= AWAY_S:
                by = common.by_of.get(fact.seq - 1, state.by)
                state.lines.append(_gap(common, "broke off", by, state.heard, fact))
            state.open, state.by = True, text(fact.body, "by")
        elif common.active:
            self._look_for_silence(found, fact)
        if fact.kind == "sitting_left":
            state.open = False
        if fact.kind not in AFTERWARDS:
            state.heard = fact.wall

    def _look_for_silence(self, found: Found, fact: Fact) -> None:
        """Nothing was entered for long, and neither a wait, a hold point nor the step's own length explains it."""
        common = found.common
        step = common.step(common.current)
        long = max(SILENT_S, 2 * ((step.takes if step else None) or 0))
        if fact.wall - common.last < long or fact.kind in ("wait_ended", "clock_moved"):
            return
        if not any(section.explains_silence(found, step) for section in found.sections):
            self.of(found).lines.append(_gap(common, "silent", common.by, common.last, fact))

    def deviations(self, found: Found) -> Iterator[Deviation]:
        """Every gap."""
        for gap in self.of(found).lines:
            length = span(int(gap.ended - gap.began))
            what = f"nothing was entered for {length}, in no pause and with no wait running"
            if gap.kind == "broke off":
                by = one_line(gap.by) or "unknown"
                what = f"the sitting of {by} broke off without a word; {length} later it went on"
            yield deviation(found.common, "gap", gap.step, what, gap.seq)

    def remarks(self, report: JobReport, clock: Clock) -> Iterator[str]:
        """Jumps of the clock."""
        for wall, seconds, what in self.of(report).jumps:
            by = "" if seconds is None else f" by {span(seconds)}"
            yield f"the computer's clock moved{by} at {clock.time(wall)}: {one_line(what)}"

    def data(self, report: JobReport) -> Mapping[str, object]:
        """Every gap."""
        return {self.key: tuple(self.of(report).lines)}


def _gap(common: Common, kind: str, by: str, began: float, fact: Fact) -> Gap:
    return Gap(kind, by, common.current, common.number(common.current), began, fact.wall, fact.seq)


GAPS: Final = Gaps()
