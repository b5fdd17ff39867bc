"""What is said, as sentences with fields, from the language's ``dialogue.ftl``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Final

from bayvoice.errors import BayError
from bayvoice.language import texts, units
from bayvoice.language.texts import tell

_ROOM: Final = "dialogue-"


@dataclass(frozen=True, slots=True)
class Line:
    """A sentence, and what it was made of: the key and the fields of the wording."""

    key: str
    fields: Mapping[str, str | int] = field(hash=False)
    text: str

    @property
    def body(self) -> dict[str, str | int]:
        """As a fact holds it."""
        return {"key": self.key, **self.fields}


@dataclass(frozen=True, slots=True)
class Wording:
    """What is said, by key: the room ``dialogue`` of the catalogue, in the language of the process.

    A key is given without its room: "ask_check" is the sentence ``dialogue-ask_check``.
    """

    def text(self, key: str, **fields: object) -> str:
        """The sentence `key` with its fields filled. BayError when the language lacks it or one of its fields."""
        try:
            return tell(_ROOM + key, **fields)
        except KeyError as gap:
            raise BayError(
                tell("language-wording-cannot-be-used", gap=gap.args[0]),
                tell("language-wording-key", key=key),
                tell("language-add-to-dialogue"),
            ) from None

    def line(self, key: str, **fields: str | int) -> Line:
        """The same, with what it was made of."""
        return Line(key, fields, self.text(key, **fields))

    def get(self, key: str, otherwise: str) -> str:
        """The sentence `key`, which has no fields; `otherwise` where there is none."""
        return tell(_ROOM + key) if texts.known(_ROOM + key) else otherwise

    def code(self, prefix: str, said: str) -> str:
        """The rest of the key, after `prefix`, whose words are `said`; `said` itself where none is."""
        begun = (key for key in texts.keys("dialogue") if key.startswith(_ROOM + prefix) and not texts.fields(key))
        return next((key.removeprefix(_ROOM + prefix) for key in begun if tell(key) == said), said)

    def fields(self, key: str) -> frozenset[str]:
        """Names of the fields of sentence `key`."""
        return texts.fields(_ROOM + key)


def amount(value: Decimal, unit: str) -> str:
    """A value with its unit's symbol, as shown and (through `language.saying`) as said: "32.50 N·m"."""
    symbol = units.unit(unit).symbol
    return f"{value:f}{symbol}" if symbol in {"%", "°"} else f"{value:f} {symbol}"


def duration(seconds: float) -> str:
    """Whole seconds as "2 h 10 min", "3 min 5 s", "40 s"; rounded up, so that nothing is called over too early."""
    whole = int(-(-max(0.0, seconds) // 1))
    hours, rest = divmod(whole, 3600)
    minutes, secs = divmod(rest, 60)
    if hours:
        return f"{hours} h {minutes} min" if minutes else f"{hours} h"
    if minutes:
        return f"{minutes} min {secs} s" if secs else f"{minutes} min"
    return f"{secs} s"


def listed(items: tuple[str, ...]) -> str:
    """ "a", "a and b", "a, b and c"."""
    if len(items) < 2:
        return "".join(items)
    return tell("language-and-last", items=", ".join(items[:-1]), last=items[-1])
