"""Typed reading of one TOML table; whatever is wrong is noted and reading goes on."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from bayvoice.procedure import amounts
from bayvoice.procedure.mistakes import Notes, listed, quoted, suggest
from bayvoice.procedure.places import Path

_TURNING = frozenset("\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


class Table:
    """One table of the file. Getters return a usable value in every case; a value that is wrong has been noted."""

    def __init__(self, notes: Notes, path: Path, raw: Mapping[str, Any]) -> None:
        self.notes = notes
        self.path = path
        self.raw = raw

    def wrong(self, key: str, what: str, mend: str) -> None:
        """Note a mistake at `key`; at the table itself where `key` is empty."""
        self.notes.add((*self.path, key) if key else self.path, what, mend)

    def heading(self, key: str) -> str:
        """What stands in the brackets above a table of `key`: "caution", "step.caution", "step.back.table"."""
        return ".".join([*(part for part in self.path if isinstance(part, str)), key])

    def has(self, key: str) -> bool:
        """Whether `key` is written in the table."""
        return key in self.raw

    def allow(self, known: Sequence[str], elsewhere: Mapping[str, str] | None = None) -> None:
        """Note each key that is not one of `known`. `elsewhere`: key -> where it does belong."""
        for key in self.raw:
            if key in known:
                continue
            if elsewhere and key in elsewhere:
                self.wrong(key, f"{quoted(key)} does not belong here", f"it belongs to {elsewhere[key]}")
            else:
                self.wrong(
                    key, f"the key {quoted(key)} is unknown", suggest(key, known, f"known here: {listed(known)}")
                )

    def text(self, key: str, *, required: bool = False, default: str = "", lines: bool = False) -> str:
        """A text without control characters. Line ends only with `lines`; outer spaces are dropped."""
        if key not in self.raw:
            if required:
                self.missing(key)
            return default
        return self.clean(key, self.raw[key], lines=lines, needed=required)

    def clean(self, key: str, value: object, *, lines: bool = False, needed: bool = False) -> str:
        """`value` as a text that can be shown, noted under `key` where it is not one."""
        if not isinstance(value, str):
            self.wrong(key, f"{_kind(value)} stands where a text belongs", "put the text in double quotes")
            return ""
        bad = next((c for c in value if (unicodedata.category(c) in _UNSEEN or c in _TURNING) and c not in "\n\t"), "")
        if bad:
            self.wrong(key, f"the text holds the unseen character U+{ord(bad):04X}", "take it out")
            return ""
        if not lines and "\n" in value.strip():
            self.wrong(key, "the text has more than one line", "write it on one line")
        if not any(c.isalnum() for c in value):
            mend = "write it" if needed else "write it, or leave it out"
            self.wrong(key, "the text is empty" if not value.strip() else "the text holds no word", mend)
        return value.strip() if lines else " ".join(value.split())

    def missing(self, key: str) -> None:
        """Note that `key` must be there and is not."""
        self.wrong(key, f"{quoted(key)} is missing", "add it")

    def flag(self, key: str) -> bool:
        """true or false, false where it is not written; written in a wrong way it is taken as meant, true."""
        value = self.raw.get(key, False)
        if not isinstance(value, bool):
            self.wrong(key, f"{_kind(value)} stands where true or false belongs", "write true or false, without quotes")
            return True
        return value

    def whole(self, key: str, low: int, high: int, default: int | None = None) -> int | None:
        """A whole number from `low` to `high`, required where there is no `default`; None where it is wrong."""
        if key not in self.raw:
            if default is None:
                self.missing(key)
            return default
        value = self.raw[key]
        if isinstance(value, bool) or not isinstance(value, int):
            self.wrong(key, f"{_kind(value)} stands where a whole number belongs", "write the number without quotes")
        elif not low <= value <= high:
            self.wrong(key, f"{quoted(value)} is out of range", f"write a number from {low} to {high}")
        else:
            return value
        return None

    def decimal(self, key: str) -> Decimal | None:
        """A number with the digits of the file, None where there is none."""
        if key not in self.raw:
            return None
        try:
            return amounts.number(self.raw[key])
        except ValueError as why:
            self.wrong(key, f"{quoted(self.raw[key])} {why}", 'write it like 0.20 or "0.20"')
            return None

    def duration(self, key: str) -> int | None:
        """Seconds, None where there are none."""
        if key not in self.raw:
            return None
        try:
            return amounts.duration(self.raw[key])
        except ValueError as why:
            self.wrong(key, f"{quoted(self.raw[key])} {why}", amounts.DURATION_HINT)
            return None

    def choice(
        self, key: str, options: Sequence[str], *, what: str, default: str | None = None, mend: str = ""
    ) -> str | None:
        """One of the words `options`, None where it is missing or another word. `what`: what such a word is called."""
        if key not in self.raw:
            if default is None:
                self.wrong(key, f"{quoted(key)} is missing", mend or f"add it: {listed(options)}")
            return default
        value = self.raw[key]
        if isinstance(value, str) and value in options:
            return value
        shown = quoted(value) if isinstance(value, str) else _kind(value)
        near = suggest(value, options, "") if isinstance(value, str) else ""
        mend = mend or f"write {listed(options)}"
        self.wrong(key, f"{shown} is no {what}", f"{near}: {mend}" if near else mend)
        return None

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of texts; empty where it is not written."""
        value = self.raw.get(key, [])
        if not isinstance(value, list):
            self.wrong(key, f"{_kind(value)} stands where a list belongs", f'write {key} = ["...", "..."]')
            return ()
        return tuple(text for item in value if (text := self.clean(key, item)))

    def tables(self, key: str, *, single: bool = False) -> list[Table]:
        """The tables of ``[[key]]``; with `single` one ``{...}`` will do."""
        value = self.raw.get(key, [])
        if single and isinstance(value, dict):
            return [Table(self.notes, (*self.path, key), value)]
        if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
            mend = f"begin each with [[{self.heading(key)}]] on a line of its own"
            self.wrong(key, f"{quoted(key)} is not a list of tables", mend)
            return []
        return [Table(self.notes, (*self.path, key, i), item) for i, item in enumerate(value)]


_UNSEEN = ("Cc", "Cs", "Co", "Zl", "Zp")


def _kind(value: object) -> str:
    """What a TOML value is, in words."""
    if isinstance(value, bool):
        return "true or false"
    names: tuple[tuple[type, str], ...] = (
        (str, "a text"),
        (int, "a number"),
        (Decimal, "a number"),
        (list, "a list"),
        (dict, "a table"),
    )
    return next((name for kind, name in names if isinstance(value, kind)), "a date or time")
