"""Questions: a dialogue state that wants an answer, as one object.

What is asked is frozen data (`engine.asked`, `engine.state`) and stands in `state.pending`, so that whatever puts a
question needs nothing of what answers it. The object here is the rest: the dialogue state, the words, the answers, and
what *repeat*, *stop* and silence do, which for most questions is what this base does.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar, Final, Generic, TypeVar

from bayvoice.dialogue.engine.state import Mode, State
from bayvoice.dialogue.engine.turn import Handler, Turn
from bayvoice.language.intents import Intent

REMIND: Final = "remind"
"""What the key of a reminder's wake-up begins with; then the moment at which its question was put."""

EARLY_S: Final = 0.5
"""Seconds of silence that may be missing when a reminder comes."""

Asked = TypeVar("Asked")


class Question(Generic[Asked]):
    """One question: `asks` pending in dialogue state `mode`.

    Attributes:
        mode: the dialogue state, and so the grammar, in which it is answered.
        asks: kind of what is pending; several questions may share a dialogue state, and then answer to the same
            intents. `object` where nothing is pending.
        heading: wording key of the line over it on the screen, "" where the screen shows the step instead.
        reminds: seconds of silence after which it is put once more, and then not again; 0 for never.
        repeats: "repeat" puts it once more; False where nobody can say that.
    """

    mode: ClassVar[Mode]
    asks: type[Asked]
    heading: ClassVar[str] = ""
    reminds: ClassVar[float] = 0.0
    repeats: ClassVar[bool] = True

    def prompt(self, state: State, asked: Asked) -> tuple[str, ...]:
        """What is asked, as the utterances it is put in."""
        raise NotImplementedError

    def answers(self) -> Mapping[str, Handler]:
        """Intent -> what it does; without "repeat" and "stop"."""
        raise NotImplementedError

    def shown(self, state: State, asked: Asked) -> tuple[str, tuple[str, ...]]:
        """The large text on the screen and the lines below it."""
        return self.prompt(state, asked)[-1], ()

    def handlers(self) -> dict[str, Handler]:
        """All that can be said to it: the answers, and what every question takes."""
        rest: dict[str, Handler] = {"stop": self.stop}
        if self.repeats:
            rest["repeat"] = self.repeat
        return {**self.answers(), **rest}

    def open(self, state: State) -> bool:
        """Whether it is the question that is open."""
        return state.mode == self.mode and isinstance(state.pending, self.asks)

    def asked(self, turn: Turn) -> Asked:
        """What is asked now. Only called where the question is open."""
        asked = turn.state.pending
        assert isinstance(asked, self.asks), f"an answer to {self.mode} without a question"
        return asked

    def put(self, turn: Turn, asked: Asked) -> None:
        """Put it: `asked` becomes pending, its dialogue state the active one, and its words are said."""
        turn.put(pending=asked)
        turn.mode(self.mode)
        self.say(turn)
        if self.reminds:
            remind(turn, self.reminds)

    def say(self, turn: Turn) -> None:
        """Say its words."""
        for text in self.prompt(turn.state, self.asked(turn)):
            turn.say_text(text)

    def repeat(self, turn: Turn, intent: Intent) -> None:
        """Put it once more."""
        self.say(turn)

    def stop(self, turn: Turn, intent: Intent) -> None:
        """Be quiet. Silence itself is the answer; speech and alerts were ended before this handler ran."""

    def silence(self, turn: Turn, key: str) -> None:
        """The reminder `key` has come: put the question once more if it still stands and nobody speaks."""
        state = turn.state
        if not self.reminds or f"{state.asked:.3f}" != key:
            return
        ended = state.talk.ended
        silent = 0.0 if ended is None or state.talk.queued else turn.at.mono - ended
        if silent < self.reminds - EARLY_S:
            turn.wake(f"{REMIND}:{key}", turn.at.mono + self.reminds - silent)
            return
        self.say(turn)


def remind(turn: Turn, after: float) -> None:
    """Ask for a reminder of the question that was put last, in `after` seconds."""
    turn.wake(f"{REMIND}:{turn.state.asked:.3f}", turn.at.mono + after)
