"""Choosing a job under way, by typed and spoken words."""

from __future__ import annotations

from bayvoice.dialogue.engine.effects import Finish, Say
from bayvoice.dialogue.engine.events import Began, Event, Heard, Stamp, Typed
from bayvoice.dialogue.flow.choosing import Choice, Choosing, handle
from bayvoice.host.datafiles import read_grammars
from bayvoice.language.grammar import Grammars
from bayvoice.language.wording import Wording

GRAMMARS = Grammars(read_grammars("en"), states="choosing")


WORDING = Wording()


CHOICES = (
    Choice("k40-transfer-cover", "Transfer-case cover, Varrow K40", "K40-0117", "step 3 of 30", "Imre"),
    Choice("lift-chain", "Lift chains, Hollin 25"),
    Choice("cab-glass", "Cab windscreen, Varrow K40"),
)


class Talker:
    """Choosing under way; `said` since the last thing that was typed."""

    def __init__(self, choices: tuple[Choice, ...] = CHOICES) -> None:
        self.state = Choosing(choices, WORDING)
        self.mono = 100.0
        self.said: list[str] = []
        self.finished = False
        self.give(Began(self.at, "Imre"))

    @property
    def at(self) -> Stamp:
        return Stamp(self.mono, 1.7e9)

    def give(self, event: Event) -> None:
        self.state, effects = handle(self.state, event)
        self.said += [effect.text for effect in effects if isinstance(effect, Say)]
        self.finished |= any(isinstance(effect, Finish) for effect in effects)

    def type(self, text: str) -> list[str]:
        self.said = []
        words = tuple(text.split())
        self.give(Typed(self.at, words, GRAMMARS.state(self.state.mode).match(words)))
        return self.said

    def hear(self, text: str, began: float, ended: float, sure: float = 20.0) -> None:
        words = tuple(text.split())
        mode = self.state.mode.value
        intent = GRAMMARS.state(mode).match(words)
        self.give(Heard(self.at, words, intent, "phones", 3.0, began, ended, "", sure, mode))
