"""When the loudspeaker is talking, as far as the core knows, and what was said across it."""

from __future__ import annotations

from typing import Final

from bayvoice.dialogue.engine.events import Heard, SpeechBegan, Spoken, Woke
from bayvoice.dialogue.engine.state import Talk
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.language.intents import GUARDED

WATCHDOG_BASE, WATCHDOG_PER_CHARACTER = 20.0, 0.25
"""Seconds after which speech counts as over though nobody said so: a lost message must not leave the bay deaf."""
WATCHDOG: Final = "voice"
"""What the key of the watchdog's wake-up begins with."""


def overlapped(talk: Talk, tail: float, event: Heard) -> bool:
    """Whether any of an utterance was said while the product was speaking, or within `tail` seconds after."""
    return event.ended > talk.began and (talk.ended is None or event.began < talk.ended + tail)


def stale(event: Heard, mode: str, asked: float, means: bool) -> bool:
    """Whether an utterance with a meaning answers something else than what is asked now.

    Two rules, and none of them is for intents that only ask for speech, end it or pause (those not in
    `intents.GUARDED`), as long as they can be said here at all: they are the same thing everywhere.

    * Matched in another dialogue state (`event.state`): it answered that one, whenever it was spoken. This covers what
      was spoken before the question and what was still matched with the old grammar after it.
    * Matched in this dialogue state, or nobody knows where: it counts only if it began after the question was put. This
      covers two questions of the same state in a row, where the state cannot tell them apart: a yes to the first,
      decoded late, is none to the second.

    Args:
        mode: the dialogue state now.
        asked: mono time at which the present question was put.
        means: the intent has a meaning in `mode`.
    """
    assert event.intent is not None, "an utterance without a meaning answers nothing"
    guarded = event.intent.name in GUARDED
    if event.state not in ("", mode):
        return guarded or not means
    return guarded and event.began < asked


def speech_began(turn: Turn, event: SpeechBegan) -> None:
    """The loudspeaker begins an utterance."""
    talk = turn.state.talk
    if event.uid not in talk.queued:
        return
    began = talk.began if talk.ended is None else turn.at.mono
    turn.put(talk=Talk(talk.queued, began, None))
    patience = WATCHDOG_BASE + WATCHDOG_PER_CHARACTER * len(turn.state.last_said) * max(1, len(talk.queued))
    turn.wake(f"{WATCHDOG}:{patience:.3f}", turn.at.mono + patience)


def spoken(turn: Turn, event: Spoken) -> None:
    """The loudspeaker has ended an utterance."""
    talk = turn.state.talk
    if event.uid not in talk.queued:
        return
    queued = talk.queued - {event.uid}
    held = {say.uid for _, say in turn.state.held}
    over = not (queued - held)
    turn.put(talk=Talk(queued, talk.began, turn.at.mono if over else talk.ended))


def watchdog(turn: Turn, event: Woke) -> None:
    """The watchdog has come: speech that never ended is over."""
    what, _, patience = event.key.partition(":")
    talk = turn.state.talk
    if what == WATCHDOG and talk.ended is None and talk.began <= event.due - float(patience):
        turn.put(talk=Talk(frozenset(), talk.began, turn.at.mono))
