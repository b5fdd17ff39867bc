"""What is asked about waits: whether something is to be done to one, and which of several is meant."""

from __future__ import annotations

from collections.abc import Mapping

from bayvoice.dialogue.engine.question import Question
from bayvoice.dialogue.engine.state import Mode, State, WaitAsked
from bayvoice.dialogue.engine.turn import Handler
from bayvoice.dialogue.steps import waiting


class Sure(Question[WaitAsked]):
    """Is that right?"""

    mode = Mode.SURE
    asks = WaitAsked
    heading = "heading_wait"

    def prompt(self, state: State, asked: WaitAsked) -> tuple[str, ...]:
        """As it was put."""
        return (asked.question,)

    def answers(self) -> Mapping[str, Handler]:
        """Yes or no."""
        return {"yes": waiting.sure_yes, "no": waiting.sure_no}


class Which(Sure):
    """Which wait?"""

    mode = Mode.WHICH

    def answers(self) -> Mapping[str, Handler]:
        """Its number or name, or no."""
        return {"choose": waiting.choose, "no": waiting.sure_no}
