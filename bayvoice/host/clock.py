"""The computer's clocks, as stamps."""

from __future__ import annotations

import time
import uuid
from pathlib import Path
from typing import Final

from bayvoice.dialogue.engine.events import Stamp

_BOOT: Final = Path("/proc/sys/kernel/random/boot_id")


class LiveClock:
    """Suspend-aware monotonic time where the system has it (CLOCK_BOOTTIME), and wall time."""

    def __init__(self) -> None:
        self._id = getattr(time, "CLOCK_BOOTTIME", time.CLOCK_MONOTONIC)

    def mono(self) -> float:
        """Seconds on the monotonic clock."""
        return time.clock_gettime(self._id)

    def now(self) -> Stamp:
        """The present moment."""
        return Stamp(self.mono(), time.time())

    @property
    def boot(self) -> str:
        """Names this run of the monotonic clock: stays the same until the computer is started anew."""
        try:
            return _BOOT.read_text(encoding="ascii").strip()
        except OSError:
            # Without a name the next sitting must not take its monotonic clock for the same one.
            return f"unknown-{uuid.uuid4()}"


class TapeClock:
    """Time as the samples of a recording give it: it stands still unless it is moved."""

    def __init__(self, wall: float | None = None) -> None:
        self._wall = time.time() if wall is None else wall
        self._mono = 0.0
        self.boot = f"tape-{uuid.uuid4()}"

    def mono(self) -> float:
        """Seconds of sound that have passed."""
        return self._mono

    def now(self) -> Stamp:
        """The present moment of the recording."""
        return Stamp(self._mono, self._wall + self._mono)

    def move(self, mono: float) -> None:
        """Let time be `mono`; it never goes back."""
        self._mono = max(self._mono, mono)
