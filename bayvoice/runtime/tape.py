"""A recording in place of a microphone: the sample clock drives everything, waits too."""

from __future__ import annotations

import time
from collections.abc import Iterator
from typing import Protocol

from bayvoice.dialogue.engine.events import Left
from bayvoice.ears.base import RATE, Samples
from bayvoice.ears.listener import ListenerEvent, Utterance
from bayvoice.ears.soundwatch import SoundMended, SoundTrouble
from bayvoice.ears.tape import Tape
from bayvoice.host.clock import TapeClock
from bayvoice.runtime.hub import Hub
from bayvoice.runtime.intake import Intake
from bayvoice.runtime.listening import Listening

QUIET_END_S = 30.0
"""How long a sitting on a recording goes on after its end, at most, so that what is being said is said."""


class Recording(Protocol):
    """Sound in place of a microphone: 16 kHz mono float32 blocks."""

    def __iter__(self) -> Iterator[Samples]:
        """The blocks in order."""
        ...


class Onward:
    """A recording that goes on where it was left, so that choosing and the job share one."""

    def __init__(self, recording: Recording) -> None:
        self._blocks = iter(recording)

    def __iter__(self) -> Iterator[Samples]:
        """What was not yet heard."""
        return self._blocks


def wall_of(recording: Recording, last: float) -> float:
    """When a recording began, seconds since 1970 UTC: it ended when its file was last written.

    Never before `last`, the moment of the job's last fact.
    """
    if not isinstance(recording, Tape):
        return max(last, time.time())
    return max(last, recording.path.stat().st_mtime - recording.duration_s)


def play(recording: Recording, hub: Hub, listening: Listening, intake: Intake, clock: TapeClock) -> None:
    """Work through the recording on its own clock, then end the sitting. All in one thread."""

    def hand_on(events: list[ListenerEvent]) -> None:
        for event in events:
            if isinstance(event, Utterance):
                hub.take(intake.heard(event))
            elif isinstance(event, SoundTrouble | SoundMended):
                hub.take(intake.sound(event))

    at = 0.0
    for block in recording:
        at += len(block) / RATE
        clock.move(at)
        hub.advance(at)
        hand_on(listening.hear(block, at - len(block) / RATE))
        listening.keep(block)
        if hub.finished:
            return
    hand_on(listening.end())
    listening.flush()
    hub.drain()
    end = at + QUIET_END_S
    while at < end and (hub.player.sounding or hub.state.talk.queued):
        at += 0.02
        clock.move(at)
        hub.advance(at)
    hub.take(Left(clock.now(), "the recording has ended"))
