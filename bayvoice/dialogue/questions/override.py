"""Passing a guard: whether it is to be passed, the reason, and whoever else has to allow it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from bayvoice.dialogue.engine.asked import OverrideAsked
from bayvoice.dialogue.engine.events import NoteTaken
from bayvoice.dialogue.engine.question import Question
from bayvoice.dialogue.engine.state import Mode, State
from bayvoice.dialogue.engine.turn import Handler, Turn
from bayvoice.dialogue.flow import passing, reasons, signing
from bayvoice.dialogue.flow.guards import pass_guard
from bayvoice.dialogue.questions import notes
from bayvoice.dialogue.questions.code import CODE
from bayvoice.dialogue.questions.common import drop
from bayvoice.job.people import Person
from bayvoice.language.intents import Intent
from bayvoice.procedure.model import Passing


def _stays(turn: Turn, intent: Intent) -> None:
    """The guard stays."""
    drop(turn, "override_dropped")


class Override(Question[OverrideAsked]):
    """Is the guard to be passed?"""

    mode = Mode.OVERRIDE
    asks = OverrideAsked
    heading = "heading_guard"

    def prompt(self, state: State, asked: OverrideAsked) -> tuple[str, ...]:
        """What is passed, and that it will stand in the record."""
        return (passing.override_text(state, asked),)

    def answers(self) -> Mapping[str, Handler]:
        """Yes or no."""
        return {"yes": self.yes, "no": _stays}

    def yes(self, turn: Turn, intent: Intent) -> None:
        """It is to be passed; a reason is still wanted."""
        asked = self.asked(turn)
        if asked.reason:
            _reasoned(turn, asked)
        else:
            REASON.put(turn, asked)


class Reason(Question[OverrideAsked]):
    """Why is the guard passed?"""

    mode = Mode.REASON
    asks = OverrideAsked
    heading = "heading_reason"

    def prompt(self, state: State, asked: OverrideAsked) -> tuple[str, ...]:
        """The bare question: the reasons that fit are told by "help"."""
        return (state.wording.text("ask_reason", reasons=reasons.shown(state, asked)),)

    def shown(self, state: State, asked: OverrideAsked) -> tuple[str, tuple[str, ...]]:
        """The reasons that fit stand below."""
        return self.prompt(state, asked)[-1], (state.wording.text("help_reason", reasons=reasons.shown(state, asked)),)

    def answers(self) -> Mapping[str, Handler]:
        """A reason, or no."""
        return {"skip": self.given, "no": _stays}

    def given(self, turn: Turn, intent: Intent) -> None:
        """The reason completes an override, or makes it another person's to allow."""
        asked = self.asked(turn)
        said = intent.slot("reason")
        if said is None:
            self.say(turn)
            return
        reason = reasons.meant(turn, asked, said)
        if not reason:
            turn.ring("refused")
            turn.say("reason_unfit", reasons=reasons.sayable(turn, asked))
        elif reason == reasons.ANOTHER:
            _another(turn, replace(asked, reason=reason), intent.slot("text") or "")
        else:
            _reasoned(turn, replace(asked, reason=reason))


class Named(Question[OverrideAsked]):
    """Who allows it?"""

    mode = Mode.NAMED
    asks = OverrideAsked
    heading = "heading_named"

    def prompt(self, state: State, asked: OverrideAsked) -> tuple[str, ...]:
        """How to name somebody."""
        return (state.wording.text("ask_who"),)

    def answers(self) -> Mapping[str, Handler]:
        """A name, or no."""
        return {"name": self.named, "no": _stays}

    def named(self, turn: Turn, intent: Intent) -> None:
        """Somebody else allows it: complete, or the code is still wanted."""
        asked = self.asked(turn)
        role = passing.role_for(turn.job, asked.what, asked.step)
        person: Person | None = signing.allows(turn, intent, role)
        if person is None:
            return
        if person.coded:
            CODE.put(turn, CODE.asks(asked.step, person.name, role, asked))
        else:
            pass_guard(turn, replace(asked, who=person.name))


OVERRIDE, REASON, NAMED = Override(), Reason(), Named()


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


def _reasoned(turn: Turn, asked: OverrideAsked) -> None:
    """The reason is known: pass the guard, or ask for whoever else has to allow it."""
    if passing.class_of(turn.job, asked.what, asked.step) is Passing.SECOND and not asked.who:
        NAMED.put(turn, asked)
        return
    pass_guard(turn, asked)
