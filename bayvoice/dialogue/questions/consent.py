"""Yes-or-no questions that belong to no step: which one is open says the state's `pending`."""

from __future__ import annotations

from bayvoice.dialogue.engine.asked import BatchAsked, HandOverAsked, SaidAsked
from bayvoice.dialogue.engine.kind import kind_of
from bayvoice.dialogue.engine.state import mode_of
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import asking, handover
from bayvoice.dialogue.flow.passing import step_of
from bayvoice.dialogue.questions import batches
from bayvoice.language.intents import Intent


def yes(turn: Turn, intent: Intent) -> None:
    """It is so."""
    asked = turn.state.pending
    if isinstance(asked, HandOverAsked):
        handover.consent_yes(turn, asked)
    elif isinstance(asked, BatchAsked):
        batches.batch_yes(turn, asked)
    elif isinstance(asked, SaidAsked):
        _over(turn)
        step = step_of(turn.job, asked.step)
        kind_of(turn.job, step).answered(turn, step, asked)


def no(turn: Turn, intent: Intent) -> None:
    """It is not so."""
    asked = turn.state.pending
    if isinstance(asked, HandOverAsked):
        handover.consent_no(turn, asked)
    elif isinstance(asked, BatchAsked):
        batches.batch_no(turn, asked)
    elif isinstance(asked, SaidAsked):
        _over(turn)
        turn.say("value_dropped", name=asked.name)


def repeat(turn: Turn, intent: Intent) -> None:
    """Ask once more."""
    asked = turn.state.pending
    if isinstance(asked, HandOverAsked):
        handover.consent_repeat(turn, asked)
    elif isinstance(asked, BatchAsked):
        batches.batch_repeat(turn, asked)
    elif isinstance(asked, SaidAsked):
        asking.again(turn)


def _over(turn: Turn) -> None:
    turn.put(pending=None)
    turn.mode(mode_of(turn.job, turn.step))
