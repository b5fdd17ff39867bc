"""Steps for more than two hands: the colleague's yes, the common move on a steady beat, the result."""

from __future__ import annotations

from decimal import Decimal

from bayvoice.dialogue.engine.state import Mode
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow.walk import go_on, leave
from bayvoice.language.intents import Intent
from bayvoice.language.numbers import to_words
from bayvoice.procedure.model import Together

BEAT_S = 1.0
"""Seconds between two beats: slow enough to breathe in on, fast enough to keep. Common practice, no source."""


def _detail(turn: Turn) -> Together:
    detail = turn.step.detail
    assert isinstance(detail, Together)
    return detail


def yes(turn: Turn, intent: Intent) -> None:
    """The colleague is there; or, after the move, it is done."""
    step, detail = turn.step, _detail(turn)
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
    step, detail = turn.step, _detail(turn)
    if step.id in turn.job.helped and detail.beats and step.id not in turn.job.answered:
        count(turn)
    else:
        yes(turn, intent)


def no(turn: Turn, intent: Intent) -> None:
    """Not ready yet; or the move did not come out."""
    step, detail = turn.step, _detail(turn)
    if step.id not in turn.job.helped or step.id in turn.job.answered or not (detail.beats or detail.ask):
        turn.say("ask_together", people=detail.people)
        return
    turn.fact("moved_together", step=step.id, result="no")
    turn.put(moved=False)
    turn.say("moved_no" if detail.beats else "moved_no_plain")


def count(turn: Turn) -> None:
    """Say the count on the beat: "three, two, one, now", each word one beat after the other."""
    beats = _detail(turn).beats
    words = [to_words(Decimal(n)) for n in range(beats, 0, -1)]
    turn.say("together_count")
    uid = turn.say_text(", ".join([*words, turn.state.wording.text("now")]), beat=BEAT_S)
    turn.put(counting=uid, moved=False)


def counted(turn: Turn) -> None:
    """The count has been said to its end: ask how it came out."""
    turn.put(counting=0)
    if turn.state.mode is Mode.TOGETHER and turn.step.id in turn.job.helped:
        turn.put(moved=True)
        ask_result(turn)


def ask_result(turn: Turn) -> None:
    """Ask the step's own question about the result, else whether it is done."""
    detail = _detail(turn)
    turn.say("ask_check" if detail.ask else "ask_moved", ask=detail.ask)
