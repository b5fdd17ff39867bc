"""What the core asks the hub to do. Frozen data; the hub performs them in order."""

from __future__ import annotations

from dataclasses import dataclass

from bayvoice.job.facts import Fact


@dataclass(frozen=True, slots=True)
class Append:
    """Write `fact` to disk, then answer `Kept` (or `Unkept`)."""

    fact: Fact


@dataclass(frozen=True, slots=True)
class Say:
    """Say `text` after what is being said.

    rank: 0 in turn; 1 before everything of lower rank that is queued; 2 also interrupts what is being said with a
    lower rank, which is then said again from its beginning.
    `beat`: seconds from one comma-separated piece of `text` to the next, exactly; 0: as it comes.
    """

    uid: int
    text: str
    rank: int = 0
    beat: float = 0.0


@dataclass(frozen=True, slots=True)
class Hush:
    """Stop speaking and sounding at once; forget what is queued."""


@dataclass(frozen=True, slots=True)
class Ring:
    """Sound an alert burst. `tone`: "soon" (a limit is near), "due" (may go on), "over" (too late), "refused".

    urgency: how often it has rung unanswered; each time it is faster, higher and louder.
    """

    tone: str
    urgency: int = 0


@dataclass(frozen=True, slots=True)
class WakeAt:
    """Send `Woke(key)` at mono time `due`; replaces an earlier one of the same key."""

    key: str
    due: float


@dataclass(frozen=True, slots=True)
class Listen:
    """From the next utterance on, the active grammar is dialogue state `state` (a public rule of the grammars)."""

    state: str


@dataclass(frozen=True, slots=True)
class TakeNote:
    """Keep the microphone's sound from now on as a note, until it falls silent; then answer `NoteTaken`.

    `stem`: what the file's name begins with.
    """

    stem: str


@dataclass(frozen=True, slots=True)
class EndNote:
    """End the note that is being taken, if one is."""


@dataclass(frozen=True, slots=True)
class Finish:
    """The sitting is over; the hub may stop once speech and storage are done."""


Effect = TakeNote | EndNote | Append | Say | Hush | Ring | WakeAt | Listen | Finish
