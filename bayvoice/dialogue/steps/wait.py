"""A running window: no less than and no more than.

What is said of it is in `waiting`, how long it is in `windows`; what waits gate and announce is `dialogue.flow.waits`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import ClassVar, Final

from bayvoice.dialogue.engine.asked import OverrideAsked
from bayvoice.dialogue.engine.kind import Answers, Row, StepKind
from bayvoice.dialogue.engine.state import Mode, State
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import route, waits
from bayvoice.dialogue.flow.guards import say_passed
from bayvoice.dialogue.flow.walk import go_on
from bayvoice.dialogue.steps import waiting
from bayvoice.dialogue.steps.waiting import detail_of
from bayvoice.job.facts import Fact, owned
from bayvoice.job.folds import excused
from bayvoice.job.job import Folds, Job, Running, answer
from bayvoice.procedure.forms.wait import WaitForm
from bayvoice.procedure.model import Step, WaitKind

REASONS: Final[Mapping[WaitKind, tuple[str, ...]]] = {
    WaitKind.ACT: ("maker_allows", "tested_good", "nothing_applied", "foremans_order"),
    WaitKind.OPEN: ("maker_allows", "nothing_applied", "foremans_order"),
    WaitKind.CURE: ("maker_allows", "tested_hard", "nothing_applied", "foremans_order"),
    WaitKind.SETTLE: ("maker_allows", "measured_cold", "measured_empty", "stood_long", "foremans_order"),
}
"""Reasons that can be true of passing a minimum, or of leaving a wait out."""


def _started(job: Job, fact: Fact) -> Job:
    b = fact.body
    wait = Running(b["step"], b["name"], WaitKind(b["wait"]), b["at_least"], b["at_most"], float(b["mono"]))
    others = tuple(w for w in job.waits if w.step != wait.step)
    return answer(
        replace(
            job,
            waits=(*others, wait),
            waived=job.waived - {wait.step},
            served=job.served - {wait.step},
            late=job.late - {wait.step},
        ),
        wait.step,
        True,
    )


def _changed(job: Job, fact: Fact) -> Job:
    b = fact.body
    # A limit that was moved is announced anew when it comes.
    return replace(
        job,
        waits=tuple(
            replace(
                w,
                at_least=b["at_least"],
                at_most=b["at_most"],
                due=w.due and w.at_least == b["at_least"],
                over=w.over and w.at_most == b["at_most"],
            )
            if w.step == b["step"]
            else w
            for w in job.waits
        ),
    )


def _due(job: Job, fact: Fact) -> Job:
    step = fact.body["step"]
    return replace(job, waits=tuple(replace(w, due=True) if w.step == step else w for w in job.waits))


def _over(job: Job, fact: Fact) -> Job:
    step = fact.body["step"]
    return replace(job, waits=tuple(replace(w, over=True) if w.step == step else w for w in job.waits))


def _ended(job: Job, fact: Fact) -> Job:
    step = fact.body["step"]
    if fact.body["verdict"] == "restarted":
        # The run that replaces it comes with the next fact; should that be lost, this one must still hold its gates.
        return job
    job = replace(job, waits=tuple(w for w in job.waits if w.step != step))
    verdict, current = fact.body["verdict"], job.current
    if verdict == "in_window" or (verdict == "late" and step in job.answered):
        # One that ran out and sends the job back to begin anew is no longer answered: it has to run once more.
        job = replace(job, served=job.served | {step})
    elif verdict == "cancelled":
        job = replace(job, waived=job.waived | {step})
        if current is not None and current.id == step:
            return replace(job, answered=job.answered - {step})
    return job


class WaitingKind(WaitForm, StepKind):
    """A wait, begun by "go" or by entering the step."""

    facts = owned("wait_started", "wait_changed", "wait_due", "wait_over", "wait_ended")
    folds: ClassVar[Folds] = {
        "wait_started": _started,
        "wait_changed": _changed,
        "wait_due": _due,
        "wait_over": _over,
        "wait_ended": _ended,
    }
    answers: ClassVar[Answers] = {
        Mode.WAIT: {"go": waiting.go, "started": waiting.started},
        Mode.AMBIENT: {"record": waiting.value, "go": waiting.go, "started": waiting.started},
    }
    steers: ClassVar[Row] = {"restart": waiting.restart, "extend": waiting.extend, "cancel": waiting.cancel}

    def mode(self, job: Job, step: Step) -> str:
        """The wait itself; a value of the surroundings is asked for in a state of its own."""
        return Mode.WAIT

    def ask(self, turn: Turn, step: Step) -> None:
        """How it is begun, or that it runs."""
        waiting.ask(turn, step)

    def entered(self, turn: Turn, step: Step) -> None:
        """One that needs no "go" begins."""
        if not detail_of(step).on_go and step.id not in turn.job.answered:
            waiting.begin(turn, step)

    def left_out(self, job: Job, step: Step) -> OverrideAsked | None:
        """A wait that runs, or has run, has nothing to be left out."""
        return None if step.id in job.answered else super().left_out(job, step)

    def after_pass(self, turn: Turn, step: Step, asked: OverrideAsked) -> bool:
        """A wait that is called off ends; one whose limit is passed bars the way no more."""
        if asked.what == "cancel":
            waiting.cancelled(turn, asked)
        elif asked.what in ("wait", "late"):
            say_passed(turn, asked)
            go_on(turn)
        return asked.what in ("cancel", "wait", "late")

    def passed(self, job: Job, fact: Fact) -> Job | None:
        """Its minimum no longer gates; or what ran out no longer bars."""
        step, what = fact.body["step"], fact.body["what"]
        if what == "late":
            return replace(job, late=job.late | {step})
        if what in ("wait", "cancel"):
            return replace(job, waived=job.waived | {step})
        if what == "skip" and not job.wait_of(step):
            # It was never begun: leaving it out is passing it.
            return excused(replace(job, waived=job.waived | {step}), fact)
        return None

    def reasons(self, job: Job, step: Step, what: str) -> tuple[str, ...]:
        """By the kind of wait."""
        return REASONS[detail_of(step).wait] if what in ("wait", "skip") else ()

    def begins_supplied(self, job: Job, step: Step) -> bool:
        """What it uses is known before it begins."""
        return step.id not in job.answered

    def supplied(self, turn: Turn, step: Step) -> None:
        """Begin, or ask for what else it is worked out from."""
        waiting.ready(turn, step)

    def expects(self, state: State, step: Step) -> str:
        """While it runs: whether it bars the way."""
        if step.id not in state.job.answered:
            return ""
        index, steps = route.onward(state.job).index, state.job.procedure.steps
        barred = waits.gating(state.job, steps[index] if index < len(steps) else None, state.now)
        return state.wording.text("expect_wait_barred" if barred else "expect_wait_running")


WAIT = WaitingKind()
