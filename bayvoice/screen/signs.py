"""Symbols and the letters a terminal can show. Every symbol stands beside a word; none carries meaning alone."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Signs:
    """One set of symbols, each one column wide. `large`: the terminal can show letters made of blocks."""

    hurt: str
    good: str
    bad: str
    now: str
    later: str
    full: str
    empty: str
    edge: str
    large: bool


UNICODE: Final = Signs("▲", "✓", "✗", "▶", "○", "█", "░", "┃", True)
ASCII: Final = Signs("!", "+", "x", ">", "o", "#", ".", "|", False)

_WRITTEN: Final = str.maketrans(
    {
        "·": ".", "°": " deg", "µ": "u", "Ω": "ohm", "×": "x", "–": "-", "—": "-", "…": "...", "’": "'", "‘": "'",
        "“": '"', "”": '"', "≥": ">=", "≤": "<=", "±": "+-", "ß": "ss", "æ": "ae", "ø": "o",
    }
)  # fmt: skip


def signs_for(encoding: str | None, environ: Mapping[str, str]) -> Signs:
    """The symbols a terminal can show.

    Args:
        encoding: of the terminal, as Python names it; None where unknown.
        environ: the environment. ``BAYVOICE_ASCII`` set to anything but "" or "0" asks for ASCII; the Linux text
            console ("linux" in ``TERM``) has a font of 256 or 512 characters, so it gets ASCII too.
    """
    if environ.get("BAYVOICE_ASCII", "0") not in ("", "0") or environ.get("TERM") in ("linux", "dumb", "vt100"):
        return ASCII
    try:
        "".join((UNICODE.hurt, UNICODE.good, UNICODE.bad, UNICODE.full, "▀·°")).encode(encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return ASCII
    return UNICODE


def written(text: str, signs: Signs) -> str:
    """`text` in the letters that go with `signs`: unchanged, or in ASCII ("N·m" -> "N.m"), unknown ones as "?"."""
    if signs is UNICODE or text.isascii():
        return text
    plain = unicodedata.normalize("NFKD", text.translate(_WRITTEN))
    return "".join(c for c in plain if not unicodedata.combining(c)).encode("ascii", "replace").decode("ascii")
