"""Reasons for passing a guard: which can be true of what is passed, and how they are said.

A reason is a code (`reason_CODE` in the wording holds its words), or words of the procedure's own, as it has them.
"""

from __future__ import annotations

from typing import Final

from bayvoice.dialogue.engine.asked import OverrideAsked
from bayvoice.dialogue.engine.kind import kind_of
from bayvoice.dialogue.engine.state import State
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow.passing import step_of
from bayvoice.job.job import Job
from bayvoice.language.phrases import spoken_form
from bayvoice.language.wording import Wording

ANOTHER: Final = "another"
"""The code of a reason that is kept in a note."""

_PREFIX: Final = "reason_"

LEFT_OUT: Final = (
    "not_fitted",
    "not_needed",
    "already_done",
    "part_missing",
    "tool_missing",
    "damaged",
    "wrong_part",
    "foremans_order",
)
"""Reasons for leaving a step out; the only ones that can be said in one breath with "skip step"."""

OF: Final[dict[str, tuple[str, ...]]] = {
    "skip": LEFT_OUT,
    "late": ("maker_allows", "tested_good", "done_later", "foremans_order"),
    "cancel": ("nothing_applied", "started_wrongly", "maker_allows", "foremans_order"),
    "check": ("maker_allows", "done_later", "part_missing", "tool_missing", "foremans_order"),
    "measure": ("maker_allows", "done_later", "part_missing", "foremans_order"),
    "close": ("maker_allows", "done_later", "no_other_gauge", "foremans_order"),
    "gauge": ("no_other_gauge", "compared", "done_later", "foremans_order"),
    "bolt": ("maker_allows", "done_later", "part_missing", "tool_missing", "foremans_order"),
    "part": ("part_missing", "wrong_part", "old_one_good", "maker_allows", "foremans_order"),
    "batch": ("no_other_batch", "label_unreadable", "tested_good", "maker_allows", "foremans_order"),
    "tally": ("not_found", "miscounted", "done_later", "foremans_order"),
    "hold": ("person_missing", "seen_before", "foremans_order"),
}
"""What is passed -> the reasons that can be true of it. "close": a value too near its limit to call, or scattered."""


def fitting(job: Job, asked: OverrideAsked) -> tuple[str, ...]:
    """Codes of the reasons that can be true of what is passed."""
    step = step_of(job, asked.step)
    return kind_of(job, step).reasons(job, step, asked.what) or OF[asked.what]


def meant(turn: Turn, asked: OverrideAsked, said: str) -> str:
    """The reason that `said` is, as facts hold it; "" where it does not fit what is passed."""
    if said == ANOTHER or said == turn.state.wording.text(_PREFIX + ANOTHER):
        return ANOTHER
    for own in step_of(turn.job, asked.step).reasons:
        if spoken_form(own, own) == tuple(said.split()):
            return own
    codes = fitting(turn.job, asked)
    return next((code for code in codes if turn.state.wording.text(_PREFIX + code) == said), "")


def words(wording: Wording, reason: str) -> str:
    """A reason in words."""
    return wording.get(_PREFIX + reason, reason)


def sayable(turn: Turn, asked: OverrideAsked) -> str:
    """The reasons that fit what is passed, as a list in words."""
    return shown(turn.state, asked)


def shown(state: State, asked: OverrideAsked) -> str:
    """The same of a state, for the screen."""
    own = step_of(state.job, asked.step).reasons
    fit = (words(state.wording, code) for code in fitting(state.job, asked))
    return ", ".join((*own, *fit))
