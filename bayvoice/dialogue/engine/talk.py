"""When the loudspeaker is talking, as far as the core knows, and what was said across it."""

from __future__ import annotations

from typing import Final

from bayvoice.dialogue.engine.events import Heard, SpeechBegan, Spoken, Woke
from bayvoice.dialogue.engine.state import Talk
from bayvoice.dialogue.engine.turn import Turn

WATCHDOG_BASE, WATCHDOG_PER_CHARACTER = 20.0, 0.25
"""Seconds after which speech counts as over though nobody said so: a lost message must not leave the bay deaf."""
WATCHDOG: Final = "voice"
"""What the key of the watchdog's wake-up begins with."""


def overlapped(talk: Talk, tail: float, event: Heard) -> bool:
    """Whether any of an utterance was said while the product was speaking, or within `tail` seconds after."""
    return event.ended > talk.began and (talk.ended is None or event.began < talk.ended + tail)


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
