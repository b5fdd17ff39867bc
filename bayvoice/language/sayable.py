"""What can be said in a dialogue state, in short forms for people to read: made from the grammar, so it is never wrong.

``[…]`` may be left out, ``a / b`` is one of the two, and a word in capitals stands for what has to be filled in.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from bayvoice.language import jsgf
from bayvoice.language.intents import NAMES
from bayvoice.language.jsgf import Alternatives, Expansion, Ref, Repeat, Tagged, Token
from bayvoice.language.linking import Linked

BLANKS: Final = {
    "numbers.value": "NUMBER",
    "numbers.small": "COUNT",
    "numbers.code": "CODE",
    "units.unit": "UNIT",
    "job.thing": "THING",
    "job.things": "THINGS",
    "job.measurement": "NAME OF THE VALUE",
    "job.person": "NAME",
    "common.reason": "REASON",
    "common.quantity": "NUMBER [UNIT]",
}
"""Rules too large to be written out, and what stands for them."""

MOST: Final = 4
"""How many forms of one intent are given; the rest only say the same in more words."""


@dataclass(frozen=True, slots=True)
class Sayable:
    """One intent and the short forms of what may be said for it, shortest first."""

    intent: str
    forms: tuple[str, ...]


def sayable(linked: Linked, body: Expansion) -> tuple[Sayable, ...]:
    """The intents of `body`, in the order of the grammar, each with at most `MOST` forms."""
    found: dict[str, dict[str, None]] = {}
    for intent, form in _forms(linked, body):
        if form:
            found.setdefault(intent, {})[form] = None
    return tuple(Sayable(intent, tuple(sorted(forms, key=len)[:MOST])) for intent, forms in found.items())


def _forms(linked: Linked, body: Expansion) -> Iterator[tuple[str, str]]:
    """(intent, form) of every alternative that has an intent."""
    if isinstance(body, Alternatives):
        for choice in body.choices:
            yield from _forms(linked, choice)
    elif isinstance(body, Ref) and body.name in linked.rules:
        yield from _forms(linked, linked.body(body.name))
    elif intent := _intent(linked, body):
        part = body.part if isinstance(body, Tagged) else body
        choices = part.choices if isinstance(part, Alternatives) else (part,)
        for choice in choices:
            form = _written(linked, choice)
            if form is not None:
                yield intent, form


def _intent(linked: Linked, body: Expansion) -> str:
    """The intent that is tagged in `body` itself or in a part of it, "" for none."""
    if isinstance(body, Tagged):
        return next((tag for tag in body.tags if tag in NAMES), "") or _intent(linked, body.part)
    if isinstance(body, jsgf.Sequence):
        return next(filter(None, (_intent(linked, part) for part in body.parts)), "")
    return ""


def _written(linked: Linked, body: Expansion) -> str | None:
    """`body` in words; None where nothing can be said because the procedure brings no phrases."""
    if isinstance(body, Token):
        return body.text.lower()
    if isinstance(body, Tagged):
        return _written(linked, body.part)
    if isinstance(body, Ref):
        if body.name in (jsgf.NULL, jsgf.VOID):
            return "" if body.name == jsgf.NULL else None
        inner = _written(linked, linked.body(body.name)) if body.name not in BLANKS or _void(linked, body) else ""
        return BLANKS[body.name] if inner is not None and body.name in BLANKS else inner
    if isinstance(body, Repeat):
        part = _written(linked, body.part)
        if part is None or not part:
            return None if body.least else ""
        return part if body.least else f"[{part}]"
    if isinstance(body, jsgf.Sequence):
        parts = [_written(linked, part) for part in body.parts]
        return None if None in parts else " ".join(part for part in parts if part)
    forms = dict.fromkeys(form for choice in body.choices if (form := _written(linked, choice)) is not None)
    return " / ".join(forms) if forms else None


def _void(linked: Linked, ref: Ref) -> bool:
    """Whether the procedure brings nothing for a rule it may fill."""
    body = linked.body(ref.name)
    return isinstance(body, Ref) and body.name == jsgf.VOID
