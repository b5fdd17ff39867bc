"""A code on its way in: compared here and now, so that neither core, record, screen nor log ever holds one."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Final, Protocol

from bayvoice.dialogue.engine.asked import CodeAsked
from bayvoice.language.intents import Intent
from bayvoice.language.numbers import DIGITS

HIDDEN: Final = "***"
_FIGURES: Final = frozenset((*DIGITS, "oh", "double", "triple"))


class Door(Protocol):
    """What compares codes: the bay's record while somebody works, or people who are only given."""

    def verdict(self, who: str, code: str) -> str:
        """ "right", "wrong", or "wait 12": codes of `who`, a name or role, are not compared for 12 s yet."""
        ...


def shield(
    door: Door, pending: object, words: tuple[str, ...], intent: Intent | None
) -> tuple[tuple[str, ...], Intent | None]:
    """Words and intent without a code: its figures hidden, its slot what `door` says of it.

    Also of an utterance that was refused nothing is shown that may be a code. `pending`: the question that is open.
    """
    asked = pending if isinstance(pending, CodeAsked) else None
    naming = intent is not None and intent.name in ("sign", "name")
    signing = asked is not None or naming or any(word in words for word in ("sign", "code", "allowed"))
    if not signing:
        return words, intent
    hidden = tuple(HIDDEN if _figure(word) else word for word in words)
    code = intent.slot("code") if intent is not None else None
    if intent is None or code is None:
        return hidden, intent
    who = asked.who if asked is not None else intent.slot("who") or ""
    verdict = door.verdict(who, code)
    slots = tuple((key, verdict if key == "code" else value) for key, value in intent.slots)
    return hidden, replace(intent, slots=slots)


def _figure(word: str) -> bool:
    return word.lower() in _FIGURES or any(c.isdigit() for c in word)


def typed(text: str, pending: object) -> str:
    """A typed line with the figures of a code one by one, as they are said; a code may be typed without the word."""
    if isinstance(pending, CodeAsked) and re.fullmatch(r"\s*\d+\s*", text):
        text = f"code {text.strip()}"
    if not re.match(r"\s*(sign|code)\b", text, re.IGNORECASE):
        return text
    return re.sub(r"\d", lambda found: f" {DIGITS[int(found[0])]} ", text)
