"""Questions as objects: every one that the dialogues put is repeated, silenced and left alone as it declares."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from bayvoice.dialogue.engine import effects as fx
from bayvoice.dialogue.engine import events as ev
from bayvoice.dialogue.engine.question import Question
from bayvoice.dialogue.engine.state import Mode, State, Talk
from bayvoice.dialogue.questions.registry import QUESTIONS, open_question
from bayvoice.dialogue.session import ANSWERS, handle
from bayvoice.host.datafiles import read_grammars
from bayvoice.language.grammar import Grammars
from bayvoice.language.intents import Intent
from tests.stage import SCRIPTS, play, wording

NAMES = [type(question).__name__ for question in QUESTIONS]
BACKGROUND = {"HandOver"}
"""Questions whose "repeat" tells more than the question: where the job stands."""


@cache
def put() -> dict[str, tuple[State, ev.Stamp]]:
    """Question -> a state of the dialogues in which it is open and nothing is being said, and its moment."""
    found: dict[str, tuple[State, ev.Stamp]] = {}
    for path in sorted(SCRIPTS.glob("*.script")):
        for sitting in play(path).sittings:
            state, at = sitting.begins, sitting.events[0].at
            for event in sitting.events:
                state, _ = handle(state, event)
                at = max(at, event.at, key=lambda stamp: stamp.mono)
                question = open_question(state)
                if question is not None and not state.unkept:
                    quiet = Talk(frozenset(), at.mono, at.mono)
                    found.setdefault(type(question).__name__, (replace(state, talk=quiet, alerts=()), at))
    return found


def said(effects: tuple[fx.Effect, ...]) -> tuple[str, ...]:
    return tuple(effect.text for effect in effects if isinstance(effect, fx.Say))


def question_of(name: str) -> Question[Any]:
    return QUESTIONS[NAMES.index(name)]


def later(at: ev.Stamp, seconds: float) -> ev.Stamp:
    return ev.Stamp(at.mono + seconds, at.wall + seconds)


def test_every_dialogue_state_is_a_steps_or_a_questions() -> None:
    """And no state is both."""
    asked = {question.mode for question in QUESTIONS}
    assert asked | set(ANSWERS) == set(Grammars(read_grammars()).states())
    assert set(Mode) <= asked | set(ANSWERS)
    assert not asked & set(ANSWERS)


def test_questions_of_one_state_differ_in_what_is_pending_and_take_the_same_words() -> None:
    """Otherwise the grammar, which knows only the state, would hear what one of them has no answer to."""
    for one in QUESTIONS:
        for other in QUESTIONS:
            if one is not other and one.mode is other.mode:
                assert one.asks is not other.asks
                assert one.handlers().keys() == other.handlers().keys()


def test_the_dialogues_put_every_question() -> None:
    """So that the tests below are of all of them."""
    assert set(put()) == set(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_it_has_a_heading_and_words_for_the_screen(name: str) -> None:
    """In the catalogue; the step itself, a value read back and the end are shown another way."""
    question, (state, _) = question_of(name), put()[name]
    large, lines = question.shown(state, state.pending)
    assert large
    assert all(lines)
    assert bool(wording().get(question.heading, "")) is (name not in ("Value", "Paused", "Finished"))


@pytest.mark.parametrize("name", NAMES)
def test_repeat_puts_it_once_more_and_changes_nothing(name: str) -> None:
    """Where it can be said."""
    question, (state, now) = question_of(name), put()[name]
    assert ("repeat" in question.handlers()) is (name not in ("Noting", "Paused"))
    if "repeat" not in question.handlers():
        return
    after, effects = handle(state, ev.Typed(later(now, 1.0), ("repeat",), Intent("repeat")))
    prompt = question.prompt(state, state.pending)
    assert said(effects)[-len(prompt) :] == prompt
    assert len(said(effects)) == len(prompt) or name in BACKGROUND
    assert (after.job, after.mode, after.pending, after.asked) == (state.job, state.mode, state.pending, state.asked)


@pytest.mark.parametrize("name", NAMES)
def test_stop_is_answered_by_silence(name: str) -> None:
    """Nothing is said or recorded, and the question stands; a note is ended."""
    state, now = put()[name]
    after, effects = handle(state, ev.Typed(later(now, 1.0), ("stop",), Intent("stop")))
    assert not said(effects)
    assert any(isinstance(effect, fx.EndNote) for effect in effects) is (name == "Noting")
    assert (after.job, after.mode, after.pending) == (state.job, state.mode, state.pending)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(
    ("key", "seconds", "speaking", "comes"),
    [("own", 10.0, False, True), ("own", 4.0, False, False), ("own", 10.0, True, False), ("other", 10.0, False, False)],
)
def test_silence_is_answered_once_by_the_questions_that_remind(
    name: str, key: str, seconds: float, speaking: bool, comes: bool
) -> None:
    """What is read back for the record reminds, after ten seconds of silence, and only of the question that stands."""
    question, (state, now) = question_of(name), put()[name]
    assert (question.reminds > 0) is (name in ("Value", "Meant", "Reading", "Said"))
    if speaking:
        state = replace(state, talk=Talk(frozenset({1}), now.mono, None))
    at = later(now, seconds)
    due = f"remind:{state.asked if key == 'own' else state.asked - 1.0:.3f}"
    after, effects = handle(state, ev.Woke(at, due, at.mono))
    reminds = question.reminds > 0
    assert said(effects) == (question.prompt(state, state.pending) if reminds and comes else ())
    put_off = reminds and key == "own" and not comes
    assert any(isinstance(effect, fx.WakeAt) and effect.key == due for effect in effects) is put_off
    assert (after.job, after.mode, after.pending) == (state.job, state.mode, state.pending)
