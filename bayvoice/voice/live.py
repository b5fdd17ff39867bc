"""The loudspeaker of the bay, by sounddevice."""

from __future__ import annotations

import contextlib
import queue
import threading
import time
from collections import deque
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from bayvoice.errors import BayError
from bayvoice.host.nativelog import native_output_to
from bayvoice.language.texts import tell
from bayvoice.voice.base import Sound
from bayvoice.voice.mixer import Mark, Mixer, fit
from bayvoice.voice.player import Note, Tell

LATENCY_S = 0.04
"""Sound buffered ahead in the device, seconds: what lies between hush and silence, and what a busy computer has in
hand before it stutters."""

LOST_S = 2.0
"""A device that has asked for nothing that long is taken for lost, seconds."""

RETRY_S = 5.0
"""Time between two attempts to open a lost device, seconds."""

_MEND = "voice-check-cable-and-sound-settings"


def _sounddevice() -> Any:
    try:
        import sounddevice
    except OSError:  # what it raises where the C library is missing
        mend = tell("voice-install-portaudio-debian-apt-libportaudio")
        raise BayError(tell("voice-no-sound-can-be-played"), tell("voice-loudspeaker"), mend) from None
    return sounddevice


def loudspeakers() -> tuple[str, ...]:
    """Names of the devices sound can be played on, the default one first. `BayError` without PortAudio."""
    with native_output_to(None):
        sd = _sounddevice()
    try:
        devices = [d for d in sd.query_devices() if d["max_output_channels"] > 0]
        default = sd.query_devices(kind="output")["name"] if devices else ""
    except (sd.PortAudioError, ValueError) as error:
        raise BayError(
            tell("voice-loudspeakers-cannot-be-listed-error", error=_reason(error)),
            tell("voice-loudspeaker"),
            tell(_MEND),
        ) from None
    return tuple(sorted((str(d["name"]) for d in devices), key=lambda name: name != default))


def _reason(error: Exception) -> str:
    return str(error.args[0] if error.args else type(error).__name__).splitlines()[0].rstrip(".")


class LivePlayer:
    """Plays through a device; see `bayvoice.voice.player.Player`.

    The device's own thread only mixes; a thread of ours tells the notes, each when it is heard. `inform` must be safe
    to call from there and must not block. When the device fails, that is told as trouble, everything queued is told of
    as cut, and so is whatever is said from then on, at once: speech is only shown then. The device is tried again every
    `RETRY_S`; that it is back is told as "mended".

    Args:
        inform: gets every `Note`.
        clock: mono seconds, the hub's own clock.
        device: part of a device's name, or its number; None for the system's default.
        log: file that gets what native libraries print while the device is opened; None throws it away.

    Raises `BayError` when no device can be opened.
    """

    def __init__(
        self,
        inform: Tell,
        clock: Callable[[], float] = time.monotonic,
        device: str | int | None = None,
        log: Path | None = None,
    ) -> None:
        with native_output_to(log):
            self._sd = _sounddevice()
        self._tell, self._clock, self._device = inform, clock, device
        self._lock = threading.Lock()
        self._mixer = Mixer(48_000)
        self._stream: Any = None
        self._ended = threading.Event()  # the device's thread has gone
        self._beat = 0.0
        self._failed = False
        self._closed = False
        self._notes: queue.SimpleQueue[Note | None] = queue.SimpleQueue()
        self.underruns = 0
        """How often the device ran dry since the start."""
        # Only here: the redirection is the whole process's, and later the microphone may be doing the same.
        with native_output_to(log):
            self._open()
        self._teller = threading.Thread(target=self._run, name="loudspeaker", daemon=True)
        self._teller.start()

    # -- the device

    def _open(self) -> None:
        sd = self._sd
        try:
            about = sd.query_devices(self._device, "output")
            rate = int(about["default_samplerate"])
            with self._lock:
                self._mixer = Mixer(rate)
            ended = threading.Event()
            stream = sd.OutputStream(
                samplerate=rate,
                device=self._device,
                channels=min(2, int(about["max_output_channels"])),
                dtype="float32",
                latency=LATENCY_S,
                callback=self._fill,
                finished_callback=ended.set,
            )
            self._beat = time.monotonic()
            stream.start()
        except (sd.PortAudioError, ValueError, KeyError) as error:
            where = "loudspeaker" if self._device is None else tell("voice-loudspeaker-device", device=self._device)
            raise BayError(
                tell("voice-no-sound-can-be-played-error", error=_reason(error)), where, tell(_MEND)
            ) from None
        self._stream, self._ended = stream, ended

    def _fill(self, out: Any, frames: int, info: Any, status: Any) -> None:
        """Called by the device's thread for the next `frames` samples."""
        if status.output_underflow:
            self.underruns += 1
        self._beat = time.monotonic()
        # Some drivers give no sensible times; a delay outside this range is one of those.
        delay = min(0.5, max(0.0, info.outputBufferDacTime - info.currentTime))
        heard = self._clock() + delay
        with self._lock:
            first, rate = self._mixer.at, self._mixer.rate
            block, marks = self._mixer.pull(frames)
        out[:] = block[:, np.newaxis]
        for mark in marks:
            self._notes.put(Note(mark.kind, heard + max(0, mark.at - first) / rate, mark.uid))

    # -- the thread that tells

    def _run(self) -> None:
        waiting: deque[Note] = deque()
        retry_at = 0.0
        while True:
            pause = 0.2
            if waiting:
                pause = min(pause, max(0.0, waiting[0].at - self._clock()))
            with contextlib.suppress(queue.Empty):
                note = self._notes.get(timeout=pause) if pause else self._notes.get_nowait()
                if note is None:
                    for late in waiting:
                        self._tell(late)
                    return
                waiting.append(note)
            while waiting and (waiting[0].at <= self._clock() or self._failed):
                self._tell(waiting.popleft())
            if self._failed:
                if time.monotonic() >= retry_at:
                    retry_at = time.monotonic() + RETRY_S
                    self._retry()
            elif not self._closed and (self._ended.is_set() or time.monotonic() - self._beat > LOST_S):
                self._fail()
                retry_at = time.monotonic() + RETRY_S

    def _fail(self) -> None:
        now = self._clock()
        self._tell(Note("trouble", now, what=tell("voice-loudspeaker-has-stopped-taking-sound"), mend=tell(_MEND)))
        with self._lock:
            self._failed = True
            self._mixer.hush()
            marks = self._mixer.pull(0)[1]
        self._cut(marks, now)
        # A lost device may never come back from this.
        threading.Thread(target=self._drop, args=(self._stream,), daemon=True).start()

    def _cut(self, marks: tuple[Mark, ...], now: float) -> None:
        for mark in marks:
            self._tell(Note(mark.kind, now, mark.uid))

    def _drop(self, stream: Any) -> None:
        with contextlib.suppress(self._sd.PortAudioError):
            stream.abort()
            stream.close()

    def _retry(self) -> None:
        try:
            self._open()
        except BayError:
            return
        self._failed = False
        self._tell(Note("mended", self._clock()))

    # -- what the hub calls

    def say(self, uid: int, sound: Sound, at: float = 0.0, urgent: bool = False, rank: int = 0) -> None:
        """As `Player.say`; `at` is not needed."""
        samples = fit(sound, self._mixer.rate)
        with self._lock:
            if urgent:
                self._mixer.hush()
            if not self._failed and not self._closed:
                self._mixer.say(uid, samples, rank)
                return
        self._notes.put(Note("cut", self._clock(), uid))

    def ring(self, sound: Sound, at: float = 0.0, rank: int = 0) -> None:
        """As `Player.ring`."""
        samples = fit(sound, self._mixer.rate)
        with self._lock:
            if not self._failed:
                self._mixer.ring(samples, rank)

    def hush(self, at: float = 0.0) -> None:
        """As `Player.hush`; silent at the loudspeaker within `LATENCY_S` and a block."""
        with self._lock:
            self._mixer.hush()

    def advance(self, to: float) -> None:
        """Nothing: real time needs no help."""

    def next_at(self) -> float | None:
        """None: it will be told when it happens."""
        return None

    @property
    def sounding(self) -> bool:
        """Speech or a burst is on its way to the loudspeaker."""
        with self._lock:
            return self._mixer.sounding

    def close(self) -> None:
        """End at once; what is still queued is told of as cut. Takes at most two seconds."""
        if self._closed:
            return
        self._closed = True
        with self._lock:
            self._mixer.hush()
            marks = self._mixer.pull(0)[1]
        for mark in marks:
            self._notes.put(Note(mark.kind, self._clock(), mark.uid))
        dropper = threading.Thread(target=self._drop, args=(self._stream,), daemon=True)
        dropper.start()
        dropper.join(1.0)
        self._notes.put(None)
        self._teller.join(1.0)
