"""The product's own voice: pyttsx3 in a process that can be killed and replaced."""

from __future__ import annotations

import contextlib
import json
import os
import select
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bayvoice.errors import BayError
from bayvoice.language.saying import speakable
from bayvoice.language.texts import tell
from bayvoice.voice.base import Sound
from bayvoice.voice.sentences import join, sentences, trim

START_S = 15.0
"""How long a fresh worker may take before its first answer, seconds: a cold disk, not a slow library."""

ANSWER_S = 3.0
"""How long one sentence may take, seconds; usual is 0.01 to 0.05."""

CACHED_S = 300.0
"""How much rendered sound is kept, seconds (16 bit at 22,050 Hz: 13 MB)."""

_MEND = "voice-check-installation-of-pyttsx-3"


class _GoneError(Exception):
    """The worker has ended, or did not answer in time."""


class _RefusedError(Exception):
    """The worker works but will not do this."""


class _Worker:
    """One rendering process. Starting it does not wait for it."""

    def __init__(self, log: Path | None, command: Callable[[Path], list[str]]) -> None:
        self._folder = Path(tempfile.mkdtemp(prefix="bayvoice-"))
        home = str(Path(__file__).resolve().parents[2])
        env = os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, (home, os.environ.get("PYTHONPATH"))))}
        try:
            with (log or Path(os.devnull)).open("ab") as errors:
                # A session of its own: Ctrl-C at the terminal is for the product, which then closes the pipe.
                self._process = subprocess.Popen(
                    command(self._folder),
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    stderr=errors,
                    env=env,
                    bufsize=0,
                    start_new_session=True,
                )
        except OSError:
            shutil.rmtree(self._folder, ignore_errors=True)
            raise
        self._ready = False
        self._pending = bytearray()

    @property
    def pid(self) -> int:
        return self._process.pid

    def _more(self, until: float) -> None:
        pipe = self._process.stdout
        assert pipe is not None
        readable, _, _ = select.select([pipe], [], [], max(0.0, until - time.monotonic()))
        if not readable:
            raise _GoneError(tell("voice-did-not-answer-in-time"))
        block = os.read(pipe.fileno(), 1 << 16)
        if not block:
            raise _GoneError(tell("voice-ended"))
        self._pending += block

    def _answer(self, within: float) -> tuple[int, bytes]:
        until = time.monotonic() + within
        while (cut := self._pending.find(b"\n")) < 0:
            self._more(until)
        head: dict[str, Any] = json.loads(self._pending[:cut])
        del self._pending[: cut + 1]
        if not head["ok"]:
            raise (_GoneError if head["over"] else _RefusedError)(head["error"])
        size = int(head["bytes"])
        while len(self._pending) < size:
            self._more(until)
        body = bytes(self._pending[:size])
        del self._pending[:size]
        return int(head["rate"]), body

    def ask(self, request: dict[str, Any], within: float) -> tuple[int, bytes]:
        """Rate in Hz and 16-bit samples. Raises `_GoneError` or `_RefusedError` with the reason as text."""
        try:
            if not self._ready:
                self._answer(START_S)
                self._ready = True
            assert self._process.stdin is not None
            self._process.stdin.write(json.dumps(request).encode() + b"\n")
            return self._answer(within)
        except (OSError, ValueError) as error:  # the pipe broke, was closed, or carried something else than an answer
            raise _GoneError(str(error) or tell("voice-pipe-broke")) from None

    def kill(self) -> None:
        """End it now, whatever it is doing; who waits for an answer gets `_GoneError`."""
        self._process.kill()

    def clear(self) -> None:
        """End it and clear up after it. Not while another thread is in `ask`."""
        self._process.kill()
        self._process.wait()
        for pipe in (self._process.stdin, self._process.stdout):
            if pipe is not None:
                with contextlib.suppress(OSError):
                    pipe.close()
        shutil.rmtree(self._folder, ignore_errors=True)


def _command(folder: Path) -> list[str]:
    # -P: a file in the working folder must not stand in for a library.
    return [sys.executable, "-P", "-m", "bayvoice.voice.worker", str(folder)]


class SpokenVoice:
    """pyttsx3 with espeak-ng, rendered in a child process sentence by sentence. Safe to call from any thread.

    The process is started at once and without waiting; the first `render` waits for it.

    Args:
        rate: speed, words a minute.
        voice: espeak-ng voice id ("gmw/en", "gmw/en-us", "gmw/en-gb-x-rp" …).
        volume: 0..1.
        log: file that gets what the libraries print; None throws it away.
        answer_s: seconds one sentence may take before the process is taken for hung.
        command: what to run as worker, given its temporary folder; for tests of a worker that fails.
    """

    name = "pyttsx3"

    def __init__(
        self,
        rate: int = 165,
        voice: str = "gmw/en",
        volume: float = 1.0,
        log: Path | None = None,
        answer_s: float = ANSWER_S,
        command: Callable[[Path], list[str]] = _command,
    ) -> None:
        if not 80 <= rate <= 450:
            raise BayError(
                tell("voice-speech-rate-of-words-minute", rate=rate),
                tell("voice-voice"),
                tell("voice-choose-80-to-450"),
            )
        if not 0.0 <= volume <= 1.0:
            raise BayError(
                tell("voice-volume-of-is-out-range", volume=volume), tell("voice-voice"), tell("voice-choose-0-to-1")
            )
        self._settings = {"rate": rate, "voice": voice, "volume": volume}
        self._log, self._answer_s, self._command = log, answer_s, command
        self._lock = threading.Lock()
        self._closed = False
        self._cache: OrderedDict[str, tuple[int, NDArray[np.int16]]] = OrderedDict()
        self._cached_s = 0.0
        self._worker: _Worker | None = self._start()

    @property
    def worker_pid(self) -> int | None:
        """Process id of the worker, None while there is none."""
        worker = self._worker
        return None if worker is None else worker.pid

    def _start(self) -> _Worker:
        try:
            return _Worker(self._log, self._command)
        except OSError as error:
            raise BayError(
                tell("voice-voice-could-not-be-started", strerror=error.strerror), tell("voice-voice"), tell(_MEND)
            ) from None

    def _replace(self) -> None:
        if self._worker is not None:
            self._worker.clear()
        self._worker = None

    def _ask(self, sentence: str) -> tuple[int, bytes]:
        """Render with one retry on a fresh worker."""
        why = ""
        for _ in range(2):
            if self._closed:
                raise BayError(tell("voice-voice-has-been-closed"), tell("voice-voice"))
            if self._worker is None:
                self._worker = self._start()
            try:
                return self._worker.ask({"text": sentence, **self._settings}, self._answer_s)
            except _RefusedError as error:
                mend = tell("voice-choose-another-such-as-gmw")
                raise BayError(
                    tell("voice-voice-cannot-be-used-error", error=error), tell("voice-voice"), mend
                ) from None
            except _GoneError as error:
                why = str(error)
                self._replace()
        raise BayError(tell("voice-voice-does-not-work-why", why=why), tell("voice-voice"), tell(_MEND))

    def _piece(self, sentence: str) -> tuple[int, NDArray[np.int16]]:
        with self._lock:
            if (found := self._cache.get(sentence)) is not None:
                self._cache.move_to_end(sentence)
                return found
            hz, body = self._ask(sentence)
            if hz <= 0:
                raise BayError(tell("voice-voice-answered-without-sound"), tell("voice-voice"), tell(_MEND))
            made = hz, np.frombuffer(body, "<i2").astype(np.int16)
            self._cache[sentence] = made
            self._cached_s += len(made[1]) / hz
            while self._cached_s > CACHED_S and len(self._cache) > 1:
                _, (old_hz, old) = self._cache.popitem(last=False)
                self._cached_s -= len(old) / old_hz
            return made

    def render(self, text: str) -> Sound:
        """The sound of `text`, numbers and units said as `bayvoice.language.saying.speakable` words them.

        Mono at 22,050 Hz. A text in which nothing can be said gives a sound of no length.
        Raises `BayError` when the voice does not work, twice in a row.
        """
        rate, parts = 22_050, []
        for sentence in sentences(speakable(text)):
            rate, samples = self._piece(sentence)
            parts.append(trim(samples.astype(np.float32) / 32_768.0, rate))
        return Sound(rate, join(parts, rate))

    def prewarm(self, *texts: str) -> None:
        """Render `texts` into the cache in the background, so that saying them later costs nothing.

        Without texts a word is rendered, which waits for the worker to be ready. Comes back at once. What fails here
        is not told: it fails again, and is told, when it is needed.
        """

        def work() -> None:
            for text in texts or ("ready",):
                with contextlib.suppress(BayError):
                    self.render(text)

        threading.Thread(target=work, name="voice-prewarm", daemon=True).start()

    def close(self) -> None:
        """End the worker, also in the middle of a sentence; the caller of that `render` gets a `BayError`."""
        self._closed = True
        if (worker := self._worker) is not None:
            worker.kill()
        with self._lock:
            self._replace()
