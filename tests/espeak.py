"""Speech for tests by the espeak-ng library that pip brings, any of its languages, straight through its C interface.

Interface: espeak-ng's speak_lib.h (AUDIO_OUTPUT_SYNCHRONOUS = 2, espeakCHARS_UTF8 = 1, event type 0 ends the list).
"""

from __future__ import annotations

import ctypes
from functools import cache
from typing import Any

import espeakng_loader
import numpy as np
import soxr
from numpy.typing import NDArray

_CALLBACK = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.c_void_p)
_RATE = 1  # espeakRATE


@cache
def _library() -> tuple[Any, int, list[bytes], Any]:
    library = ctypes.CDLL(espeakng_loader.get_library_path())
    rate = library.espeak_Initialize(2, 0, espeakng_loader.get_data_path().encode(), 0)
    assert rate > 0, "espeak-ng found no data"
    pieces: list[bytes] = []

    def take(samples: Any, count: int, events: Any) -> int:
        if samples and count > 0:
            pieces.append(ctypes.string_at(samples, count * 2))
        return 0

    callback = _CALLBACK(take)
    library.espeak_SetSynthCallback(callback)
    return library, rate, pieces, callback


def say(text: str, voice: str = "en-us", words_per_minute: int = 140) -> NDArray[np.float32]:
    """`text` spoken by espeak-ng's `voice`: 16 kHz mono float32 with 0.3 s of silence before and 0.6 s after."""
    library, rate, pieces, _ = _library()
    pieces.clear()
    assert library.espeak_SetVoiceByName(voice.encode()) == 0, f"espeak-ng has no voice {voice}"
    library.espeak_SetParameter(_RATE, words_per_minute, 0)
    body = text.encode()
    assert library.espeak_Synth(body, len(body) + 1, 0, 0, 0, 1, None, None) == 0
    library.espeak_Synchronize()
    sound = np.frombuffer(b"".join(pieces), "<i2").astype(np.float32) / 32768
    spoken = np.asarray(soxr.resample(sound, rate, 16_000), np.float32)
    return np.concatenate([np.zeros(4_800, np.float32), spoken, np.zeros(9_600, np.float32)])
