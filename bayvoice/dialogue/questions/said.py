"""An answer in words is read back before the kind of its step records it."""

from __future__ import annotations

from collections.abc import Mapping

from bayvoice.dialogue.engine.asked import SaidAsked
from bayvoice.dialogue.engine.kind import kind_of
from bayvoice.dialogue.engine.question import Question
from bayvoice.dialogue.engine.state import Mode, State
from bayvoice.dialogue.engine.turn import Handler, Turn
from bayvoice.dialogue.flow import asking
from bayvoice.dialogue.flow.passing import step_of
from bayvoice.dialogue.questions.common import to_step
from bayvoice.language.intents import Intent


class Said(Question[SaidAsked]):
    """Is it that?"""

    mode = Mode.CONSENT
    asks = SaidAsked
    heading = "heading_batch_read"
    reminds = asking.REMIND

    def prompt(self, state: State, asked: SaidAsked) -> tuple[str, ...]:
        """What was understood."""
        return asking.said_back(state, asked)

    def shown(self, state: State, asked: SaidAsked) -> tuple[str, tuple[str, ...]]:
        """As it will stand in the record."""
        return asked.text, (asked.name,)

    def answers(self) -> Mapping[str, Handler]:
        """Yes or no."""
        return {"yes": self.yes, "no": self.no}

    def yes(self, turn: Turn, intent: Intent) -> None:
        """Understood rightly: its kind records it."""
        asked = self.asked(turn)
        to_step(turn)
        step = step_of(turn.job, asked.step)
        kind_of(turn.job, step).answered(turn, step, asked)

    def no(self, turn: Turn, intent: Intent) -> None:
        """Forget it; it may be said again."""
        asked = self.asked(turn)
        to_step(turn)
        turn.say("value_dropped", name=asked.name)
