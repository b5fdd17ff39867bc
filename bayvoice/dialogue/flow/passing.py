"""Who may pass which guard, how the way past it is spoken of, and the question that begins it."""

from __future__ import annotations

from typing import Final

from bayvoice.dialogue.engine.asked import OverrideAsked
from bayvoice.dialogue.engine.kind import kind_of
from bayvoice.dialogue.engine.state import Mode, State, mode_of
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.job.job import Job
from bayvoice.procedure.model import FOREMAN, Passing, Step

NEVER_ALONE: Final = frozenset({"hold", "tally"})
"""Guards that take another person whatever the file says: a hold point is another person's look, and what is left
inside a machine takes a search and the sign of somebody else."""


def class_of(job: Job, what: str, step_id: str) -> Passing:
    """Who may pass the guard `what` (as in the fact "overridden", or "cancel") of step `step_id`.

    For a wait that is the step that starts it. Leaving out a wait whose minimum has been passed or kept takes nobody.
    """
    step = step_of(job, step_id)
    if what in NEVER_ALONE and step.passing is Passing.ALONE:
        return Passing.SECOND
    if what == "skip" and step_id in job.waived | job.served:
        return Passing.ALONE
    return step.passing


def finding_class(job: Job, step_id: str) -> Passing:
    """Who may let step `step_id` go on that findings have stopped: the strictest of them counts."""
    found = {what for where, what in job.stopped if where == step_id}
    classes = {finding.passing for finding in job.procedure.findings if finding.say in found}
    return Passing.NOBODY if Passing.NOBODY in classes else Passing.SECOND


def role_for(job: Job, what: str, step_id: str) -> str:
    """The role of the other person who may allow it."""
    step = step_of(job, step_id)
    return kind_of(job, step).role(step) if what == "hold" else FOREMAN


def step_of(job: Job, step_id: str) -> Step:
    """The step called `step_id`."""
    return job.procedure.steps[job.procedure.index(step_id)]


def past(turn: Turn, what: str, step_id: str, how: str = "past") -> str:
    """What is said of the way past a guard that refuses: the words for it only where the technician may alone.

    how: "past" and, after a comma, "or" for a guard that is passed by leaving its step out; "onward" for one that
    "next" passes.
    """
    return turn.state.wording.text(f"{how}_{class_of(turn.job, what, step_id).value}")


def taught(state: State) -> bool:
    """Whether the words that leave out the step in hand may be told to whoever asks for help."""
    step = state.job.current
    return step is None or class_of(state.job, "skip", step.id) is Passing.ALONE


SKIPS: Final = frozenset({Mode.CHECK, Mode.MEASURE, Mode.SPELL, Mode.EXPIRY})
"""Dialogue states whose help names the way to leave the step out."""


def help_key(state: State) -> str:
    """Key of the sentence that says what can be said now."""
    kept = state.mode in SKIPS and not taught(state)
    return f"help_{state.mode}{'_kept' if kept else ''}"


def ask_override(turn: Turn, asked: OverrideAsked) -> None:
    """Ask for a yes before a guard is passed; refuse at once where nobody may pass it."""
    if nobody_may(turn, asked):
        return
    turn.put(pending=asked)
    turn.mode(Mode.OVERRIDE)
    turn.say_text(override_text(turn.state, asked))


def override_text(state: State, asked: OverrideAsked) -> str:
    """The question whether the guard is to be passed."""
    return state.wording.text(f"override_{asked.what}", name=asked.name)


def nobody_may(turn: Turn, asked: OverrideAsked) -> bool:
    """Whether no one may pass the guard; that it is so, and what to do instead, is said and recorded."""
    if class_of(turn.job, asked.what, asked.step) is not Passing.NOBODY:
        return False
    turn.fact("refused", step=asked.step, what="nobody", name=asked.name, n=0, of="")
    turn.put(pending=None)
    turn.ring("refused")
    turn.mode(mode_of(turn.job, turn.step))
    turn.say(f"nobody_{asked.what}", name=asked.name)
    return True
