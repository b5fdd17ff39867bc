"""Choosing a job without hands: the jobs and procedures are read with their numbers, a number is read back, "yes"
takes it. Pure, like the dialogue of a job: `handle(state, event) -> (state, effects)`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

from bayvoice.dialogue.engine.effects import Effect, Finish, Hush, Say
from bayvoice.dialogue.engine.events import (
    Began,
    Event,
    Heard,
    Left,
    Mended,
    SpeechBegan,
    Spoken,
    Trouble,
    Typed,
    Woke,
)
from bayvoice.dialogue.engine.state import Doubt, HeardLine, Talk
from bayvoice.dialogue.engine.talk import overlapped, speech_began, spoken, stale, watchdog
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.job.facts import Fact
from bayvoice.language.intents import Intent
from bayvoice.language.risk import Verdict, weigh
from bayvoice.language.wording import Wording


class ChoosingMode(StrEnum):
    """Dialogue states; each is the public rule of the same name in ``grammars/<language>/choosing.gram``."""

    CHOOSE = "choose"
    CHOSEN = "chosen"


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing to choose. `job`: name of an open job, "" for a new one; `place`: where that job stands.

    `procedure`: a file or the name of one that ships; `by`: who was last at it.
    """

    procedure: str
    title: str
    job: str = ""
    place: str = ""
    by: str = ""


@dataclass(frozen=True, slots=True)
class Choosing:
    """Everything between two events. `picked`: what is read back; `taken`: what was confirmed, the end of choosing.

    The rest is as in `bayvoice.dialogue.engine.state.State`, which the loop and `Turn` rely on; there are no facts.
    """

    choices: tuple[Choice, ...]
    wording: Wording
    mode: ChoosingMode = ChoosingMode.CHOOSE
    picked: Choice | None = None
    taken: Choice | None = None
    talk: Talk = field(default_factory=Talk)
    unkept: tuple[Fact, ...] = ()
    held: tuple[tuple[int, Say], ...] = ()
    troubles: tuple[tuple[str, str, str], ...] = ()
    heard: HeardLine | None = None
    doubt: Doubt | None = None
    last_said: str = ""
    now: float = 0.0
    asked: float = float("-inf")
    next_uid: int = 1
    tail: float = 0.25
    left: bool = False


Handler = Callable[["_Choice", Intent], None]


class _Choice(Turn):
    """A turn whose state is a `Choosing`."""

    @property
    def at_choice(self) -> Choosing:
        state: object = self.state
        assert isinstance(state, Choosing)
        return state


def handle(state: Choosing, event: Event) -> tuple[Choosing, tuple[Effect, ...]]:
    """What `event` leads to. Pure."""
    turn = _Choice(state, event.at)  # type: ignore[arg-type]
    match event:
        case Began():
            _read(turn)
        case Heard():
            _heard(turn, event)
        case Typed():
            words = " ".join(event.words)
            made = _shown(event.intent) if event.intent else ""
            why = "" if made else state.wording.text("why_not_here")
            turn.put(heard=HeardLine(words, made, why, None, "typed"))
            if event.intent is None:
                turn.say("help_choose")
            else:
                _act(turn, event.intent)
        case Woke():
            watchdog(turn, event)
        case SpeechBegan():
            speech_began(turn, event)
        case Spoken():
            spoken(turn, event)
        case Trouble():
            others = tuple(t for t in state.troubles if t[0] != event.part)
            turn.put(troubles=(*others, (event.part, event.what, event.mend)))
            if event.part != "voice":
                turn.say("trouble", what=event.what, mend=event.mend)
        case Mended():
            turn.put(troubles=tuple(t for t in state.troubles if t[0] != event.part))
        case Left():
            turn.effects.append(Hush())
            turn.put(talk=Talk(), left=True)
            turn.effects.append(Finish())
        case _:
            pass
    return turn.at_choice, tuple(turn.effects)


def _read(turn: _Choice) -> None:
    """Read every choice with its number."""
    choices = turn.at_choice.choices
    turn.put(picked=None)
    turn.mode(ChoosingMode.CHOOSE)
    turn.say("choose_none" if not choices else "choose_begins")
    for number, choice in enumerate(choices, 1):
        key = "choose_open" if choice.job else "choose_new"
        turn.say(key, number=number, title=choice.title, job=choice.job, place=choice.place, by=choice.by)
    if choices:
        turn.say("choose_ends")


def _heard(turn: _Choice, event: Heard) -> None:
    state = turn.at_choice
    intent, why = event.intent, event.why
    if intent is not None and intent.name != "stop" and overlapped(state.talk, state.tail, event):
        intent, why = None, state.wording.text("why_own_voice")
    elif intent is not None and stale(event, state.mode.value, state.asked, (state.mode, intent.name) in TABLE):
        intent, why = None, state.wording.text("why_changed")
    verdict = weigh("step", intent.name, event.sure) if intent is not None else Verdict.REFUSE
    acts = intent is not None and verdict is Verdict.ACT
    if intent is not None and not acts:
        why = state.wording.text("why_unsure")
    made = _shown(intent) if intent is not None and acts else ""
    turn.put(heard=HeardLine(" ".join(event.words), made, why, event.margin, event.engine, event.sure))
    if intent is not None and acts:
        _act(turn, intent)


def _shown(intent: Intent) -> str:
    """The intent as it is shown: here a bare number is not a reading but the number of a choice."""
    return "number" if intent.name == "record" else intent.name


def _act(turn: _Choice, intent: Intent) -> None:
    turn.hush()
    handler = TABLE.get((turn.at_choice.mode, intent.name))
    if handler is None:
        turn.say("help_choose")
        return
    handler(turn, intent)


def _pick(turn: _Choice, intent: Intent) -> None:
    choices = turn.at_choice.choices
    number = int(intent.value) if intent.value is not None else 0
    if not 1 <= number <= len(choices):
        turn.say("choose_no_number", number=number, last=len(choices))
        return
    turn.put(picked=choices[number - 1])
    turn.mode(ChoosingMode.CHOSEN)
    _read_back(turn, intent)


def _read_back(turn: _Choice, intent: Intent) -> None:
    picked = turn.at_choice.picked
    assert picked is not None
    key = "chosen_open" if picked.job else "chosen_new"
    turn.say(key, title=picked.title, job=picked.job, place=picked.place)


def _yes(turn: _Choice, intent: Intent) -> None:
    turn.put(taken=turn.at_choice.picked)
    turn.effects.append(Finish())


def _no(turn: _Choice, intent: Intent) -> None:
    turn.put(picked=None)
    turn.mode(ChoosingMode.CHOOSE)
    turn.say("choose_again")


def _again(turn: _Choice, intent: Intent) -> None:
    _read(turn)


def _help(turn: _Choice, intent: Intent) -> None:
    turn.say("help_choose")


def _quiet(turn: _Choice, intent: Intent) -> None:
    """Silence itself is the answer."""


TABLE: Final[dict[tuple[ChoosingMode, str], Handler]] = {
    (ChoosingMode.CHOOSE, "record"): _pick,
    (ChoosingMode.CHOOSE, "repeat"): _again,
    (ChoosingMode.CHOOSE, "help"): _help,
    (ChoosingMode.CHOOSE, "stop"): _quiet,
    (ChoosingMode.CHOSEN, "yes"): _yes,
    (ChoosingMode.CHOSEN, "no"): _no,
    (ChoosingMode.CHOSEN, "repeat"): _read_back,
    (ChoosingMode.CHOSEN, "stop"): _quiet,
}
"""(dialogue state, intent) -> what it does; a test holds it against the grammar, both ways."""
