"""Notes: free speech that no grammar holds is kept as the sound it is; a typed note carries its text."""

from __future__ import annotations

from bayvoice.core.effects import EndNote, TakeNote
from bayvoice.core.events import NoteTaken
from bayvoice.core.state import Mode, mode_of
from bayvoice.core.turn import Turn
from bayvoice.speech.intents import Intent

LONGEST_S = 60.0
"""Seconds after which a note ends whatever is said."""
PATIENCE_S = 10.0
"""Seconds in which a note that was ended must be on the disk; then the job goes on without its sound."""


def note(turn: Turn, intent: Intent) -> None:
    """Begin to keep sound; without a microphone, or with typed text, the note is complete as it is."""
    text = intent.slot("text") or ""
    deaf = any(part == "microphone" for part, _, _ in turn.state.troubles)
    if text or deaf or not turn.state.mic:
        turn.fact("noted", step=turn.step.id, text=text)
        turn.say("noted")
        return
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


def woke(turn: Turn, what: str) -> None:
    """A note has become too long, or one that was ended never came."""
    if turn.state.mode is not Mode.NOTING:
        return
    if what == "end":
        over(turn, Intent("stop"))
    else:
        taken(turn, NoteTaken(turn.at, "", "", 0.0, turn.state.wording.text("note_lost")))


def taken(turn: Turn, event: NoteTaken) -> None:
    """The sound is on the disk: only now is there a note. One that comes too late is not a note any more."""
    if turn.state.mode is not Mode.NOTING:
        return
    step = turn.step
    turn.fact(
        "noted", step=step.id, text="", sound=event.sound, sha256=event.sha256, seconds=int(-(-event.seconds // 1))
    )
    if event.why:
        turn.fact("trouble", part="note", what=event.why)
    turn.mode(mode_of(turn.job, step))
    turn.say(
        "note_kept" if event.sound else "note_unkept" if event.why else "note_silent", seconds=round(event.seconds)
    )
