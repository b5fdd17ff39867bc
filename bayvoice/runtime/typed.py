"""Typed words: lines of standard input, or what the screen's keys stand for, as the words a grammar knows."""

from __future__ import annotations

import re
import sys
import threading
from collections.abc import Callable
from decimal import Decimal
from typing import Final, TextIO

from bayvoice.errors import BayError
from bayvoice.language import units
from bayvoice.language.intents import Intent
from bayvoice.language.numbers import to_words

# A number, perhaps with a unit; not the figures of a part number ("K40-7-030", "2041-7").
_NUMBER: Final = re.compile(r"(?<![\w./-])([+-]?)(\d+(?:\.\d+)?|\.\d+)(?![-/.]?\d|[-/]\w)\s*([^\s\d]\S*)?")


def words_of(text: str) -> tuple[str, ...]:
    """Typed text as spoken words: lower case, figures and unit symbols written out ("32.5 N.m")."""
    return tuple(_NUMBER.sub(_said, text.strip()).lower().replace(",", " ").replace(": ", " ").split())


def written_intent(text: str, state: str) -> Intent | None:
    """What only typing can say, because it holds words or figures no grammar has.

    "note", and "note …", which keeps its text; "found foreign part …" keeps what it is; where a reason is wanted
    (dialogue state "reason") "another reason …", which keeps it; where a shelf life is wanted (dialogue state "expiry")
    a month as it is printed: "2027-03", "03/2027", "March 2027".
    """
    line = text.strip()
    if found := re.fullmatch(r"note(?:[\s:]+(.*))?", line, re.IGNORECASE | re.DOTALL):
        return Intent("note", slots=(("text", found[1].strip()),)) if found[1] else Intent("note")
    if found := re.match(r"found[\s:]+foreign part[\s:,]+(.+)", line, re.IGNORECASE | re.DOTALL):
        return Intent("found", slots=(("text", found[1].strip()), ("what", "foreign part")))
    if state == "reason" and (found := re.match(r"another reason[\s:,]+(.+)", line, re.IGNORECASE | re.DOTALL)):
        return Intent("skip", slots=(("reason", "another reason"), ("text", found[1].strip())))
    if state == "expiry":
        if found := re.fullmatch(r"(20\d\d)-(\d{1,2})", line):
            return Intent("expires", slots=(("month", found[2]), ("year", found[1])))
        if found := re.fullmatch(r"(\d{1,2}|[a-z]+)[\s/.]+(20\d\d)", line, re.IGNORECASE):
            return Intent("expires", slots=(("month", found[1].lower()), ("year", found[2])))
    return None


def _said(found: re.Match[str]) -> str:
    sign, digits, symbol = found.groups()
    said = to_words(Decimal(("-" if sign == "-" else "") + digits))
    if not symbol:
        return said
    code = units.by_sign(symbol)
    return f"{said} {units.spoken(code, True)}" if code else f"{said} {symbol}"


def read_lines(on_line: Callable[[str], None], on_end: Callable[[], None], source: TextIO | None = None) -> None:
    """Read lines in a thread of its own; `on_end` when there are no more."""
    stream = sys.stdin if source is None else source

    def work() -> None:
        try:
            for line in stream:
                if line.strip():
                    on_line(line.strip())
        except (ValueError, OSError, BayError):
            pass
        on_end()

    threading.Thread(target=work, name="typed", daemon=True).start()
