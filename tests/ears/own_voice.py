"""The product's own voice as its microphone gets it, and people who say stop into it."""

from __future__ import annotations

from typing import Final

import numpy as np
import soxr

from bayvoice.dialogue.steps.together import BEAT_S
from bayvoice.voice.beat import on_the_beat
from bayvoice.voice.render import SpokenVoice
from tests.material import PEOPLE, judging, read
from tests.noises import RATE, Sound, active_power

COUNT: Final = "three, two, one, now"


VOICE: Final = 0.05
"""Root of the active power of the technician's voice, full scale 1."""


def scaled(sound: Sound, level_db: float) -> Sound:
    """`sound` at `level_db` over the technician's voice."""
    return np.asarray(sound * (VOICE * 10 ** (level_db / 20) / np.sqrt(active_power(sound))), np.float32)


def said(voice: SpokenVoice, text: str) -> Sound:
    """The product's voice at 16 kHz."""
    sound = voice.render(text)
    return np.asarray(soxr.resample(sound.samples, sound.rate, RATE), np.float32)


def counted(voice: SpokenVoice) -> Sound:
    """`COUNT` at 16 kHz, as it is said on the beat."""
    sound = on_the_beat([voice.render(word) for word in COUNT.split(", ")], BEAT_S)
    return np.asarray(soxr.resample(sound.samples, sound.rate, RATE), np.float32)


def stops(people: int, half: str) -> list[Sound]:
    """People who say it, of one half of the speakers."""
    files = sorted((PEOPLE / "words" / "stop").glob("*.wav"))
    return [read(path) for path in [p for p in files if judging(p.name) is (half == "judging")][:people]]
