"""A fact with its codes put into words, as a report prints them; older facts are read as today's first."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import cache
from typing import Any, Final

from bayvoice.errors import BayError
from bayvoice.job.facts import Fact, upward
from bayvoice.language.wording import Wording


@cache
def wording() -> Wording:
    """The sentences of the language a report is written in."""
    return Wording()


def reason_words(code: str) -> str:
    """Why a guard was passed; a procedure's own reason as it stands."""
    return wording().get(f"reason_{code}", code)


def means_words(code: str) -> str:
    """What was searched with."""
    return wording().get(f"means_{code}", code)


def plain(code: str) -> str:
    """A code that is English with spaces in it."""
    return code.replace("_", " ")


def signed_words(how: str) -> str:
    """How a sign was given."""
    return {"typed": "typed", "key": "by key", "keys": "typed"}.get(how, how)


LEFT: Final = {
    "recording_ended": "the recording has ended",
    "typing_ended": "the typed words have ended",
    "left_by_key": "left by key",
    "screen_closed": "the screen was closed",
}
"""Why a sitting ended, in words."""

_WORDS: Final[Mapping[str, Mapping[str, Callable[[str], str]]]] = {
    "sitting_left": {"why": lambda code: LEFT.get(code, code)},
    "step_done": {"reason": reason_words},
    "overridden": {"reason": reason_words},
    "wait_ended": {"verdict": plain, "reason": lambda code: plain(reason_words(code))},
    "batch": {"state": plain},
    "gauge_used": {"state": plain},
    "ambient": {"source": plain},
    "searched": {"how": means_words},
}


def worded(fact: Fact) -> Fact:
    """`fact` with words for its codes. Lenient: what is no code stays as it is."""
    body = _body(fact)
    for key, words in _WORDS.get(fact.kind, {}).items():
        if isinstance(value := body.get(key), str):
            body[key] = words(value)
    if fact.kind == "trouble":
        body["what"] = trouble_words(body)
    return replace(fact, body=body)


def _body(fact: Fact) -> dict[str, Any]:
    return upward(fact.kind, fact.body)


def trouble_words(body: Mapping[str, Any]) -> str:
    """What failed, in a sentence without its full stop; the system's own words where there are any."""
    what = str(body.get("what") or "")
    if what == "wrong_codes":
        return f"{body.get('n')} wrong codes in a row where the {body.get('name')} signs"
    if what == "note_lost":
        return "the sound of a note never came from the microphone"
    return str(body.get("detail") or plain(what))


def told_words(line: object) -> str:
    """A sentence that was told: a text before format 3, since then what the wording makes it of."""
    if not isinstance(line, Mapping):
        return str(line)
    fields = {str(key): value for key, value in line.items() if key != "key"}
    try:
        return wording().text(str(line.get("key")), **fields)
    except (BayError, ValueError, IndexError):
        # A later version's sentence.
        return " ".join(str(value) for value in line.values())
