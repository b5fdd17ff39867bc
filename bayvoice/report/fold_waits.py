"""What waits and their alerts add to a report."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.report.gathered import Gathered, text, whole
from bayvoice.report.lines import AlertEnd, WaitChange, WaitRun
from bayvoice.report.words import span


def _wait_started(gathered: Gathered, fact: Fact) -> None:
    (step, number), body = gathered.at(fact), fact.body
    ago = whole(body, "ago") or 0
    began = fact.wall - ago
    if not 0 <= began <= fact.wall + 86_400:
        began = fact.wall
    gathered.waits.append(
        WaitRun(
            step, number, text(body, "name"), text(body, "wait"), whole(body, "at_least"), whole(body, "at_most"),
            began, None, None, None, "", fact.seq, ago,
            text(body, "model"), text(body, "from_"),
        )
    )  # fmt: skip


def _run_at(gathered: Gathered, fact: Fact) -> int | None:
    step = text(fact.body, "step")
    return next((i for i in reversed(range(len(gathered.waits))) if gathered.waits[i].step == step), None)


def _wait_changed(gathered: Gathered, fact: Fact) -> None:
    if (at := _run_at(gathered, fact)) is not None:
        run, body = gathered.waits[at], fact.body
        least, most = whole(body, "at_least"), whole(body, "at_most")
        reason = text(body, "reason")
        if reason == "extended" and least is not None and run.at_least is not None:
            reason = f"extended by {span(least - run.at_least)}"
        change = WaitChange(least, most, reason, gathered.by, fact.wall, fact.seq)
        gathered.waits[at] = replace(run, at_least=least, at_most=most, changes=(*run.changes, change))


def _wait_over(gathered: Gathered, fact: Fact) -> None:
    if (at := _run_at(gathered, fact)) is not None:
        gathered.waits[at] = replace(gathered.waits[at], over=fact.wall)


def _wait_ended(gathered: Gathered, fact: Fact) -> None:
    if (at := _run_at(gathered, fact)) is not None:
        gathered.waits[at] = replace(
            gathered.waits[at],
            ended=fact.wall, seconds=whole(fact.body, "seconds"), verdict=text(fact.body, "verdict"),
            reason=text(fact.body, "reason"), seq=fact.seq,
        )  # fmt: skip


def _alert(gathered: Gathered, fact: Fact) -> None:
    body = fact.body
    gathered.alerts.append(
        AlertEnd(
            *gathered.at(fact), text(body, "name"), text(body, "tone"),
            "unanswered" if fact.kind == "alert_unanswered" else "silenced", whole(body, "rung") or 0, gathered.by,
            fact.wall, fact.seq,
        )
    )  # fmt: skip


FOLDS: Final[dict[str, Callable[[Gathered, Fact], None]]] = {
    "wait_started": _wait_started,
    "wait_changed": _wait_changed,
    "wait_over": _wait_over,
    "wait_ended": _wait_ended,
    "alert_silenced": _alert,
    "alert_unanswered": _alert,
}
