"""How loud a bay is and whether people talk in it, and which mode of the address word that calls for."""

from __future__ import annotations

import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from bayvoice.ears.base import RATE, Samples
from bayvoice.ears.capture import Microphone
from bayvoice.ears.capture import Sound as MicSound
from bayvoice.ears.front import FRAME, FrontEnd, UtteranceEnded
from bayvoice.ears.soundwatch import DEAD_DB, LOUD_DB
from bayvoice.errors import BayError
from bayvoice.language.address import AddressMode
from bayvoice.language.texts import tell

LISTEN_S: Final = 3.0
"""How long the bay is listened to, seconds."""
QUIET_DB: Final = -46.0
"""Up to this level, dB of full scale, a voice of usual level (-26 dB) stands 20 dB over the bay: the best recognition
and no other voice that carries."""
TALK: Final = 0.1
"""Share of the time somebody may be heard to talk before the address word is called for."""
MUCH_TALK: Final = 0.5
"""Share from which on it is called for before everything: other bays, a radio that does not stop."""


@dataclass(frozen=True, slots=True)
class BayNoise:
    """What was measured.

    Attributes:
        level_db: level of the bay without its voices, dB of full scale (median of frames of 32 ms).
        talk: share of the time in which somebody talked, 0..1.
        clipped: share of samples at full scale, 0..1.
    """

    level_db: float
    talk: float
    clipped: float

    @property
    def mode(self) -> AddressMode:
        """The mode this bay calls for."""
        if self.talk >= MUCH_TALK:
            return AddressMode.ALWAYS
        return AddressMode.NEVER if self.talk < TALK and self.level_db <= QUIET_DB else AddressMode.GUARDED

    def sentence(self) -> str:
        """For people, with what to do. BayError where nothing can be heard in this bay."""
        if self.level_db <= DEAD_DB and not self.talk:
            raise BayError(tell("ears-microphone-gives-no-sound"), "", tell("ears-check-switch-and-plug"))
        if self.level_db >= LOUD_DB:
            raise BayError(
                tell("ears-bay-is-too-loud-to-hear", level_db=f"{self.level_db:.0f}"),
                "",
                tell("ears-bring-microphone-closer-to-mouth"),
            )
        key = "ears-bay-with-talk" if self.talk >= TALK else "ears-bay-without-talk"
        return tell(key, level_db=f"{self.level_db:.0f}", mode=self.mode.value)


def measure(sound: Iterable[Samples]) -> BayNoise:
    """Listen to `sound`, 16 kHz, up to `LISTEN_S` of it."""
    front = FrontEnd()
    levels: list[float] = []
    voices: list[tuple[float, float]] = []
    clips = taken = 0
    for block in sound:
        for start in range(0, len(block), FRAME):
            piece = block[start : start + FRAME]
            clips, taken = clips + int(np.count_nonzero(np.abs(piece) >= 0.999)), taken + len(piece)
            before = front.frames
            voices += [(e.began_s, e.ended_s) for e in front.feed(piece) if isinstance(e, UtteranceEnded)]
            if front.frames > before and not front.speaking:
                levels.append(front.level_db)
        if taken >= LISTEN_S * RATE:
            break
    voices += [(e.began_s, e.ended_s) for e in front.flush() if isinstance(e, UtteranceEnded)]
    if not taken:
        raise BayError(tell("ears-microphone-gives-no-sound"), "", tell("ears-check-switch-and-plug"))
    level_db = float(np.median(levels)) if levels else front.noise_db
    return BayNoise(level_db, min(1.0, sum(e - b for b, e in voices) * RATE / taken), clips / taken)


def from_microphone(log: Path | None = None) -> Iterator[Samples]:
    """Sound of the system's microphone as it comes, `LISTEN_S` of it or as much as comes within twice that."""
    microphone = Microphone(log=log)
    until = time.monotonic() + 2 * LISTEN_S
    try:
        while time.monotonic() < until:
            got = microphone.read()
            if isinstance(got, MicSound):
                yield got.samples
    finally:
        microphone.close()
