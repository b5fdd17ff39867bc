"""The live microphone.

PortAudio calls back from a thread of its own, which must not wait for anything: the callback copies the sound into a
bounded queue and counts what did not fit. Everything else happens in the thread that calls `Microphone.read`.
"""

from __future__ import annotations

import contextlib
import math
import queue
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType
from typing import Any, Final

import numpy as np
import soxr

from bayvoice.ears.base import RATE, Samples
from bayvoice.errors import BayError
from bayvoice.host.nativelog import native_output_to
from bayvoice.language.texts import tell

SILENT_S: Final = 2.0
"""A microphone that has given no samples for so long, seconds, is in trouble."""

_QUEUE_S = 10.0  # sound the queue holds while nobody reads
_BLOCK_S = 0.02
_NO_LIBRARY_MEND: Final = "ears-install-portaudio-debian-libportaudio-2"
_NO_DEVICE_MEND: Final = "ears-plug-microphone-in-and-try"


@dataclass(frozen=True, slots=True)
class Device:
    """A microphone: number and name for `Microphone`, its own sample rate in Hz, and whether it is the default."""

    number: int
    name: str
    channels: int
    rate: int
    default: bool


@dataclass(frozen=True, slots=True)
class Sound:
    """What the microphone heard: 16 kHz mono float32, and the time of the first sample on the clock given."""

    samples: Samples
    at_s: float


@dataclass(frozen=True, slots=True)
class MicTrouble:
    """The microphone has stopped giving sound. `what` and `mend` as in `BayError`."""

    what: str
    mend: str


@dataclass(frozen=True, slots=True)
class MicBack:
    """The microphone gives sound again, after `out_s` seconds without."""

    out_s: float


def microphones(log: Path | None = None) -> tuple[Device, ...]:
    """The microphones PortAudio finds; none where there is no sound hardware.

    Args:
        log: file for what the native libraries print; by default nowhere.

    Raises:
        BayError: PortAudio is not installed.
    """
    with native_output_to(log):
        sd = _sounddevice()
        try:
            devices = list(sd.query_devices())
            standard = sd.default.device[0]
            if standard < 0:
                standard = sd.query_hostapis(sd.default.hostapi)["default_input_device"]
        except (sd.PortAudioError, ValueError, IndexError):
            return ()
    return tuple(
        Device(number, found["name"], found["max_input_channels"], int(found["default_samplerate"]), number == standard)
        for number, found in enumerate(devices)
        if found["max_input_channels"] > 0
    )


class Microphone:
    """One microphone, opened at its own sample rate and resampled to 16 kHz. One thread calls all of it.

    Args:
        device: number or part of the name of a device of `microphones`; by default the system's.
        clock: seconds; stamps the sound. It is also called from PortAudio's thread.
        log: file for what the native libraries print; by default nowhere.

    Raises:
        BayError: PortAudio is not installed, there is no microphone, or it cannot be opened.
    """

    def __init__(
        self,
        device: int | str | None = None,
        clock: Callable[[], float] = time.monotonic,
        log: Path | None = None,
    ) -> None:
        self._device, self._clock, self._log = device, clock, log
        self._queue: queue.Queue[tuple[Samples, float]] = queue.Queue(int(_QUEUE_S / _BLOCK_S))
        self._stream: Any = None
        self._resampler: Any = None
        self._rate = RATE
        self._heard_s = clock()  # when sound last came
        self._tried_s = self._heard_s
        self._out = False
        self._ended = False
        self._mending: threading.Thread | None = None
        self.overruns = 0
        """Blocks of sound lost so far, by the device or because nobody read in time."""
        self._open()

    @property
    def rate(self) -> int:
        """The device's own sample rate, Hz."""
        return self._rate

    def read(self, timeout_s: float = 0.1) -> Sound | MicTrouble | MicBack | None:
        """What comes next: sound, news of the microphone, or None when neither came within `timeout_s`.

        In trouble it is opened again every two seconds, so that plugging it in again is enough where the system
        keeps the device's name.
        """
        try:
            block, at_s = self._queue.get(timeout=timeout_s)
        except queue.Empty:
            return self._silent()
        out_s, self._heard_s = self._clock() - self._heard_s, self._clock()
        if self._out:
            self._out = False
            self._fresh_resampler()
            return MicBack(out_s)
        if self._resampler is None:
            return Sound(block, at_s)
        late_s = self._resampler.delay() / RATE
        samples = np.asarray(self._resampler.resample_chunk(block), np.float32)
        return Sound(samples, at_s - late_s) if len(samples) else None

    def close(self) -> None:
        """Stop listening. Does not wait for a device that hangs."""
        self._ended = True
        if self._mending is None or not self._mending.is_alive():
            self._shut()

    def _shut(self) -> None:
        stream, self._stream = self._stream, None
        if stream is not None:
            with native_output_to(self._log), contextlib.suppress(Exception):
                # A device that is gone may refuse even this, and nothing of it is needed any more.
                stream.close(ignore_errors=True)

    def _silent(self) -> MicTrouble | None:
        now = self._clock()
        if now - self._heard_s < SILENT_S:
            return None
        if not self._out:
            self._out = True
            self._tried_s = now
            return MicTrouble(
                tell("ears-no-sound-has-come-from-microphone", silent_s=f"{SILENT_S:g}"),
                tell("ears-check-plug-and-switch"),
            )
        if now - self._tried_s >= SILENT_S and (self._mending is None or not self._mending.is_alive()):
            self._tried_s = now
            self._mending = threading.Thread(target=self._mend, name="microphone", daemon=True)
            self._mending.start()
        return None

    def _mend(self) -> None:
        # In a thread of its own: a device or server that hangs also hangs whoever closes it.
        self._shut()
        if not self._ended:
            with contextlib.suppress(BayError):
                self._open()
            if self._ended:
                self._shut()

    def _open(self) -> None:
        with native_output_to(self._log):
            sd = _sounddevice()
            try:
                found = sd.query_devices(self._device, "input")
                self._rate = int(found["default_samplerate"])
                self._fresh_resampler()
                self._stream = sd.InputStream(
                    device=self._device,
                    channels=1,
                    samplerate=self._rate,
                    blocksize=math.ceil(self._rate * _BLOCK_S),
                    dtype="float32",
                    callback=self._take,
                )
                self._stream.start()
            except (sd.PortAudioError, ValueError) as fault:
                name = "" if self._device is None else str(self._device)
                if not _any_input(sd):
                    raise BayError(tell("ears-no-microphone"), name, tell(_NO_DEVICE_MEND)) from None
                reason = str(fault.args[0]) if fault.args else tell("ears-unknown-reason")
                raise BayError(
                    tell("ears-microphone-cannot-be-opened-reason", reason=reason), name, tell(_NO_DEVICE_MEND)
                ) from None

    def _fresh_resampler(self) -> None:
        same = self._rate == RATE
        self._resampler = None if same else soxr.ResampleStream(self._rate, RATE, 1, dtype="float32")

    def _take(self, data: Samples, frames: int, when: Any, status: Any) -> None:
        if status.input_overflow:
            self.overruns += 1
        waited_s = when.currentTime - when.inputBufferAdcTime
        # Some drivers give no sensible time of recording; then the block's own length is all that is known.
        if not 0.0 < waited_s < 1.0:
            waited_s = frames / self._rate
        try:
            self._queue.put_nowait((data[:, 0].copy(), self._clock() - waited_s))
        except queue.Full:
            self.overruns += 1


def _any_input(sd: ModuleType) -> bool:
    """Whether PortAudio, already loaded, knows any input device."""
    try:
        return any(found["max_input_channels"] > 0 for found in sd.query_devices())
    except sd.PortAudioError:
        return False


def _sounddevice() -> ModuleType:
    try:
        import sounddevice
    except (ImportError, OSError):
        raise BayError(tell("ears-live-sound-does-not-work"), "", tell(_NO_LIBRARY_MEND)) from None
    except Exception as fault:
        # Initialising PortAudio at import raises its own error type, which cannot be named before the import.
        raise BayError(tell("ears-live-sound-does-not-work-fault", fault=fault), "", tell(_NO_DEVICE_MEND)) from None
    module: ModuleType = sounddevice
    return module
