"""Typed words: lines of standard input, or what the screen's keys stand for, as the words a grammar knows."""

from __future__ import annotations

import re
import sys
import threading
from collections.abc import Callable
from decimal import Decimal
from typing import Final, TextIO

from bayvoice.errors import BayError
from bayvoice.speech import units
from bayvoice.speech.numbers import to_words

# A number, perhaps with a unit; not the figures of a part number ("T4-7-030", "2041-7").
_NUMBER: Final = re.compile(r"(?<![\w./-])([+-]?)(\d+(?:\.\d+)?|\.\d+)(?![-/.]?\d|[-/]\w)\s*([^\s\d]\S*)?")


def words_of(text: str) -> tuple[str, ...]:
    """Typed text as spoken words: lower case, figures and unit symbols written out ("32.5 N.m")."""
    return tuple(_NUMBER.sub(_said, text.strip()).lower().replace(",", " ").split())


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
