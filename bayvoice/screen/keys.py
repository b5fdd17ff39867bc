"""The one table of keys: what each intent is called on the screen, which key stands for it, which words it sends.

"No" is not on "n": whoever takes "n" for "no" while it means "next" is refused harmlessly, the other way round a
refusal would be recorded. Keys that foot switches and presenters' remotes send are second keys of next and back.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bayvoice.dialogue.engine.state import Mode
from bayvoice.dialogue.session import ANSWERS, QUESTIONS, TABLE


@dataclass(frozen=True, slots=True)
class Key:
    """One intent on the screen.

    Attributes:
        intent: its name in `bayvoice.language.intents`.
        key: Textual's name of the key; also what is shown.
        label: what is shown beside the key.
        words: what is sent, in the words of the grammars; with `more` only their beginning.
        more: the typed line opens with `words` in it, because more has to be said.
        also: further keys for the same.
    """

    intent: str
    key: str
    label: str
    words: str
    more: bool = False
    also: tuple[str, ...] = ()


KEYS: Final[tuple[Key, ...]] = (
    Key("next", "n", "next", "next", also=("pagedown",)),
    Key("yes", "y", "yes", "yes"),
    Key("no", "x", "no", "no"),
    Key("go", "g", "go", "go"),
    Key("record", "v", "value", "record ", more=True),
    Key("sign", "a", "sign", "sign ", more=True),
    Key("name", "a", "allowed", "allowed by ", more=True),
    Key("searched", "z", "searched", "searched by ", more=True),
    Key("later", "e", "later", "later"),
    Key("spell", "v", "batch", "batch ", more=True),
    Key("expires", "v", "until", "", more=True),
    Key("resume", "u", "resume", "resume"),
    Key("count_in", "i", "count in", "count in ", more=True),
    Key("count_out", "o", "count out", "count out ", more=True),
    Key("correct", "c", "correct", "correct ", more=True),
    Key("pick", "f", "which", "the ", more=True),
    Key("reckon", "E", "reckon", "reckon ", more=True),
    Key("repeat", "r", "repeat", "repeat"),
    Key("back", "b", "back", "back", also=("pageup",)),
    Key("where", "w", "step", "which step"),
    Key("time", "t", "how long", "how long"),
    Key("stop", "s", "stop", "stop", also=("escape",)),
    Key("help", "h", "help", "help", also=("f1", "question_mark")),
    Key("pause", "p", "pause", "pause"),
    Key("parts", "d", "list", "parts list"),
    Key("found", "f", "found", "found ", more=True),
    Key("hand_over", "j", "hand over", "hand over to ", more=True),
    Key("note", "m", "note", "note ", more=True),
    Key("skip", "k", "skip step", "skip step"),
    Key("choose", "f", "which", "number ", more=True),
    Key("started", "f5", "started", "started ", more=True),
    Key("restart", "f2", "restart", "restart ", more=True),
    Key("extend", "f3", "extend", "extend by ", more=True),
    Key("cancel", "f4", "cancel", "cancel ", more=True),
)
"""Answers first, then what steers; the screen shows them in this order."""

REASON: Final = Key("skip", "k", "reason", "", more=True)
"""Where a reason is asked for, the reason alone is what is said."""

CODE: Final = Key("sign", "a", "code", "code ", more=True)
"""Where a code is asked for, only the code is what is said."""

DIGITS: Final = frozenset("0123456789")
"""Where a value is wanted, a digit begins it."""
QUIT, SHADE, TYPE = "f9", "l", "enter"
"""Leave, the next theme, the empty typed line (the same key sends it, so no letter is lost to either)."""


def keys_of(mode: str) -> tuple[Key, ...]:
    """Keys of the intents that mean something in `mode`, in the order of `KEYS`."""
    live = tuple(key for key in KEYS if (mode, key.intent) in TABLE)
    other: dict[tuple[str, str], Key] = {(Mode.REASON, "skip"): REASON, (Mode.CODE, "sign"): CODE}
    return tuple(other.get((mode, key.intent), key) for key in live)


def buttons() -> tuple[Key, ...]:
    """One key for each button: answers that never come together share one."""
    return tuple({key.key: key for key in reversed(KEYS)}[name] for name in dict.fromkeys(key.key for key in KEYS))


def key_for(mode: str, pressed: str) -> Key | None:
    """The intent that the key called `pressed` stands for in `mode`, or None."""
    return next((key for key in keys_of(mode) if pressed == key.key or pressed in key.also), None)


def answers(mode: str) -> frozenset[str]:
    """Intents that answer what is asked in `mode`, as against those that steer."""
    if mode in ANSWERS:
        return frozenset(ANSWERS[mode])
    return frozenset(QUESTIONS[mode]) & {
        "yes",
        "no",
        "correct",
        "pick",
        "choose",
        "resume",
        "skip",
        "sign",
        "name",
        "spell",
        "expires",
        "later",
    }


def takes_value(mode: str) -> bool:
    """Whether a bare number means something in `mode`."""
    return (mode, "record") in TABLE or mode in (Mode.CONFIRM, Mode.EITHER)
