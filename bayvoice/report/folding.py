"""The facts of a job gathered into the lines of a report, without judging them: steps, sittings and time."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.report import fold_people, fold_values, fold_waits, fold_work
from bayvoice.report.gathered import Gathered, text
from bayvoice.report.lines import Gap, Sitting, StepLine
from bayvoice.report.worded import worded

SILENT_S: Final = 30 * 60
"""Seconds without any entry, in a sitting with no wait running, after which a report says so."""

AWAY_S: Final = 5 * 60
"""Seconds between a sitting that broke off and the next one after which a report says so."""

Fold = Callable[[Gathered, Fact], None]


def take(gathered: Gathered, facts: Sequence[Fact]) -> None:
    """Gather all facts of a job, once, in order."""
    last = facts[0].wall if facts else 0.0
    for fact in map(worded, facts):
        if gathered.active and fact.kind != "sitting_began":
            passed = max(0.0, fact.wall - last)
            gathered.worked += passed
            gathered.spent[gathered.current] = gathered.spent.get(gathered.current, 0.0) + passed
            _look_for_silence(gathered, fact, last)
        last = fact.wall
        if fact.kind == "sitting_began":
            gathered.by = text(fact.body, "by")
        gathered.by_of[fact.seq], gathered.wall_of[fact.seq] = gathered.by, fact.wall
        if fold := FOLDS.get(fact.kind):
            fold(gathered, fact)
        if gathered.sittings and fact.kind not in fold_people.AFTERWARDS:
            gathered.sittings[-1] = replace(gathered.sittings[-1], last=fact.wall)
    for step, seconds in gathered.spent.items():
        if step in gathered.steps:
            gathered.steps[step] = replace(gathered.steps[step], seconds=int(seconds))


def _look_for_silence(gathered: Gathered, fact: Fact, last: float) -> None:
    """Nothing was entered for long, and neither a wait, a hold point nor the step's own length explains it."""
    step = gathered.current
    line = gathered.steps.get(step)
    takes = line.takes if line else None
    explained = any(run.ended is None for run in gathered.waits) or fact.kind in ("wait_ended", "clock_moved")
    # At a hold point one waits for somebody.
    explained = explained or (line is not None and line.kind == "hold")
    if fact.wall - last >= max(SILENT_S, 2 * (takes or 0)) and not explained:
        gathered.gaps.append(Gap("silent", gathered.by, step, gathered.number(step), last, fact.wall, fact.seq))


def _sitting_began(gathered: Gathered, fact: Fact) -> None:
    before = gathered.sittings[-1] if gathered.sittings else None
    if before and before.left is None and fact.wall - before.last >= AWAY_S:
        step = gathered.current
        by = gathered.by_of.get(fact.seq - 1, before.by)
        gathered.gaps.append(Gap("broke off", by, step, gathered.number(step), before.last, fact.wall, fact.seq))
    gathered.active = True
    gathered.sittings.append(
        Sitting(gathered.by, text(fact.body, "product"), fact.wall, fact.wall, None, "", (gathered.by,))
    )


def _sitting_left(gathered: Gathered, fact: Fact) -> None:
    gathered.active = False
    if gathered.sittings:
        gathered.sittings[-1] = replace(gathered.sittings[-1], left=fact.wall, why=text(fact.body, "why"))


def _paused(gathered: Gathered, fact: Fact) -> None:
    gathered.active = False


def _resumed(gathered: Gathered, fact: Fact) -> None:
    gathered.active = True


def _job_done(gathered: Gathered, fact: Fact) -> None:
    gathered.ended, gathered.ended_seq = fact.wall, fact.seq
    gathered.current = ""


def _line(gathered: Gathered, step: str) -> StepLine:
    return gathered.steps.get(step) or StepLine(0, step, "", "", None, None, 0, "", "", 0)


def _step_entered(gathered: Gathered, fact: Fact) -> None:
    step = gathered.current = text(fact.body, "step")
    if text(fact.body, "again") == "recovery":
        _undo_from(gathered, gathered.number(step))
    line = _line(gathered, step)
    entered = fact.wall if line.entered is None else line.entered
    gathered.steps[step] = replace(line, entered=entered, visits=line.visits + 1)


def _undo_from(gathered: Gathered, number: int) -> None:
    """A recovery step makes what came after it be done again; the lines stay, what they prove does not."""
    for step, line in gathered.steps.items():
        if number and line.number >= number:
            gathered.steps[step] = replace(line, left=None, how="", reason="", seq=0)
            gathered.stage_of.pop(step, None)
            gathered.part_of.pop(step, None)
            gathered.signature_of.pop(step, None)
            gathered.check_of = {key: check for key, check in gathered.check_of.items() if key[0] != step}


def _step_done(gathered: Gathered, fact: Fact) -> None:
    line = _line(gathered, text(fact.body, "step"))
    gathered.steps[line.step] = replace(
        line, left=fact.wall, how=text(fact.body, "how"), reason=text(fact.body, "reason"), seq=fact.seq
    )


FOLDS: Final[dict[str, Fold]] = {
    "sitting_began": _sitting_began,
    "sitting_left": _sitting_left,
    "paused": _paused,
    "resumed": _resumed,
    "job_done": _job_done,
    "step_entered": _step_entered,
    "step_done": _step_done,
    **fold_values.FOLDS,
    **fold_work.FOLDS,
    **fold_waits.FOLDS,
    **fold_people.FOLDS,
}
"""Kind of fact -> what it adds to a report."""
