"""Players: what is said and rung comes out of a loudspeaker, goes into a WAV, or is only timed.

One thread calls a player (the hub's consumer). What happened is told by a callback as `Note`; `TapePlayer` and
`NullPlayer` call it from within the caller's own call and never look at a clock: all their time is what the caller
gives, mono seconds. The live player is in `bayvoice.voice.live`.
"""

from __future__ import annotations

import contextlib
import errno
import os
import struct
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Protocol

import numpy as np

from bayvoice.errors import BayError
from bayvoice.host.writing import open_beside
from bayvoice.language.texts import tell
from bayvoice.voice.base import Sound
from bayvoice.voice.mixer import Block, Mark, Mixer, fit

TAPE_RATE = 22_050
"""Sample rate of a tape unless another is asked for, Hz: the voice's own."""

PATCH_S = 5.0
"""How much sound is written between two updates of a tape's header, seconds of audio."""

_WAV_MOST = 0xFFFF_FFFF - 36


@dataclass(frozen=True, slots=True)
class Note:
    """What a player tells the hub.

    Attributes:
        kind: "began", "said", "cut" (of utterance `uid`), "rang" (a burst begins), "trouble" or "mended" (of the
            loudspeaker).
        at: mono time at which it happened, seconds.
        uid: the utterance; of a burst its rank; -1 for trouble and mended.
        what, mend: of a trouble, one sentence each without a full stop.
    """

    kind: str
    at: float
    uid: int = -1
    what: str = ""
    mend: str = ""


Tell = Callable[[Note], None]


class Player(Protocol):
    """Each utterance given to `say` is told of exactly once as "said" or "cut", and before that as "began" unless it
    was forgotten while it waited. Nothing here blocks for longer than it takes to copy samples."""

    def say(self, uid: int, sound: Sound, at: float, urgent: bool = False, rank: int = 0) -> None:
        """Say `sound` after what is being said; `urgent` cuts that off first and clears what is queued.

        rank: 0 in turn; 1 before what is queued with a lower one; 2 also interrupts speech of a lower rank, which is
        then said again from its beginning.
        """
        ...

    def ring(self, sound: Sound, at: float, rank: int = 0) -> None:
        """Sound a burst at once; speech under way is turned down, speech that waits waits for its end.

        A burst that is sounding gives way to one of a higher `rank`; one of the same or a lower waits for its end.
        """
        ...

    def hush(self, at: float) -> None:
        """Fall silent at once, speech and bursts; forget what is queued."""
        ...

    def advance(self, to: float) -> None:
        """Time is now `to`. Moves tapes on; a live player needs it not."""
        ...

    def next_at(self) -> float | None:
        """Mono time of the next "began", "said" or "cut" where that is known; None for a live player."""
        ...

    @property
    def sounding(self) -> bool:
        """Speech or a burst is being heard now."""
        ...

    def close(self) -> None:
        """End; what is still queued is told of as cut."""
        ...


class _Timed:
    """A player on the caller's clock: sample `n` is heard at `began_at + n / rate`."""

    def __init__(self, inform: Tell, began_at: float, rate: int) -> None:
        self._tell = inform
        self._began_at = began_at
        self._mixer = Mixer(rate)
        self._closed = False

    def _mono(self, sample: int) -> float:
        return self._began_at + sample / self._mixer.rate

    def _take(self, block: Block) -> None:
        """What becomes of sound that has been mixed."""

    def _take_silence(self, n: int) -> None:
        """The same for `n` samples of silence."""

    def _told(self, marks: tuple[Mark, ...]) -> None:
        for mark in marks:
            self._tell(Note(mark.kind, self._mono(mark.at), mark.uid))

    def advance(self, to: float) -> None:
        """Mix up to mono time `to`; a time before the present one changes nothing."""
        left = round((to - self._began_at) * self._mixer.rate) - self._mixer.at
        while left > 0:
            n = min(left, self._mixer.rate)
            if self._mixer.idle:
                self._mixer.skip(n)
                self._take_silence(n)
            else:
                block, marks = self._mixer.pull(n)
                self._take(block)
                self._told(marks)
            left -= n

    def say(self, uid: int, sound: Sound, at: float, urgent: bool = False, rank: int = 0) -> None:
        """Lands at `at` when nothing else is being said."""
        self.advance(at)
        if urgent:
            self.hush(at)
        self._mixer.say(uid, fit(sound, self._mixer.rate), rank)

    def ring(self, sound: Sound, at: float, rank: int = 0) -> None:
        """Lands at `at`."""
        self.advance(at)
        self._mixer.ring(fit(sound, self._mixer.rate), rank)

    def hush(self, at: float) -> None:
        """Silent from `at` on, after a fade of 5 ms."""
        self.advance(at)
        self._mixer.hush()
        self._told(self._mixer.pull(0)[1])

    def next_at(self) -> float | None:
        """When the next utterance begins or ends if nothing else comes; None when none is queued."""
        mark = self._mixer.next_mark
        return None if mark is None else self._mono(mark)

    @property
    def sounding(self) -> bool:
        """Speech or a burst is being heard at the time last given."""
        return self._mixer.sounding

    def close(self) -> None:
        """End; what is still queued is told of as cut."""
        if not self._closed:
            self._closed = True
            self._mixer.hush()
            self._told(self._mixer.pull(0)[1])


class NullPlayer(_Timed):
    """No sound. With `rhythm` everything takes as long as it would aloud; without, no time at all."""

    def __init__(self, inform: Tell, began_at: float = 0.0, rhythm: bool = True) -> None:
        super().__init__(inform, began_at, TAPE_RATE)
        self._rhythm = rhythm

    def say(self, uid: int, sound: Sound, at: float, urgent: bool = False, rank: int = 0) -> None:
        """As `Player.say`; without rhythm it is told of as begun and said at once, at `at`."""
        if self._rhythm:
            super().say(uid, sound, at, urgent, rank)
            return
        self.advance(at)
        self._tell(Note("began", at, uid))
        self._tell(Note("said", at, uid))

    def ring(self, sound: Sound, at: float, rank: int = 0) -> None:
        """As `Player.ring`."""
        if self._rhythm:
            super().ring(sound, at, rank)


class TapePlayer(_Timed):
    """The loudspeaker as a WAV file: 16-bit mono at `rate` Hz, its first sample at mono time `began_at`.

    What is said at time t lands at t, and silence is written for the time between. At most a second of sound is held
    in memory. The header is brought up to date every `PATCH_S` seconds of audio and on `close`: of a process that is
    killed, the file is a sound WAV that lacks at most the last `PATCH_S` seconds. A disk that fills up, or a
    tape that reaches the 4 GiB a WAV can hold (27 hours), is told of once as trouble; time then runs on without a tape.

    What was there before is replaced as a whole. Raises `BayError` when the file cannot be made.
    """

    def __init__(self, path: Path, inform: Tell, began_at: float = 0.0, rate: int = TAPE_RATE) -> None:
        super().__init__(inform, began_at, rate)
        self._path = path
        try:
            self._file: BinaryIO | None = open_beside(path)
        except OSError as error:
            raise BayError(
                tell("voice-sound-cannot-be-written-strerror", strerror=error.strerror),
                str(path),
                tell("voice-choose-another-file-for-speaker"),
            ) from None
        self._bytes = self._unpatched = 0
        self._guarded(self._patch)

    def _patch(self) -> None:
        """Bring the header up to date; seeking writes out the sound first, so it never claims too much."""
        assert self._file is not None
        hz = self._mixer.rate
        self._file.seek(0)
        self._file.write(
            b"RIFF"
            + struct.pack("<L", 36 + self._bytes)
            + b"WAVEfmt "
            + struct.pack("<LHHLLHH", 16, 1, 1, hz, 2 * hz, 2, 16)
            + b"data"
            + struct.pack("<L", self._bytes)
        )
        self._file.seek(0, os.SEEK_END)
        self._file.flush()
        self._unpatched = 0

    def _write(self, data: bytes) -> None:
        def work() -> None:
            assert self._file is not None
            if self._bytes + len(data) > _WAV_MOST:
                raise OSError(errno.EFBIG, tell("voice-wav-holds-no-more-than-4"))
            self._file.write(data)
            self._bytes += len(data)
            self._unpatched += len(data)
            if self._unpatched >= PATCH_S * 2 * self._mixer.rate:
                self._patch()

        self._guarded(work)

    def _guarded(self, work: Callable[[], None]) -> None:
        """Do `work` on the file; where that fails, tell of it once and go on without a tape."""
        if self._file is None:
            return
        try:
            work()
        except OSError as error:
            self._let_go()
            self._tell(
                Note(
                    "trouble",
                    self._mono(self._mixer.at),
                    what=tell("voice-path-sound-is-no-longer", path=self._path, value=error.strerror or error),
                    mend=tell("voice-make-room-on-disk-or-choose"),
                )
            )

    def _let_go(self) -> None:
        file, self._file = self._file, None
        if file is not None:
            with contextlib.suppress(OSError):
                file.close()

    def _take(self, block: Block) -> None:
        self._write(np.asarray(np.rint(block * 32767.0), dtype="<i2").tobytes())

    def _take_silence(self, n: int) -> None:
        self._write(bytes(2 * n))

    def close(self) -> None:
        """Complete the file."""
        if not self._closed:
            super().close()
            self._guarded(self._patch)
            self._let_go()
