"""From written phrases and figures to the words that are said."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from bayvoice.errors import BayError
from bayvoice.language import numbers, spelling, units
from bayvoice.language.texts import tell

_PIECES: Final = re.compile(r"[0-9]+(?:\.[0-9]+)?|[^\W\d_]+(?:'[^\W\d_]+)*'?|\S")
_SILENT: Final = frozenset('-–—/,.;:()"')
_SPEAKABLE: Final = re.compile(r"[^\W\d_]+(?:'[^\W\d_]+)*'?")


def speakable(word: str) -> bool:
    """Whether `word` is something a person can say: letters, apostrophes inside or at the end."""
    return _SPEAKABLE.fullmatch(word) is not None


def spoken_form(phrase: str, where: str) -> tuple[str, ...]:
    """A phrase of a procedure as the words to be heard.

    Lower case; punctuation is passed over, figures are written out, also inside a word: "M8 cover-bolt" is
    "m eight cover bolt".

    Args:
        phrase: the phrase as written.
        where: what it belongs to, for messages.

    Raises:
        BayError: something in it cannot be spoken as it stands.
    """
    pieces = [piece for piece in _PIECES.findall(phrase.replace("’", "'")) if piece not in _SILENT]
    words = as_said(pieces)
    for word in words:
        if not speakable(word):
            raise BayError(
                tell("language-word-in-phrase-cannot-be-spoken", word=word, phrase=phrase),
                where,
                tell("language-write-in-letters-as-is-said"),
            )
    if not words:
        raise BayError(tell("language-phrase-has-no-words"), where, tell("language-write-words-or-leave-phrase"))
    return words


def as_said(words: Sequence[str]) -> tuple[str, ...]:
    """Lower-case words, with figures, a unit's symbol right after them, and part numbers ("K40-7") put into words."""
    said: list[str] = []
    after_figures = False
    for word in words:
        value = numbers.value_of((word,)) if word[-1:].isdigit() else None
        code = units.by_sign(word) if after_figures else None
        after_figures = value is not None and abs(value) < numbers.LIMIT
        if value is not None and after_figures:
            said += numbers.to_words(value).split()
        elif spelling.written(word):
            said += spelling.spell(word)
        else:
            said += units.spoken(code).split() if code else [word.lower()]
    return tuple(said)


def as_spelt(words: Sequence[str]) -> tuple[str, ...]:
    """Like `as_said`, with figures one by one, as in a part number."""
    said: list[str] = []
    for word in words:
        figures = word.isascii() and (word.isdecimal() or spelling.written(word))
        said += spelling.spell(word) if figures else [word.lower()]
    return tuple(said)


def plural(words: Sequence[str]) -> tuple[str, ...]:
    """The English plural of a thing, made at its last word; words that end in "s" stay as they are."""
    *head, last = words
    if last.endswith("s") and not last.endswith("ss"):
        return tuple(words)
    if last.endswith(("ss", "x", "z", "ch", "sh")):
        return (*head, f"{last}es")
    if last.endswith("y") and last[-2:-1] not in "aeiou":
        return (*head, f"{last[:-1]}ies")
    return (*head, f"{last}s")
