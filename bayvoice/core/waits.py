"""Running windows: start, announce, gate, end. Deadlines are data; the hub only wakes us."""

from __future__ import annotations

from dataclasses import replace

from bayvoice.core.job import Job, Running
from bayvoice.core.state import Alert
from bayvoice.core.turn import Turn
from bayvoice.core.wording import duration
from bayvoice.procedure.model import Step, Wait, WaitKind

RING_EVERY = 12.0
"""Seconds between two bursts of an unanswered alert: a gap in which an answer can be heard."""
RINGS = 5
"""Bursts after which an alert counts as unanswered."""
LATE = 2.0
"""A wake-up later than this (suspend, overload) is said to be late."""


def detail_of(step: Step) -> Wait:
    """The wait a wait step describes."""
    assert isinstance(step.detail, Wait)
    return step.detail


def start(turn: Turn, step: Step) -> None:
    """Start the wait of `step` now."""
    wait = detail_of(step)
    turn.fact(
        "wait_started", step=step.id, name=wait.name, wait=wait.wait.value,
        at_least=wait.at_least, at_most=wait.at_most, mono=f"{turn.at.mono:.3f}",
    )  # fmt: skip
    key = "wait_started_" + ("both" if wait.at_least and wait.at_most else "min" if wait.at_least else "max")
    turn.say(key, name=wait.name, at_least=duration(wait.at_least or 0), at_most=duration(wait.at_most or 0))
    schedule(turn)


def lead(wait: Running) -> float:
    """How many seconds before its maximum a wait warns: a fifth of the window, at most a minute."""
    window = (wait.at_most or 0) - (wait.at_least or 0)
    return min(60.0, window / 5)


def schedule(turn: Turn) -> None:
    """Ask for every wake-up the running waits still need."""
    for wait in turn.job.waits:
        if wait.at_least is not None and not wait.due:
            turn.wake(f"due:{wait.step}", wait.since + wait.at_least)
        if wait.at_most is not None and not wait.over:
            turn.wake(f"soon:{wait.step}", wait.since + wait.at_most - lead(wait))
            turn.wake(f"over:{wait.step}", wait.since + wait.at_most)


def woke(turn: Turn, what: str, step_id: str, due: float) -> None:
    """A wait's limit has come: `what` is "due", "soon", "over" or "ring"."""
    if what == "ring":
        _ring_again(turn, step_id)
        return
    wait = turn.job.wait_of(step_id)
    if wait is None or getattr(wait, what, False):
        return
    overdue = turn.at.mono - due
    if what == "due":
        turn.fact("wait_due", step=wait.step, name=wait.name)
        if wait.at_most is None and not _closes(turn, wait):
            end(turn, wait)
        turn.say("wait_due", name=wait.name)
    elif what == "soon":
        left = wait.left(turn.at.mono)
        if left is None or left <= 0:
            return
        turn.say("wait_soon", name=wait.name, left=duration(left))
    else:
        turn.fact("wait_over", step=wait.step, name=wait.name)
        turn.say("wait_over", name=wait.name)
    if overdue > LATE:
        turn.say("wait_late_word", late=duration(overdue))
    alert = Alert(wait.step, wait.name, what)
    turn.put(alerts=(*(a for a in turn.state.alerts if a.step != wait.step), alert))
    turn.ring(what)
    turn.wake(f"ring:{wait.step}", turn.at.mono + RING_EVERY)


def _closes(turn: Turn, wait: Running) -> str:
    return detail_of(turn.job.procedure.steps[turn.job.procedure.index(wait.step)]).closes


def _ring_again(turn: Turn, step_id: str) -> None:
    alert = next((a for a in turn.state.alerts if a.step == step_id), None)
    if alert is None:
        return
    others = tuple(a for a in turn.state.alerts if a.step != step_id)
    if alert.rung >= RINGS:
        turn.put(alerts=others)
        turn.fact("alert_unanswered", step=alert.step, name=alert.name, tone=alert.tone)
        return
    turn.put(alerts=(*others, replace(alert, rung=alert.rung + 1)))
    turn.ring(alert.tone)
    turn.say(f"ring_{alert.tone}", name=alert.name)
    turn.wake(f"ring:{step_id}", turn.at.mono + RING_EVERY)


def end(turn: Turn, wait: Running) -> None:
    """The window of `wait` ends now; early, in window or late is worked out from its limits."""
    seconds = turn.at.mono - wait.since
    early = wait.short(turn.at.mono) > 0
    left = wait.left(turn.at.mono)
    late = left is not None and left < 0
    verdict = "early" if early else "late" if late else "in window"
    turn.put(alerts=tuple(a for a in turn.state.alerts if a.step != wait.step))
    turn.fact("wait_ended", step=wait.step, name=wait.name, seconds=int(seconds), verdict=verdict)


def gating(job: Job, step: Step | None, now: float) -> Running | None:
    """The wait whose minimum still bars `step` (None: the end of the job) at mono time `now`, the longest one."""
    short = []
    for wait in job.waits:
        missing = wait.short(now)
        if missing <= 0 or wait.step in job.waived:
            continue
        detail = detail_of(job.procedure.steps[job.procedure.index(wait.step)])
        if step is None or step.id in detail.gates:
            short.append((missing, wait))
    return max(short, key=lambda pair: pair[0])[1] if short else None


def overrun(turn: Turn, step: Step) -> tuple[Running, Step] | None:
    """A wait that ran past its maximum and bars `step`, with the recovery step to go to instead."""
    procedure = turn.job.procedure
    for wait in turn.job.waits:
        left = wait.left(turn.at.mono)
        if left is None or left >= 0 or wait.step in turn.job.waived:
            continue
        detail = detail_of(procedure.steps[procedure.index(wait.step)])
        if detail.recovery and (step.id in detail.gates or step.id == detail.closes):
            return wait, procedure.steps[procedure.index(detail.recovery)]
    return None


def close_on_begin(turn: Turn, step: Step) -> None:
    """Beginning `step` ends the chemicals' waits it closes."""
    _close(turn, step, (WaitKind.ACT, WaitKind.CURE, WaitKind.SETTLE))


def close_on_done(turn: Turn, step: Step) -> None:
    """Having done `step` ends the open times it closes."""
    _close(turn, step, (WaitKind.OPEN,))


def _close(turn: Turn, step: Step, kinds: tuple[WaitKind, ...]) -> None:
    for wait in turn.job.waits:
        if wait.kind in kinds and _closes(turn, wait) == step.id:
            end(turn, wait)
            if wait.kind is WaitKind.OPEN:
                turn.say("wait_closed", name=wait.name)


def describe(turn: Turn) -> list[str]:
    """One sentence for each running wait: how long it must go on, and how long it may."""
    lines = []
    text = turn.state.wording.text
    for wait in turn.job.waits:
        short, left = wait.short(turn.at.mono), wait.left(turn.at.mono)
        if short > 0 and left is not None:
            lines.append(text("time_both", name=wait.name, short=duration(short), left=duration(left)))
        elif short > 0:
            lines.append(text("time_short", name=wait.name, short=duration(short)))
        elif left is not None and left > 0:
            lines.append(text("time_left", name=wait.name, left=duration(left)))
        elif left is not None:
            lines.append(text("time_over", name=wait.name, over=duration(-left)))
        else:
            lines.append(text("time_ready", name=wait.name))
    return lines
