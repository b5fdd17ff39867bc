"""A value before it is logged: is it right, was another meant, which of its readings; then its way to the record."""

from __future__ import annotations

from collections.abc import Mapping

from bayvoice.dialogue.engine.kind import kind_of
from bayvoice.dialogue.engine.question import Question, remind
from bayvoice.dialogue.engine.state import MeantAsked, Mode, ReadingAsked, State, Target, ValueAsked
from bayvoice.dialogue.engine.turn import Handler, Turn
from bayvoice.dialogue.flow import asking
from bayvoice.dialogue.flow.passing import step_of
from bayvoice.dialogue.questions.common import to_step
from bayvoice.language.intents import Intent


def log(turn: Turn, asked: ValueAsked, *, trusted: bool) -> None:
    """Record a value, as the kind of its step has it."""
    step = step_of(turn.job, asked.target.step)
    kind_of(turn.job, step).log(turn, step, asked, trusted=trusted)


def _take(turn: Turn, asked: ValueAsked | None) -> None:
    """Log what may be logged at once."""
    if asked is not None:
        log(turn, asked, trusted=True)


def _drop(turn: Turn, target: Target) -> None:
    to_step(turn)
    turn.say("value_dropped", name=target.name)


class Value(Question[ValueAsked]):
    """A value is read back. The screen shows the value itself, large."""

    mode = Mode.CONFIRM
    asks = ValueAsked
    reminds = asking.REMIND

    def prompt(self, state: State, asked: ValueAsked) -> tuple[str, ...]:
        """The value with its verdict."""
        return asking.read_back(state, asked)

    def answers(self) -> Mapping[str, Handler]:
        """Yes, no, or another value."""
        return {"yes": self.yes, "no": self.no, "correct": self.correct}

    def yes(self, turn: Turn, intent: Intent) -> None:
        """It is right: record it."""
        log(turn, self.asked(turn), trusted=False)

    def no(self, turn: Turn, intent: Intent) -> None:
        """It is wrong: forget it."""
        _drop(turn, self.asked(turn).target)

    def correct(self, turn: Turn, intent: Intent) -> None:
        """Another value instead of it."""
        _take(turn, asking.propose(turn, self.asked(turn).target, intent))


class Meant(Question[MeantAsked]):
    """A value is far off its limits, and another one may have been meant."""

    mode = Mode.CONFIRM
    asks = MeantAsked
    heading = "heading_value"
    reminds = asking.REMIND

    def prompt(self, state: State, asked: MeantAsked) -> tuple[str, ...]:
        """Both values."""
        return asking.which_meant(state, asked)

    def answers(self) -> Mapping[str, Handler]:
        """Yes, no, or another value."""
        return {"yes": self.yes, "no": self.no, "correct": self.correct}

    def yes(self, turn: Turn, intent: Intent) -> None:
        """The other value was meant: it is read back."""
        asked = self.asked(turn)
        value = asked.asked
        _take(turn, asking.settle(turn, value.target, asked.other, value.said_unit, value.words))

    def no(self, turn: Turn, intent: Intent) -> None:
        """What was said stands, and is read back."""
        asking.put(turn, self.asked(turn).asked)

    def correct(self, turn: Turn, intent: Intent) -> None:
        """Another value instead of it."""
        _take(turn, asking.propose(turn, self.asked(turn).asked.target, intent))


class Reading(Question[ReadingAsked]):
    """Words can mean several values."""

    mode = Mode.EITHER
    asks = ReadingAsked
    heading = "heading_value"
    reminds = asking.REMIND

    def prompt(self, state: State, asked: ReadingAsked) -> tuple[str, ...]:
        """All of them, with their places."""
        return asking.which_reading(state, asked)

    def answers(self) -> Mapping[str, Handler]:
        """Which one, none, or another value."""
        return {"pick": self.pick, "no": self.no, "correct": self.correct}

    def pick(self, turn: Turn, intent: Intent) -> None:
        """One of them is meant."""
        asked = self.asked(turn)
        at = asking.NTHS.get(intent.slot("which") or "", 0)
        if not 0 < at <= len(asked.readings):
            self.say(turn)
            remind(turn, self.reminds)
            return
        _take(turn, asking.settle(turn, asked.target, asked.readings[at - 1], asked.said_unit, asked.words))

    def no(self, turn: Turn, intent: Intent) -> None:
        """None of them."""
        _drop(turn, self.asked(turn).target)

    def correct(self, turn: Turn, intent: Intent) -> None:
        """Another value instead of them."""
        _take(turn, asking.propose(turn, self.asked(turn).target, intent))
