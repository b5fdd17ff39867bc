"""Handing the job over: the yes of the one who leaves, then of the one who takes it up."""

from __future__ import annotations

from collections.abc import Mapping

from bayvoice.dialogue.engine.asked import HandOverAsked
from bayvoice.dialogue.engine.question import Question
from bayvoice.dialogue.engine.state import Mode, State
from bayvoice.dialogue.engine.turn import Handler, Turn
from bayvoice.dialogue.flow import handover
from bayvoice.language.intents import Intent


class HandOver(Question[HandOverAsked]):
    """Is the job to pass to somebody else?"""

    mode = Mode.CONSENT
    asks = HandOverAsked
    heading = "heading_hand_over"

    def prompt(self, state: State, asked: HandOverAsked) -> tuple[str, ...]:
        """To the one who leaves, or to the one who takes it up."""
        return (state.wording.text("hand_over_take" if asked.told else "hand_over_ask", who=asked.who),)

    def answers(self) -> Mapping[str, Handler]:
        """Yes or no."""
        return {"yes": self.yes, "no": self.no}

    def yes(self, turn: Turn, intent: Intent) -> None:
        """It is so."""
        handover.consent_yes(turn, self.asked(turn))

    def no(self, turn: Turn, intent: Intent) -> None:
        """The job stays where it was."""
        handover.consent_no(turn, self.asked(turn))

    def repeat(self, turn: Turn, intent: Intent) -> None:
        """With all that is told to whoever takes the job up."""
        handover.consent_repeat(turn, self.asked(turn))
