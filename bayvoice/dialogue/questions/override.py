"""Passing a guard: the question, the yes, the reason, and whoever else has to allow it."""

from __future__ import annotations

from dataclasses import replace

from bayvoice.dialogue.engine.asked import CodeAsked, OverrideAsked
from bayvoice.dialogue.engine.events import NoteTaken
from bayvoice.dialogue.engine.state import Mode, mode_of
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import passing, reasons, signing
from bayvoice.dialogue.flow.guards import pass_guard
from bayvoice.dialogue.flow.walk import ask
from bayvoice.dialogue.questions import notes
from bayvoice.language.intents import Intent
from bayvoice.procedure.model import Passing


def override_yes(turn: Turn, intent: Intent) -> None:
    """The guard is to be passed; a reason is still wanted."""
    asked = _override(turn)
    if asked.reason:
        _reasoned(turn, asked)
        return
    turn.mode(Mode.REASON)
    _ask_reason(turn, asked)


def _ask_reason(turn: Turn, asked: OverrideAsked) -> None:
    turn.say("ask_reason", reasons=reasons.sayable(turn, asked))


def override_no(turn: Turn, intent: Intent) -> None:
    """The guard stays."""
    turn.put(pending=None)
    turn.mode(mode_of(turn.job, turn.step))
    turn.say("override_dropped")
    ask(turn, turn.step)


def override_repeat(turn: Turn, intent: Intent) -> None:
    """Ask once more."""
    asked = _override(turn)
    turn.say(f"override_{asked.what}", name=asked.name)


def reason_given(turn: Turn, intent: Intent) -> None:
    """The reason completes an override, or makes it another person's to allow."""
    asked = _override(turn)
    said = intent.slot("reason")
    if said is None:
        _ask_reason(turn, asked)
        return
    reason = reasons.meant(turn, asked, said)
    if not reason:
        turn.ring("refused")
        turn.say("reason_unfit", reasons=reasons.sayable(turn, asked))
        return
    if reason == reasons.ANOTHER:
        _another(turn, replace(asked, reason=reason), intent.slot("text") or "")
        return
    _reasoned(turn, replace(asked, reason=reason))


def _another(turn: Turn, asked: OverrideAsked, text: str) -> None:
    """A reason in free words: typed, or kept as a spoken note; only then is there one."""
    if text:
        note = turn.fact("noted", step=turn.step.id, text=text)
        _reasoned(turn, replace(asked, note=note.seq))
    elif notes.deaf(turn):
        turn.say("reason_typed")
    else:
        turn.put(pending=asked)
        notes.listen(turn)


def note_taken(turn: Turn, event: NoteTaken) -> None:
    """A note has ended: a reason for an override, or one for itself."""
    asked = turn.state.pending
    if turn.state.mode is not Mode.NOTING or not isinstance(asked, OverrideAsked):
        notes.taken(turn, event)
        return
    if event.sound:
        _reasoned(turn, replace(asked, note=notes.keep(turn, event)))
        return
    notes.unkept(turn, event)
    turn.put(pending=replace(asked, reason=""))
    turn.mode(Mode.REASON)
    turn.say("reason_not_kept", reasons=reasons.sayable(turn, asked))


def reason_repeat(turn: Turn, intent: Intent) -> None:
    """Ask for the reason once more."""
    _ask_reason(turn, _override(turn))


def named(turn: Turn, intent: Intent) -> None:
    """Somebody else allows it: complete, or the code is still wanted."""
    asked = _override(turn)
    person = signing.allows(turn, intent, passing.role_for(turn.job, asked.what, asked.step))
    if person is None:
        return
    if person.coded:
        role = passing.role_for(turn.job, asked.what, asked.step)
        turn.put(pending=CodeAsked(asked.step, person.name, role, asked))
        turn.mode(Mode.CODE)
        turn.say("ask_code", who=person.name)
        return
    pass_guard(turn, replace(asked, who=person.name))


def named_repeat(turn: Turn, intent: Intent) -> None:
    """Ask for the name once more."""
    turn.say("ask_who")


def code_given(turn: Turn, intent: Intent) -> None:
    """The code of whoever signs or allows something. Whether it is right was found out before it came here."""
    asked = turn.state.pending
    assert isinstance(asked, CodeAsked), "a code without a person"
    if asked.override is None:
        signing.code_given(turn, intent)
    elif intent.slot("code") == "right":
        pass_guard(turn, replace(asked.override, who=asked.who, code="right"))
    else:
        signing.wrong_code(turn, asked.step, asked.role, intent.slot("code") or "")


def _override(turn: Turn) -> OverrideAsked:
    assert isinstance(turn.state.pending, OverrideAsked), "an override without a question"
    return turn.state.pending


def _reasoned(turn: Turn, asked: OverrideAsked) -> None:
    if passing.class_of(turn.job, asked.what, asked.step) is Passing.SECOND and not asked.who:
        turn.put(pending=asked)
        turn.mode(Mode.NAMED)
        turn.say("ask_who")
        return
    pass_guard(turn, asked)
