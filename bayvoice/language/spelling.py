"""Part and batch numbers spelled with the radiotelephony spelling alphabet, both ways.

The words are those of ICAO Annex 10, volume II, as Commission Implementing Regulation (EU) No 923/2012 prints them
(SERA.14020, table S14-2); tree, fower, fife and niner are ICAO's ways of saying 3, 4, 5 and 9, from memory. Names of
the marks, "oh", and "double" and "triple" before a figure are common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from bayvoice.errors import BayError
from bayvoice.language.numbers import DIGITS
from bayvoice.language.texts import tell

LETTERS: Final = (
    "alfa",
    "bravo",
    "charlie",
    "delta",
    "echo",
    "foxtrot",
    "golf",
    "hotel",
    "india",
    "juliett",
    "kilo",
    "lima",
    "mike",
    "november",
    "oscar",
    "papa",
    "quebec",
    "romeo",
    "sierra",
    "tango",
    "uniform",
    "victor",
    "whiskey",
    "x ray",
    "yankee",
    "zulu",
)
"""The words for A to Z."""

MARKS: Final = {"-": "dash", "/": "stroke", ".": "point"}
"""Marks inside a number -> how they are said."""

LONGEST: Final = 16
"""Most characters of a number that is spelled, as in ``grammars/en/spelling.gram``."""

_VALUES: Final = {
    **{word: chr(ord("A") + n) for n, word in enumerate(LETTERS)},
    **{word: str(n) for n, word in enumerate(DIGITS)},
    **{word: mark for mark, word in MARKS.items()},
    "alpha": "A",
    "juliet": "J",
    "whisky": "W",
    "xray": "X",
    "x-ray": "X",
    "oh": "0",
    "tree": "3",
    "fower": "4",
    "fife": "5",
    "niner": "9",
    "slash": "/",
    "hyphen": "-",
}
_TIMES: Final = {"double": 2, "triple": 3}
_NAMES: Final = {character: word for word, character in reversed(_VALUES.items())}
_RUNS: Final = re.compile(r"[A-Z]+|[0-9]+|[-/.]")
_CODE: Final = re.compile(r"[A-Za-z0-9]+(?:[-/.][A-Za-z0-9]+)*")


def spell(text: str) -> tuple[str, ...]:
    """The words of a part or batch number: ``spell("K40-7")`` -> ("kilo", "four", "zero", "dash", "seven").

    Args:
        text: letters A to Z in either case, figures and ``- / .``; blanks are passed over.

    Raises:
        BayError: another character is in it, or nothing is.
    """
    said: list[str] = []
    for character in text.upper():
        if character.isspace():
            continue
        if character not in _NAMES:
            raise BayError(
                tell("language-character-in-text-cannot-be-spelled", character=character, text=text),
                "",
                tell("language-use-letters-figures-and"),
            )
        said += _NAMES[character].split()
    if not said:
        raise BayError(tell("language-nothing-to-spell"), "", tell("language-give-number-with-letters-or-figures"))
    return tuple(said)


def unspell(words: Sequence[str]) -> str | None:
    """What was spelled, letters as capitals: ("tango", "double", "four") -> "T44"; None where words are no spelling.

    Words in any case; a word such as "K40-7", as it is typed, stands for its characters.
    """
    out, times = "", 1
    said = iter(words)
    for word in said:
        word = word.lower()
        if word == "x" and times == 1:
            if next(said, "").lower() != "ray":
                return None
            word = "x ray"
        if word in _TIMES and times == 1:
            times = _TIMES[word]
        elif word in _VALUES and (times == 1 or _VALUES[word].isdigit()):
            out, times = out + _VALUES[word] * times, 1
        elif times == 1 and (written(word) or word.isdecimal()) and word.isascii():
            out += word.upper()
        else:
            return None
    return out if out and times == 1 else None


def written(word: str) -> bool:
    """Whether `word` is figures with letters or marks as they are written ("K40-7-030"), not a plain number or word."""
    plain = re.fullmatch(r"[0-9]*\.?[0-9]+|[^0-9]*", word) is not None
    return not plain and word.isascii() and _CODE.fullmatch(word) is not None


def read_back(text: str) -> str:
    """The number for the voice, with a breath between its parts: "kilo four zero, dash, seven, dash, zero three zero".

    Runs of letters and of figures stay together, long ones in threes with a last group of two to four. BayError as
    `spell`.
    """
    spell(text)
    groups: list[str] = []
    runs = _RUNS.findall(text.upper())
    for at, run in enumerate(runs):
        joined = bool(groups) and run.isdigit() and runs[at - 1].isalpha() and len(run) + len(runs[at - 1]) <= 4
        for n, piece in enumerate(_in_threes(run)):
            said = " ".join(spell(piece)).replace("x ray", "x-ray")
            if joined and n == 0:
                groups[-1] += f" {said}"
            else:
                groups.append(said)
    return ", ".join(groups)


def _in_threes(run: str) -> list[str]:
    pieces: list[str] = []
    while len(run) > 4:
        pieces.append(run[:3])
        run = run[3:]
    return [*pieces, run]
