"""Steps for more than two hands: the colleague's yes, the common move on a steady beat, the result."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import ClassVar

from bayvoice.dialogue.engine.kind import GOOD, LATER, Answers, Piece, Shown, StepKind
from bayvoice.dialogue.engine.state import Mode, State
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow.walk import go_on, leave
from bayvoice.job.facts import Fact, owned
from bayvoice.job.job import Folds, Job, answer
from bayvoice.language.intents import Intent
from bayvoice.language.numbers import to_words
from bayvoice.procedure.forms.together import TogetherForm
from bayvoice.procedure.model import Step, Together

BEAT_S = 1.0
"""Seconds between two beats: slow enough to breathe in on, fast enough to keep. Common practice, no source."""


def detail_of(step: Step) -> Together:
    """How many are needed, and for what."""
    assert isinstance(step.detail, Together)
    return step.detail


def yes(turn: Turn, intent: Intent) -> None:
    """The colleague is there; or, after the move, it is done."""
    step, detail = turn.step, detail_of(turn.step)
    if step.id in turn.job.answered:
        go_on(turn)
    elif step.id not in turn.job.helped:
        turn.fact("helped", step=step.id, people=detail.people)
        if detail.beats:
            count(turn)
        elif detail.ask:
            turn.put(moved=True)
            turn.say("together_ready_ask")
            ask_result(turn)
        else:
            turn.say("together_ready")
    elif detail.beats and not turn.state.moved:
        count(turn)
    else:
        turn.fact("moved_together", step=step.id, result="yes")
        turn.say("moved_yes")
        leave(turn, step)


def go(turn: Turn, intent: Intent) -> None:
    """Count down, for the first time or once more."""
    step, detail = turn.step, detail_of(turn.step)
    if step.id in turn.job.helped and detail.beats and step.id not in turn.job.answered:
        count(turn)
    else:
        yes(turn, intent)


def no(turn: Turn, intent: Intent) -> None:
    """Not ready yet; or the move did not come out."""
    step, detail = turn.step, detail_of(turn.step)
    if step.id not in turn.job.helped or step.id in turn.job.answered or not (detail.beats or detail.ask):
        turn.say("ask_together", people=detail.people)
        return
    turn.fact("moved_together", step=step.id, result="no")
    turn.put(moved=False)
    turn.say("moved_no" if detail.beats else "moved_no_plain")


def count(turn: Turn) -> None:
    """Say the count on the beat: "three, two, one, now", each word one beat after the other."""
    beats = detail_of(turn.step).beats
    words = [to_words(Decimal(n)) for n in range(beats, 0, -1)]
    turn.say("together_count")
    uid = turn.say_text(", ".join([*words, turn.state.wording.text("now")]), beat=BEAT_S)
    turn.put(counting=uid, moved=False)


def ask_result(turn: Turn) -> None:
    """Ask the step's own question about the result, else whether it is done."""
    detail = detail_of(turn.step)
    turn.say("ask_check" if detail.ask else "ask_moved", ask=detail.ask)


def _helped(job: Job, fact: Fact) -> Job:
    """The colleague is there. Where a result is asked for, only that answers the step."""
    step = fact.body["step"]
    detail = detail_of(job.procedure.steps[job.procedure.index(step)])
    job = replace(job, helped=job.helped | {step})
    return job if detail.beats or detail.ask else answer(job, step, True)


def _moved(job: Job, fact: Fact) -> Job:
    return answer(job, fact.body["step"], True) if fact.body["result"] == "yes" else job


class TogetherKind(TogetherForm, StepKind):
    """More than two hands."""

    facts = owned("helped", "moved_together")
    folds: ClassVar[Folds] = {"helped": _helped, "moved_together": _moved}
    answers: ClassVar[Answers] = {Mode.TOGETHER: {"yes": yes, "no": no, "go": go}}

    def mode(self, job: Job, step: Step) -> str:
        """Yes, no, and the count."""
        return Mode.TOGETHER

    def ask(self, turn: Turn, step: Step) -> None:
        """What it waits for: the colleague, the move, or its result."""
        detail = detail_of(step)
        if step.id in turn.job.answered:
            turn.say("together_done")
        elif step.id not in turn.job.helped:
            turn.say("ask_together", people=detail.people)
        elif detail.beats and not turn.state.moved:
            turn.say("ask_together_go")
        else:
            ask_result(turn)

    def announce(self, turn: Turn, step: Step) -> None:
        """How many will be needed."""
        turn.say("together_next", people=detail_of(step).people)

    def spoken(self, turn: Turn, step: Step) -> None:
        """The count has been said to its end: ask how it came out."""
        if turn.state.mode is Mode.TOGETHER and step.id in turn.job.helped:
            turn.put(moved=True)
            ask_result(turn)

    def needs(self, state: State, step: Step) -> tuple[str, ...]:
        """The people."""
        return (state.wording.text("need_people", people=detail_of(step).people),)

    def lines(self, state: State, step: Step) -> tuple[Shown, ...]:
        """How many are needed, and whether they are there."""
        ready = step.id in state.job.answered
        place = Piece("all in place", GOOD) if ready else Piece("not all in place yet", LATER)
        return ((Piece(f"{detail_of(step).people} people needed: "), place),)


TOGETHER = TogetherKind()
