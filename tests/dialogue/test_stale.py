"""What was said to another question never answers this one: by the dialogue state it was matched in, and by time."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bayvoice.dialogue.engine import events as ev
from bayvoice.dialogue.engine.state import Mode, State, Talk
from bayvoice.dialogue.flow import choosing
from bayvoice.dialogue.flow.choosing import Choice, Choosing, ChoosingMode
from bayvoice.dialogue.session import TABLE, handle
from bayvoice.host.datafiles import read_procedure
from bayvoice.language.intents import GUARDED, NAMES, Intent
from tests.stage import WALL, Stage, wording

WHY = "said before this was asked"


@cache
def at_check() -> State:
    """The first check of the main job, put at mono time 101; the loudspeaker has not spoken."""
    stage = Stage(read_procedure("k40-transfer-cover"), ("Imre", "Ruth"))
    stage.take(ev.Began(stage.at, "Imre", "boot-1"))
    stage.hear("next")
    assert (stage.state.mode, stage.state.asked) == (Mode.CHECK, 101.0)
    return replace(stage.state, talk=Talk())


def heard(state: State, intent: str, matched_in: str, began: float) -> tuple[State, bool]:
    """The state after an utterance that was decoded at mono time 110, and whether it was acted on."""
    event = ev.Heard(
        ev.Stamp(110.0, WALL + 110.0), (intent,), Intent(intent), "stage", 5.0, began, began + 0.4, state=matched_in
    )
    after, _ = handle(state, event)
    assert after.heard is not None
    return after, bool(after.heard.made)


@pytest.mark.parametrize("began", [90.0, 100.9, 101.0, 109.0])
@pytest.mark.parametrize("matched_in", sorted({mode.value for mode in Mode} - {"check"} | {"any"}))
def test_a_yes_matched_elsewhere_answers_nothing_whenever_it_was_spoken(matched_in: str, began: float) -> None:
    """Also after the question was put: the ears may still have listened with the grammar before."""
    after, acted = heard(at_check(), "yes", matched_in, began)
    assert not acted
    assert after.heard is not None
    assert after.heard.why == WHY
    assert after.job == at_check().job
    assert (after.mode, after.pending) == (Mode.CHECK, None)


@pytest.mark.parametrize("matched_in", ["check", ""])
@pytest.mark.parametrize(("began", "counts"), [(90.0, False), (100.9, False), (101.0, True), (109.0, True)])
def test_in_the_same_state_it_counts_from_the_moment_the_question_was_put(
    matched_in: str, began: float, counts: bool
) -> None:
    """Two checks in a row cannot be told apart by their state; nor can it where nobody knows the state."""
    after, acted = heard(at_check(), "yes", matched_in, began)
    assert acted is counts
    assert (after.job != at_check().job) is counts


@pytest.mark.parametrize("matched_in", ["confirm", "noting", "any", ""])
def test_stop_is_obeyed_wherever_it_was_matched_and_whenever_it_was_spoken(matched_in: str) -> None:
    """It only ends speech and alerts."""
    _, acted = heard(at_check(), "stop", matched_in, 90.0)
    assert acted


def test_what_cannot_be_said_here_and_was_matched_elsewhere_is_passed_over_in_silence() -> None:
    """ "Resume" of a pause that a key has ended: nobody is told that it does not fit."""
    before = at_check()
    after, acted = heard(before, "resume", "paused", 109.0)
    assert not acted
    assert after.last_said == before.last_said


@settings(max_examples=300, deadline=None)
@given(
    mode=st.sampled_from(list(Mode)),
    name=st.sampled_from(sorted(NAMES)),
    matched_in=st.sampled_from(["", *(mode.value for mode in Mode)]),
    began=st.floats(80, 109),
)
def test_nothing_that_advances_or_logs_is_acted_on_but_by_its_own_question(
    mode: Mode, name: str, matched_in: str, began: float
) -> None:
    """Any intent in any state: what is refused is refused before any handler runs, so the state may be any."""
    state = replace(at_check(), mode=mode)
    own = matched_in in ("", mode.value) and began >= state.asked
    means = (mode, name) in TABLE
    refused = not own if name in GUARDED else matched_in not in ("", mode.value) and not means
    if not refused:
        return
    after, acted = heard(state, name, matched_in, began)
    assert not acted
    assert after.heard is not None
    assert after.heard.why == WHY
    assert (after.job, after.mode, after.pending) == (state.job, state.mode, state.pending)


@pytest.mark.parametrize(
    ("matched_in", "began", "taken"),
    [("chosen", 105.0, True), ("chosen", 99.0, False), ("choose", 105.0, False), ("", 99.0, False), ("", 105.0, True)],
)
def test_a_job_is_taken_only_by_a_yes_to_its_own_read_back(matched_in: str, began: float, taken: bool) -> None:
    """The same two rules while a job is chosen; read back at mono time 100."""
    one = Choice("lift-chains", "Lift chains")
    state = Choosing((one,), wording(), ChoosingMode.CHOSEN, picked=one, asked=100.0)
    yes = ev.Heard(
        ev.Stamp(110.0, WALL + 110.0), ("yes",), Intent("yes"), "stage", 5.0, began, began + 0.4, state=matched_in
    )
    after, _ = choosing.handle(state, yes)
    assert (after.taken is one) is taken
