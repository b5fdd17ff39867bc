"""Every question there is, and which one is open."""

from __future__ import annotations

from typing import Any, Final

from bayvoice.dialogue.engine.question import Question
from bayvoice.dialogue.engine.state import State
from bayvoice.dialogue.engine.turn import Handler, Turn
from bayvoice.dialogue.questions.batches import EXPIRY, READ_BACK, SPELL
from bayvoice.dialogue.questions.code import CODE
from bayvoice.dialogue.questions.confirm import Meant, Reading, Value
from bayvoice.dialogue.questions.consent import HandOver
from bayvoice.dialogue.questions.gauge import InDate
from bayvoice.dialogue.questions.notes import Noting
from bayvoice.dialogue.questions.override import NAMED, OVERRIDE, REASON
from bayvoice.dialogue.questions.parts import IN_HAND
from bayvoice.dialogue.questions.resting import Finished, Paused
from bayvoice.dialogue.questions.said import Said
from bayvoice.dialogue.questions.waits import Sure, Which
from bayvoice.language.intents import Intent

QUESTIONS: Final[tuple[Question[Any], ...]] = (
    Value(),
    Meant(),
    Reading(),
    InDate(),
    OVERRIDE,
    REASON,
    NAMED,
    CODE,
    Noting(),
    HandOver(),
    READ_BACK,
    Said(),
    IN_HAND,
    SPELL,
    EXPIRY,
    Sure(),
    Which(),
    Paused(),
    Finished(),
)


def open_question(state: State) -> Question[Any] | None:
    """The question that is open; None where the step in hand is answered."""
    return next((question for question in QUESTIONS if question.open(state)), None)


def woke(turn: Turn, key: str) -> None:
    """A reminder has come."""
    question = open_question(turn.state)
    if question is not None:
        question.silence(turn, key)


def rows() -> dict[str, dict[str, Handler]]:
    """Dialogue state -> intent -> what it does. Where questions share a state, the open one answers."""
    found: dict[str, dict[str, Handler]] = {}
    for question in QUESTIONS:
        row = found.setdefault(question.mode, {})
        for intent, handler in question.handlers().items():
            row[intent] = _to_open(intent) if intent in row else handler
    return found


def _to_open(name: str) -> Handler:
    def answer(turn: Turn, intent: Intent) -> None:
        question = open_question(turn.state)
        assert question is not None, f"an answer to {turn.state.mode} without a question"
        question.handlers()[name](turn, intent)

    return answer
