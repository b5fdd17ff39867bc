"""Choosing a job by its number: nothing is begun without a yes."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayvoice.dialogue.engine.effects import Listen
from bayvoice.dialogue.engine.events import Began, Left, SpeechBegan, Spoken, Stamp, Typed
from bayvoice.dialogue.flow.choosing import TABLE, Choosing, ChoosingMode, handle
from tests.dialogue.talker import CHOICES, GRAMMARS, WORDING, Talker


def test_everything_is_read_with_its_number_and_taken_by_a_yes() -> None:
    talker = Talker()
    assert talker.said == [
        "Choose a job by its number.",
        "1: Transfer-case cover, Varrow K40. Job K40-0117, step 3 of 30.",
        "2: Lift chains, Hollin 25. New job.",
        "3: Cab windscreen, Varrow K40. New job.",
        "Say the number.",
    ]
    assert talker.type("number two") == ["Lift chains, Hollin 25. Begin a new job? Yes or no?"]
    assert talker.state.mode is ChoosingMode.CHOSEN
    talker.type("no")
    assert talker.type("1") == ["Transfer-case cover, Varrow K40. Go on with job K40-0117, step 3 of 30? Yes or no?"]
    assert not talker.finished
    talker.type("yes")
    assert talker.finished
    assert talker.state.taken is CHOICES[0]


@pytest.mark.parametrize(
    ("text", "answer"), [("4", "There is no number 4. The last is 3."), ("next", "Say the number")]
)
def test_what_cannot_be_chosen_is_told(text: str, answer: str) -> None:
    talker = Talker()
    assert answer in " ".join(talker.type(text))
    assert talker.state.picked is None


def test_what_is_said_across_the_reading_is_not_taken_but_stop_is() -> None:
    """The product itself says numbers all the time; half duplex, with "stop" as the way out."""
    talker = Talker()
    talker.give(SpeechBegan(talker.at, 1))
    talker.mono += 2.0
    talker.hear("two", 101.0, 101.5)
    assert talker.state.picked is None
    assert talker.state.heard is not None
    assert talker.state.heard.why == "said while I was speaking"
    talker.hear("stop", 101.6, 102.0)
    assert talker.state.talk.ended is not None
    talker.mono += 2.0
    talker.hear("two", 103.0, 103.5)
    assert talker.state.picked is CHOICES[1]


def test_what_is_not_sure_is_not_taken() -> None:
    talker = Talker()
    for uid in range(1, 6):
        talker.give(Spoken(talker.at, uid))
    talker.mono += 5.0
    talker.hear("two", 104.0, 104.5, sure=-30.0)
    assert talker.state.picked is None


def test_leaving_takes_nothing() -> None:
    talker = Talker()
    talker.type("2")
    talker.give(Left(talker.at, "left by key"))
    assert talker.finished
    assert talker.state.taken is None


def test_nothing_to_choose_is_said() -> None:
    assert Talker(()).said == ["There is no job and no procedure to choose."]


def test_the_table_and_the_grammar_agree() -> None:
    """Everything that can be heard has a meaning here, and everything that has a meaning can be heard."""
    for mode in ChoosingMode:
        heard = {one.intent for one in GRAMMARS.state(mode.value).sayable()}
        assert heard == {intent for where, intent in TABLE if where is mode}
    assert set(GRAMMARS.states()) == {mode.value for mode in ChoosingMode}


@given(
    st.lists(st.sampled_from(["1", "2", "3", "7", "yes", "no", "repeat", "stop", "help", "next", "bay"]), max_size=12)
)
def test_nothing_is_taken_but_what_was_read_back(lines: list[str]) -> None:
    """A job is taken only by a yes right after its own read-back."""
    talker = Talker()
    picked = None
    for line in lines:
        if talker.finished:
            break
        picked = talker.state.picked
        talker.type(line)
    if talker.finished:
        assert talker.state.taken is picked
        assert picked is not None


def test_the_state_listened_for_is_the_one_that_is_asked() -> None:
    state, effects = handle(Choosing(CHOICES, WORDING), Began(Stamp(1.0, 1.0), "Imre"))
    assert [effect.state for effect in effects if isinstance(effect, Listen)] == ["choose"]
    _, effects = handle(state, Typed(Stamp(2.0, 2.0), ("2",), GRAMMARS.state("choose").match(("2",))))
    assert [effect.state for effect in effects if isinstance(effect, Listen)] == ["chosen"]
