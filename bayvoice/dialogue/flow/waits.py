"""Running windows: announce, gate, end. Deadlines are data; the hub only wakes us."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bayvoice.dialogue.engine import alerts
from bayvoice.dialogue.engine.kind import kind_of
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import passing, route
from bayvoice.job.job import Job, Running
from bayvoice.language.wording import Line, duration
from bayvoice.procedure.model import Step, Wait, WaitKind

LATE: Final = 2.0
"""A wake-up later than this (suspend, overload) is said to be late."""
EARLIER: Final = (1800, 300)
"""Seconds before a maximum at which it is told beside its last warning, if they are a quarter of the window or less."""
STALE: Final = 0.01
"""A wake-up whose time differs by more than this many seconds from its limit's belongs to a limit that was moved."""


def detail_of(job: Job, step: Step) -> Wait:
    """The wait that `step` starts."""
    wait = kind_of(job, step).window(step)
    assert wait is not None, f"step {step.id} starts no wait"
    return wait


def wait_step(job: Job, wait: Running) -> Step:
    """The step that started `wait`."""
    return job.procedure.steps[job.procedure.index(wait.step)]


def lead(wait: Running) -> float:
    """How many seconds before its maximum a wait warns last: a fifth of the window, at most a minute."""
    window = (wait.at_most or 0) - (wait.at_least or 0)
    return min(60.0, window / 5)


def notice(wait: Running) -> float:
    """How many seconds before its minimum a wait is announced: a minute, five of a long one, 0 (not) of a short one."""
    least = wait.at_least or 0
    return 300.0 if least >= 7200 else 60.0 if least >= 300 else 0.0


def dues(wait: Running) -> dict[str, float]:
    """What `wait` has still to announce -> mono time. "near" and "left-N" are only said, the others ring."""
    found: dict[str, float] = {}
    if wait.at_least is not None and not wait.due:
        found["due"] = wait.since + wait.at_least
        if notice(wait):
            found["near"] = found["due"] - notice(wait)
    if wait.at_most is not None and not wait.over:
        found["over"] = wait.since - wait.unsure + wait.at_most
        found["soon"] = found["over"] - lead(wait)
        window = wait.at_most - (wait.at_least or 0)
        for before in EARLIER:
            if lead(wait) < before <= window / 4:
                found[f"left-{before}"] = found["over"] - before
    return found


def tidy(turn: Turn) -> None:
    """End what was announced as reached and, cut off by the end of a sitting, not ended."""
    for wait in turn.job.waits:
        if wait.due and wait.at_most is None and not _closes(turn, wait):
            end(turn, wait)


def schedule(turn: Turn) -> None:
    """Ask for every wake-up the running waits still need; what was only to be said and is past is left out."""
    for wait in turn.job.waits:
        for what, due in dues(wait).items():
            if what == "over" and wait.lost:
                turn.wake(f"over:{wait.step}", turn.at.mono)
            elif what in ("due", "over") or due >= turn.at.mono:
                turn.wake(f"{what}:{wait.step}", due)


def woke(turn: Turn, what: str, step_id: str, due: float) -> None:
    """A limit of a wait has come, or alerts are to ring once more."""
    if what == "ring":
        alerts.ring_again(turn)
        return
    wait = turn.job.wait_of(step_id)
    if wait is None:
        return
    expected = dues(wait).get(what)
    if expected is None or (abs(expected - due) > STALE and not wait.lost):
        return
    short, left = wait.short(turn.at.mono), wait.left(turn.at.mono)
    if what == "near":
        turn.say_ranked(1, "wait_near", name=wait.name, left=duration(short))
        return
    if what.startswith("left-"):
        turn.say_ranked(1, "wait_left", name=wait.name, left=duration(left or 0))
        return
    if what == "soon" and (left is None or left <= 0):
        return
    # The tone first: nothing that takes time may stand between a limit and its alarm.
    alerts.sound(turn, wait.step, wait.name, what)
    rank = alerts.RANKS[what]
    if what == "due":
        turn.fact("wait_due", step=wait.step, name=wait.name)
        if wait.at_most is None and not _closes(turn, wait):
            end(turn, wait, alert=False)
        turn.say_ranked(rank, "wait_due", name=wait.name)
    elif what == "soon":
        turn.say_ranked(rank, "wait_soon", name=wait.name, left=duration(left or 0))
    else:
        turn.fact("wait_over", step=wait.step, name=wait.name)
        _say_over(turn, wait)
    overdue = turn.at.mono - due
    if overdue > LATE and not wait.lost:
        turn.say_ranked(rank, "wait_late_word", late=duration(overdue))


def _say_over(turn: Turn, wait: Running) -> None:
    """A maximum has passed: what that means."""
    rank = alerts.RANKS["over"]
    turn.say_ranked(rank, "wait_lost" if wait.lost else "wait_over", name=wait.name)
    detail, procedure = detail_of(turn.job, wait_step(turn.job, wait)), turn.job.procedure
    if detail.recovery:
        way = passing.past(turn, "late", wait.step)
        turn.say_ranked(rank, "wait_over_back", number=procedure.index(detail.recovery) + 1, past=way)


def _closes(turn: Turn, wait: Running) -> str:
    return detail_of(turn.job, wait_step(turn.job, wait)).closes


def end(turn: Turn, wait: Running, verdict: str = "", reason: str = "", alert: bool = True) -> None:
    """The window of `wait` ends now; early, in_window or late is worked out from its limits unless `verdict` is given.

    alert: whether its alert ends with it.
    """
    seconds = turn.at.mono - wait.since
    left = wait.left(turn.at.mono)
    late = left is not None and left < 0
    verdict = verdict or ("early" if wait.short(turn.at.mono) > 0 else "late" if late else "in_window")
    if alert:
        alerts.drop(turn, wait.step)
    turn.fact(
        "wait_ended", step=wait.step, name=wait.name, seconds=max(0, int(seconds)), verdict=verdict, reason=reason
    )


@dataclass(frozen=True, slots=True)
class Bar:
    """A wait that bars the way.

    Attributes:
        step: id of the step that starts it; name: what it is called.
        missing: seconds of its minimum still to come, None where it has not been started.
    """

    step: str
    name: str
    missing: float | None


def gating(job: Job, step: Step | None, now: float, but: str = "", *, running: bool = False) -> Bar | None:
    """The wait whose minimum still bars `step` (None: the end of the job) at mono time `now`.

    The longest one that runs, else (unless only those `running` are asked for) the first that should have run before
    `step` and was never started. The wait of the step `but` is passed over.
    """
    bars = []
    for wait in job.waits:
        gated = step is None or _gates(job, wait_step(job, wait), step)
        found = _running(job, wait, now) if gated and wait.step != but else None
        if found is not None:
            bars.append(found)
    if bars:
        return max(bars, key=lambda bar: bar.missing or 0.0)
    if step is None or running:
        return None
    for each in job.procedure.steps:
        window = kind_of(job, each).window(each)
        if window is None or each.id == but or job.wait_of(each.id) is not None:
            continue
        if _gates(job, each, step) and _owed(job, each, step):
            return Bar(each.id, window.name, None)
    return None


def bar_of(job: Job, step_id: str, now: float) -> Bar | None:
    """What the wait of step `step_id` still holds back by, whatever it gates; None where its minimum is kept or passed.

    For a wait that has refused the way on before.
    """
    wait = job.wait_of(step_id)
    if wait is not None:
        return _running(job, wait, now)
    detail = detail_of(job, job.procedure.steps[job.procedure.index(step_id)])
    open_ = detail.at_least is not None and step_id not in job.served | job.waived
    return Bar(step_id, detail.name, None) if open_ else None


def _running(job: Job, wait: Running, now: float) -> Bar | None:
    missing = wait.short(now)
    return Bar(wait.step, wait.name, missing) if missing > 0 and wait.step not in job.waived else None


def _gates(job: Job, waiting: Step, step: Step) -> bool:
    """Whether the wait of step `waiting` holds back `step`: named, or the step its aside goes back to, where it holds
    back a step that sends to the aside."""
    gates = detail_of(job, waiting).gates
    if step.id in gates:
        return True
    top = job.detours[-1] if job.detours else None
    if top is None or not waiting.aside or top.aside != waiting.aside or job.procedure.steps[top.origin] != step:
        return False
    steps = job.procedure.steps
    return any(_remedy(job, steps[job.procedure.index(gate)]) == waiting.aside for gate in gates)


def _remedy(job: Job, step: Step) -> str:
    return kind_of(job, step).remedy(step)[0]


def _owed(job: Job, waiting: Step, step: Step) -> bool:
    """Whether the wait of step `waiting`, which does not run, should have kept its minimum before `step` begins."""
    if detail_of(job, waiting).at_least is None or waiting.id in job.served | job.waived:
        return False
    if not waiting.aside or waiting.aside == step.aside:
        return True
    # An aside that was not gone into as far as the work before the wait owes nothing.
    procedure = job.procedure
    before = [procedure.steps[i].id for i in procedure.aside(waiting.aside) if i <= procedure.index(waiting.id)]
    return any(each in job.done for each in before)


def overrun(turn: Turn, step: Step) -> tuple[Running, Step | None] | None:
    """A wait that ran past its maximum and bars `step`, with the recovery step to go to, None where there is none."""
    procedure = turn.job.procedure
    for wait in turn.job.waits:
        left = wait.left(turn.at.mono)
        if left is None or left >= 0 or wait.step in turn.job.late:
            continue
        detail = detail_of(turn.job, wait_step(turn.job, wait))
        if step.id in detail.gates or step.id == detail.closes:
            return wait, procedure.steps[procedure.index(detail.recovery)] if detail.recovery else None
    return None


def close_on_begin(turn: Turn, step: Step) -> None:
    """Beginning `step` ends the chemicals' waits it closes."""
    _close(turn, step, (WaitKind.ACT, WaitKind.CURE, WaitKind.SETTLE))


def close_on_done(turn: Turn, step: Step, skipped: bool = False) -> None:
    """Having done `step` ends the open times it closes; where it was left out, they are dropped."""
    _close(turn, step, (WaitKind.OPEN,), skipped)


def _close(turn: Turn, step: Step, kinds: tuple[WaitKind, ...], skipped: bool = False) -> None:
    for wait in turn.job.waits:
        if wait.kind in kinds and _closes(turn, wait) == step.id:
            left = wait.left(turn.at.mono)
            end(turn, wait, "dropped" if skipped else "")
            if wait.kind is WaitKind.OPEN and not skipped and left is not None and left >= 0:
                turn.say("wait_closed", name=wait.name)


def meanwhile(turn: Turn) -> Step | None:
    """The next step, where no wait holds it back: what can be done while the others run."""
    steps, nxt = turn.job.procedure.steps, route.onward(turn.job).index
    if not 0 <= nxt < len(steps):
        return None
    barred = gating(turn.job, steps[nxt], turn.at.mono) or overrun(turn, steps[nxt])
    return None if barred else steps[nxt]


def describe(turn: Turn, then: bool = False) -> list[Line]:
    """One sentence for each running wait: how long it must go on, and how long it may; with `then`, what comes next."""
    lines = []
    line = turn.state.wording.line
    for wait in turn.job.waits:
        short, left = wait.short(turn.at.mono), wait.left(turn.at.mono)
        if wait.lost and left is not None:
            lines.append(line("wait_lost", name=wait.name))
        elif short > 0 and left is not None:
            lines.append(line("time_both", name=wait.name, short=duration(short), left=duration(left)))
        elif short > 0:
            lines.append(line("time_short", name=wait.name, short=duration(short)))
        elif left is not None and left >= 0:
            lines.append(line("time_left", name=wait.name, left=duration(left)))
        elif left is not None:
            lines.append(line("time_over", name=wait.name, over=duration(-left)))
        else:
            lines.append(line("time_ready", name=wait.name))
        if then:
            lines.extend(_then(turn, wait))
    return lines


def _then(turn: Turn, wait: Running) -> list[Line]:
    """What happens when `wait` has run its time."""
    job, line = turn.job, turn.state.wording.line
    detail = detail_of(job, wait_step(job, wait))
    left = wait.left(turn.at.mono)
    if left is not None and left < 0 and wait.step not in job.late:
        target, key = detail.recovery, "then_recovery"
    elif wait.short(turn.at.mono) > 0 and wait.step not in job.waived:
        target, key = (detail.gates or ("",))[0], "then_gated"
    else:
        target, key = detail.closes, "then_closes" if wait.kind is WaitKind.OPEN else "then_closes_begun"
        if left is None:
            return []
    if not target:
        return []
    index = job.procedure.index(target)
    return [line(key, number=index + 1, say=job.procedure.steps[index].say)]
