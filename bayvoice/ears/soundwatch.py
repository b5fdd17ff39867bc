"""Whether the sound can be heard in at all: a bay too loud for speech, a microphone that gives silence."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from typing import Final

import numpy as np

from bayvoice.language.texts import tell

LOUD_DB: Final = -20.0
"""Level of the bay, dB of full scale, that is too loud while it is not known how loud its people speak.

Speech is nominally recorded at an active level of -26 dB (ITU-T P.830, from memory); raised, it gains some 6.
"""
LOUD_BELOW_VOICE_DB: Final = -3.0
"""A bay is too loud from so many dB over the voice on (negative: below it). One word in four is lost at 0 dB."""
CLIPPED: Final = 0.1
"""Share of samples at full scale at which nothing can be made of the sound."""
LOUD_S: Final = 3.0
DEAD_S: Final = 10.0
DEAD_DB: Final = -100.0
"""Below the least step of 16 bits (-90 dB): no microphone in air is so quiet."""
AGAIN_S: Final = 60.0
"""The same trouble is not reported again within so many seconds."""

_MOST: Final = 0.8  # share of the frames of `LOUD_S` that must be loud: between blows a wrench is quiet
_FEW: Final = 0.4  # share below which the bay is quiet enough again
_ROOM_S: Final = 3.0


@dataclass(frozen=True, slots=True)
class SoundTrouble:
    """`part` ("noise" or "microphone") keeps the ears from hearing since about `at_s`; `what`, `mend` as sentences."""

    part: str
    what: str
    mend: str
    at_s: float


@dataclass(frozen=True, slots=True)
class SoundMended:
    """The trouble with `part` is over."""

    part: str
    at_s: float


SoundNews = SoundTrouble | SoundMended

_SAID: Final = {
    "noise": ("ears-trouble-noise", "ears-use-keys-or-come-closer"),
    "clipping": ("ears-trouble-clipping", "ears-turn-level-down"),
    "microphone": ("ears-trouble-microphone", "ears-check-switch-and-plug-or-use"),
}


class SoundWatch:
    """Told of every frame.

    Args:
        frame_s: length of a frame, seconds.
        recording: the sound is a recording. One put together from pieces is truly silent between them, so there
            silence counts only after the sound of a room was heard.
    """

    def __init__(self, frame_s: float, recording: bool = False) -> None:
        self._recording = recording
        self._frame_s = frame_s
        self._loud: deque[bool] = deque(maxlen=round(LOUD_S / frame_s))
        self._harsh: deque[bool] = deque(maxlen=round(LOUD_S / frame_s))
        self._silent_s = 0.0
        self._room_s = 0.0
        self._room = False
        self._voices: deque[float] = deque(maxlen=9)
        self._out: set[str] = set()
        self._told: dict[str, float] = {}

    def voice(self, level_db: float, noise_db: float) -> None:
        """A command was understood: so loud (noise included) do people speak here."""
        power = 10.0 ** (level_db / 10.0) - 10.0 ** (noise_db / 10.0)
        if power > 0:
            self._voices.append(float(10.0 * np.log10(power)))

    @property
    def limit_db(self) -> float:
        """Level from which the bay is too loud now, dB of full scale."""
        if len(self._voices) < 3:
            return LOUD_DB
        return float(np.median(self._voices)) + LOUD_BELOW_VOICE_DB

    def frame(self, level_db: float, clipped: float, speaking: bool, at_s: float) -> list[SoundNews]:
        """One frame: its level (dB of full scale), share of late samples at full scale, whether somebody speaks."""
        silent = level_db <= DEAD_DB
        self._silent_s = self._silent_s + self._frame_s if silent else 0.0
        self._room_s = 0.0 if silent else self._room_s + self._frame_s
        self._room = self._room or self._room_s >= _ROOM_S
        if not speaking:
            self._loud.append(level_db >= self.limit_db)
        self._harsh.append(clipped >= CLIPPED)
        news: list[SoundNews] = []
        self._decide(
            "microphone",
            "microphone",
            self._silent_s >= DEAD_S and (self._room or not self._recording),
            not silent,
            at_s,
            news,
        )
        harsh, loud = _share(self._harsh), _share(self._loud)
        cause = "clipping" if harsh >= _MOST else "noise"
        self._decide("noise", cause, max(harsh, loud) >= _MOST, max(harsh, loud) <= _FEW, at_s, news)
        return news

    def _decide(self, part: str, cause: str, bad: bool, good: bool, at_s: float, news: list[SoundNews]) -> None:
        if bad and part not in self._out and at_s - self._told.get(part, -AGAIN_S) >= AGAIN_S:
            self._out.add(part)
            self._told[part] = at_s
            what, mend = _SAID[cause]
            news.append(SoundTrouble(part, tell(what), tell(mend), at_s))
        elif good and part in self._out:
            self._out.discard(part)
            news.append(SoundMended(part, at_s))


def _share(marks: deque[bool]) -> float:
    """Share of true marks, 0 until there are enough of them."""
    return sum(marks) / len(marks) if len(marks) == marks.maxlen else 0.0
