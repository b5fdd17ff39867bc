"""What is said, as sentences with fields, from the language's ``wording.toml``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from string import Formatter

from bayvoice.errors import BayError
from bayvoice.language import units
from bayvoice.language.texts import tell


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
    """Sentences by key. Two wordings of the same table are equal."""

    table: Mapping[str, str] = field(hash=False)

    def text(self, key: str, **fields: object) -> str:
        """The sentence `key` with its fields filled. BayError when the language lacks it or one of its fields."""
        try:
            return self.table[key].format(**fields)
        except KeyError as gap:
            raise BayError(
                tell("language-wording-has-no", gap=str(gap)),
                tell("language-wording-key", key=key),
                tell("language-add-to-wording"),
            ) from None

    def line(self, key: str, **fields: str | int) -> Line:
        """The same, with what it was made of."""
        return Line(key, fields, self.text(key, **fields))

    def code(self, prefix: str, said: str) -> str:
        """The rest of the key, after `prefix`, whose words are `said`; `said` itself where none is."""
        keys = (key for key, words in self.table.items() if words == said and key.startswith(prefix))
        return next(keys, prefix + said).removeprefix(prefix)

    def fields(self, key: str) -> frozenset[str]:
        """Names of the fields of sentence `key`."""
        return frozenset(name for _, name, _, _ in Formatter().parse(self.table[key]) if name)


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
