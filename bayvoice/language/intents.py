"""What an utterance can mean. Speech, keys and typed words all end in an `Intent`."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

NAMES: Final[frozenset[str]] = frozenset(
    {
        "next", "repeat", "back", "where", "record", "correct", "yes", "no", "go", "stop", "time",
        "count_in", "count_out", "pause", "resume", "skip", "note", "help", "sign", "pick", "reckon",
        "parts", "later", "spell", "expires", "searched", "found", "hand_over", "name",
        "started", "restart", "extend", "cancel", "choose",
    }
)  # fmt: skip
"""Every intent of the product. A bare value ("thirty two point five") is a `record`."""

GUARDED: Final[frozenset[str]] = frozenset(
    {
        "next", "back", "record", "correct", "pick", "yes", "no", "go", "count_in", "count_out", "skip", "sign",
        "note", "parts", "later", "spell", "expires", "searched", "found", "hand_over", "name", "started", "restart",
        "extend", "cancel", "choose",
    }
)  # fmt: skip
"""Intents that advance, log or override; the rest only ask for or stop speech, or pause."""


@dataclass(frozen=True, slots=True)
class Intent:
    """One meaning, taken from a whole utterance.

    Attributes:
        name: one of `NAMES`.
        value: the number said, trailing zeros kept (``Decimal("32.50")``); None where none was said, and where the
            words have several readings.
        readings: every value the words can have, the most usual first: "five fifty" is 550 or 5.50. Just `value`
            where there is one, empty where no number was said. `bayvoice.language.numbers.choose` picks by limits.
        unit: unit code as in `bayvoice.language.units` ("N.m", "mm"), None where no unit was said.
        slots: further captures, sorted by key: ``thing``, ``count``, ``reason``, ``who``, ``code``, ``name``,
            ``spelt`` (a part or batch number, "K40-7-030"), and ``hedge`` ("about", "plus or minus") where a value was
            given as none that can be recorded; such an intent has no value and no readings.
    """

    name: str
    value: Decimal | None = None
    unit: str | None = None
    slots: tuple[tuple[str, str], ...] = ()
    readings: tuple[Decimal, ...] = ()

    def __post_init__(self) -> None:
        if self.name not in NAMES:
            raise ValueError(f"no intent is called {self.name!r}")
        if self.value is not None and self.readings not in ((), (self.value,)):
            raise ValueError("an intent with a value has no other readings")
        if self.value is not None:
            object.__setattr__(self, "readings", (self.value,))
        elif len(self.readings) == 1:
            object.__setattr__(self, "value", self.readings[0])

    def slot(self, key: str) -> str | None:
        """The captured words of `key`, or None."""
        return dict(self.slots).get(key)
