"""What several questions do with an answer: go back to the step in hand."""

from __future__ import annotations

from bayvoice.dialogue.engine.state import mode_of
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow.walk import ask


def to_step(turn: Turn) -> None:
    """The question is over; the step in hand is answered again."""
    turn.put(pending=None)
    turn.mode(mode_of(turn.job, turn.step))


def drop(turn: Turn, key: str = "") -> None:
    """The question is dropped: say so in the sentence `key` ("" for none), and what the step in hand waits for."""
    to_step(turn)
    if key:
        turn.say(key)
    ask(turn, turn.step)
