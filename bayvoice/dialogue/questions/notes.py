"""Notes: free speech that no grammar holds is kept as the sound it is; a typed note carries its text."""

from __future__ import annotations

from collections.abc import Mapping

from bayvoice.dialogue.engine.effects import EndNote, TakeNote
from bayvoice.dialogue.engine.events import NoteTaken
from bayvoice.dialogue.engine.question import Question
from bayvoice.dialogue.engine.state import Mode, State, mode_of
from bayvoice.dialogue.engine.turn import Handler, Turn
from bayvoice.language.intents import Intent

LONGEST_S = 60.0
"""Seconds after which a note ends whatever is said."""
PATIENCE_S = 10.0
"""Seconds in which a note that was ended must be on the disk; then the job goes on without its sound."""


def note(turn: Turn, intent: Intent) -> None:
    """Begin to keep sound; without a microphone, or with typed text, the note is complete as it is."""
    text = intent.slot("text") or ""
    if text or deaf(turn):
        turn.fact("noted", step=turn.step.id, text=text)
        turn.say("noted")
        return
    listen(turn)


def deaf(turn: Turn) -> bool:
    """Whether there is no microphone that could keep sound."""
    return not turn.state.mic or any(part == "microphone" for part, _, _ in turn.state.troubles)


def listen(turn: Turn) -> None:
    """Keep what is said from now on."""
    turn.mode(Mode.NOTING)
    # A tone and no words: what the product says would be on the note.
    turn.ring("heard")
    turn.effects.append(TakeNote(f"{turn.job.name}-{turn.job.seq + 1:04d}"))
    turn.wake("note:end", turn.at.mono + LONGEST_S)
    # Also replaces the one of an earlier note.
    turn.wake("note:lost", turn.at.mono + LONGEST_S + PATIENCE_S)


def over(turn: Turn, intent: Intent) -> None:
    """The technician ends the note."""
    turn.effects.append(EndNote())
    turn.wake("note:lost", turn.at.mono + PATIENCE_S)


def woke(turn: Turn, what: str) -> NoteTaken | None:
    """A note has become too long; or one that was ended never came: the event that stands for it then."""
    if turn.state.mode is not Mode.NOTING:
        return None
    if what == "end":
        over(turn, Intent("stop"))
        return None
    return NoteTaken(turn.at, "", "", 0.0, LOST)


LOST = "note_lost"
"""Why there is no note where none came from the microphone."""


def keep(turn: Turn, event: NoteTaken) -> int:
    """Record the sound that was kept, and why it was not; seq of the note."""
    fact = turn.fact(
        "noted",
        step=turn.step.id,
        text="",
        sound=event.sound,
        sha256=event.sha256,
        seconds=int(-(-event.seconds // 1)),
    )
    unkept(turn, event)
    return fact.seq


def unkept(turn: Turn, event: NoteTaken) -> None:
    """Record why a note could not be kept, where that is so."""
    if event.why == LOST:
        turn.fact("trouble", part="note", what=LOST, detail="", name="", n=0)
    elif event.why:
        turn.fact("trouble", part="note", what="failed", detail=event.why, name="", n=0)


def taken(turn: Turn, event: NoteTaken) -> None:
    """The sound is on the disk: only now is there a note. One that comes too late is not a note any more."""
    if turn.state.mode is not Mode.NOTING:
        return
    keep(turn, event)
    turn.mode(mode_of(turn.job, turn.step))
    turn.say(
        "note_kept" if event.sound else "note_unkept" if event.why else "note_silent", seconds=round(event.seconds)
    )


class Noting(Question[object]):
    """A note is being taken: everything but its end is free speech. What is pending is what the note is a reason for.

    Nothing is said, for it would be on the note; silence ends the note, which is the ears' to find.
    """

    mode = Mode.NOTING
    asks = object
    heading = "heading_note"
    repeats = False

    def prompt(self, state: State, asked: object) -> tuple[str, ...]:
        """How a note ends."""
        return (state.wording.text("expect_noting"),)

    def answers(self) -> Mapping[str, Handler]:
        """Only its end."""
        return {}

    def stop(self, turn: Turn, intent: Intent) -> None:
        """The technician ends the note."""
        over(turn, intent)
