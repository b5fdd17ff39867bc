"""The words of an expression: numbers with their unit, names, signs."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from bayvoice.errors import BayError
from bayvoice.language.texts import tell
from bayvoice.units import UNITS

Complain = Callable[[int, str, str], BayError]
"""(column from 1, what, mend) -> the error to raise."""

_PRINTED: Final = {
    "N·m": "N.m",
    "lbf·ft": "lbf.ft",
    "lbf·in": "lbf.in",
    "°C": "degC",
    "°F": "degF",
    "°": "deg",
    "µm": "um",
    "μm": "um",
    "Ω": "ohm",
    "mm²": "mm2",
    "cm²": "cm2",
}
_WRITTEN: Final = sorted([*(code for code in UNITS if code), *_PRINTED], key=len, reverse=True)
_NUMBER: Final = re.compile(r"[0-9]{1,30}(?:\.[0-9]{1,30})?|\.[0-9]{1,30}")
_WORD: Final = re.compile(r"[^\W\d]\w*")
_QUOTED: Final = re.compile(r"""(["'])(.*?)\1""")
_PART_OF_WORD: Final = re.compile(r"[\w²³°%]")


@dataclass(frozen=True, slots=True)
class Token:
    """kind: "number", "name", "quoted", "sign" or "end". column: from 1. unit: code behind a number, or ""."""

    kind: str
    text: str
    column: int
    unit: str = ""


def tokens(text: str, complain: Complain) -> list[Token]:
    """The tokens of `text`, the last of kind "end".

    Raises:
        BayError: something is no token; by `complain`.
    """
    found: list[Token] = []
    at = 0
    while at < len(text):
        column = at + 1
        if text[at].isspace():
            at += 1
        elif number := _NUMBER.match(text, at):
            code, at = _unit_behind(text, number.end(), complain)
            found.append(Token("number", number.group(), column, code))
        elif word := _WORD.match(text, at):
            at = word.end()
            found.append(Token("name", word.group(), column))
        elif quoted := _QUOTED.match(text, at):
            at = quoted.end()
            found.append(Token("quoted", quoted.group(2), column))
        elif text[at] in "+-*/(),":
            found.append(Token("sign", text[at], column))
            at += 1
        elif text[at] in "\"'":
            raise complain(column, tell("trade-quote-is-not-closed"), tell("trade-close-behind-name"))
        else:
            raise complain(
                column,
                tell("trade-sign-means-nothing-here", text=text[at]),
                tell("trade-use-numbers-names-and-brackets"),
            )
    found.append(Token("end", "", len(text) + 1))
    return found


def _unit_behind(text: str, end: int, complain: Complain) -> tuple[str, int]:
    """The unit that follows a number ending at `end`, and where it ends."""
    start = end
    while start < len(text) and text[start].isspace():
        start += 1
    for written in _WRITTEN:
        stop = start + len(written)
        if text.startswith(written, start) and not _PART_OF_WORD.match(text, stop):
            return _PRINTED.get(written, written), stop
    if start < len(text) and _PART_OF_WORD.match(text, start):
        word = re.match(r"[\w²³°%.·]+", text[start:])
        shown = word.group() if word else text[start]
        raise complain(start + 1, tell("trade-no-unit", shown=shown), tell("trade-write-code-of-unit-or-before"))
    if end < len(text) and text[end] == ".":
        raise complain(end + 1, tell("trade-number-ends-with-point"), tell("trade-write-figure-behind-point"))
    return "", end
