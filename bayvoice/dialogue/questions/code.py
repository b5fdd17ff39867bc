"""The code of whoever signs or allows something. The core never sees a code, only whether it was right."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from bayvoice.dialogue.engine.asked import CodeAsked
from bayvoice.dialogue.engine.question import Question
from bayvoice.dialogue.engine.state import Mode, State
from bayvoice.dialogue.engine.turn import Handler, Turn
from bayvoice.dialogue.flow import signing
from bayvoice.dialogue.flow.guards import pass_guard
from bayvoice.language.intents import Intent


class Code(Question[CodeAsked]):
    """What is your code?"""

    mode = Mode.CODE
    asks = CodeAsked
    heading = "heading_code"

    def prompt(self, state: State, asked: CodeAsked) -> tuple[str, ...]:
        """Whose code is wanted, and how it is given."""
        return (state.wording.text("ask_code", who=asked.who),)

    def answers(self) -> Mapping[str, Handler]:
        """The code, or no."""
        return {"sign": self.given, "no": signing.drop_code}

    def given(self, turn: Turn, intent: Intent) -> None:
        """A code was given. Whether it is right was found out before it came here."""
        asked = self.asked(turn)
        if asked.override is None:
            signing.code_given(turn, intent)
        elif intent.slot("code") == "right":
            pass_guard(turn, replace(asked.override, who=asked.who, code="right"))
        else:
            signing.wrong_code(turn, asked.step, asked.role, intent.slot("code") or "")


CODE = Code()
