"""What can happen to a job. Frozen; every event is stamped by the hub, so the core never asks the time."""

from __future__ import annotations

from dataclasses import dataclass

from bayvoice.language.intents import Intent


@dataclass(frozen=True, slots=True)
class Stamp:
    """When something happened.

    Attributes:
        mono: seconds on a clock that never goes back and counts suspended time.
        wall: seconds since 1970-01-01 UTC by the computer's clock, for the record only.
    """

    mono: float
    wall: float


@dataclass(frozen=True, slots=True)
class Began:
    """A sitting begins: the job is opened by `by`, on a fresh job or one taken up again.

    Attributes:
        boot: names the run of the clock that `Stamp.mono` belongs to; equal in two sittings if mono goes on.
        changed: SHA-256 of the procedure's file where it is no longer the one the job began with, else "".
        ambient: (name, value, unit) of the surroundings, as given on the command line; units as in
            `dialogue.steps.windows.UNITS`.
    """

    at: Stamp
    by: str
    boot: str = ""
    changed: str = ""
    ambient: tuple[tuple[str, str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Heard:
    """An utterance ended and was decoded.

    Attributes:
        words: what was heard, as matched; empty when nothing could be made of it.
        intent: its meaning in the active grammar, or None (refused, see `why`).
        engine: recogniser's name ("phones", "vosk", "pocketsphinx").
        margin: log-probability per second of speech by which it beat its competitor, if the engine has one.
        began, ended: `Stamp.mono` time at which the speech began and ended.
        why: reason of a refusal, one short phrase; empty when accepted.
        sure: natural-log odds that this is what was said; None where the engine cannot tell.
        state: the dialogue state (name of the grammar) in which it was matched; "" where that is not known. What was
            matched elsewhere is refused where it would mean another thing, see `talk.stale`.
    """

    at: Stamp
    words: tuple[str, ...]
    intent: Intent | None
    engine: str
    margin: float | None
    began: float
    ended: float
    why: str = ""
    sure: float | None = None
    state: str = ""


@dataclass(frozen=True, slots=True)
class Typed:
    """A key, a click or typed words. Same intents as speech; `words`: what was typed, or what the `key` stands for."""

    at: Stamp
    words: tuple[str, ...]
    intent: Intent | None
    key: bool = False

    @property
    def how(self) -> str:
        """How it was said, as facts hold it."""
        return "key" if self.key else "typed"


@dataclass(frozen=True, slots=True)
class Woke:
    """A time asked for by `effects.WakeAt` has come. `due` is the mono time that was asked for."""

    at: Stamp
    key: str
    due: float


@dataclass(frozen=True, slots=True)
class SpeechBegan:
    """The loudspeaker begins to say utterance `uid`."""

    at: Stamp
    uid: int


@dataclass(frozen=True, slots=True)
class Spoken:
    """The loudspeaker has said utterance `uid`, or was cut off in it (`cut`)."""

    at: Stamp
    uid: int
    cut: bool = False


@dataclass(frozen=True, slots=True)
class Kept:
    """Fact `seq` is on disk."""

    at: Stamp
    seq: int


@dataclass(frozen=True, slots=True)
class Unkept:
    """Fact `seq` could not be written; nothing may be announced as logged."""

    at: Stamp
    seq: int
    why: str


@dataclass(frozen=True, slots=True)
class Trouble:
    """An edge is not working. `part`: "microphone", "loudspeaker", "voice", "recogniser", "store", "clock", "noise"."""

    at: Stamp
    part: str
    what: str
    mend: str


@dataclass(frozen=True, slots=True)
class Mended:
    """The trouble with `part` is over."""

    at: Stamp
    part: str


@dataclass(frozen=True, slots=True)
class NoteTaken:
    """A note has ended, and its sound is on the disk.

    Attributes:
        sound: name of its file among those of the record, "" where nobody spoke or it could not be kept.
        sha256: hex SHA-256 of the file; seconds: its length.
        why: why it could not be kept, "" where it was or there was nothing to keep.
    """

    at: Stamp
    sound: str
    sha256: str
    seconds: float
    why: str = ""


@dataclass(frozen=True, slots=True)
class Left:
    """The sitting ends: the technician quits, or the recording used as microphone has run out."""

    at: Stamp
    why: str


Event = NoteTaken | Began | Heard | Typed | Woke | SpeechBegan | Spoken | Kept | Unkept | Trouble | Mended | Left
