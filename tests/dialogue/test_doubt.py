"""Doubtful utterances at the core: asked about at most once in a row, never acted on unless heard twice."""

from __future__ import annotations

from functools import cache

from hypothesis import given, settings
from hypothesis import strategies as st

from bayvoice.dialogue.engine import effects as fx
from bayvoice.dialogue.engine import events as ev
from bayvoice.dialogue.engine.state import State
from bayvoice.dialogue.session import handle
from bayvoice.host.datafiles import read_procedure
from bayvoice.language.risk import AGREE_S, Verdict, weigh
from tests.stage import Stage

HEARD = st.lists(
    st.tuples(
        st.sampled_from(["next", "repeat", "pause", "back", "count in", "resume", "which step", "yes", "skip step"]),
        st.floats(-2, 2),
        st.floats(0.3, 12),
    ),
    max_size=25,
)


@cache
def begun() -> Stage:
    """A job just begun; only its state is used, which never changes in place."""
    stage = Stage(read_procedure("k40-transfer-cover"), ("Imre", "Ruth"))
    stage.take(ev.Began(stage.at, "Imre", "boot-1"))
    return stage


def take(state: State, event: ev.Event) -> tuple[State, list[fx.Effect]]:
    """Handle `event`; facts are kept at once, and what is said takes no time and is long over."""
    found: list[fx.Effect] = []
    pending = [event]
    past = ev.Stamp(event.at.mono - 60, event.at.wall - 60)
    while pending:
        state, effects = handle(state, pending.pop(0))
        found += effects
        for effect in effects:
            if isinstance(effect, fx.Append):
                pending.append(ev.Kept(event.at, effect.fact.seq))
            elif isinstance(effect, fx.Say):
                pending += [ev.SpeechBegan(past, effect.uid), ev.Spoken(past, effect.uid, False)]
    return state, found


@settings(max_examples=60, deadline=None)
@given(heard=HEARD)
def test_doubt_asks_once_and_acts_only_on_the_second_time(heard: list[tuple[str, float, float]]) -> None:
    """Against the rule told anew: any row of utterances with any odds and gaps."""
    stage = begun()
    state, at = stage.state, stage.mono + 60
    doubted: tuple[object, float] | None = None
    for words, sure, gap in heard:
        began, ended = at + gap, at + gap + 0.2
        at = ended
        intent = stage.grammars.state(state.mode).match(words.split())
        if intent is None:
            continue
        verdict = weigh(state.mode, intent.name, sure)
        if verdict is Verdict.DOUBTFUL and doubted and doubted[0] == intent and began - doubted[1] <= AGREE_S:
            verdict = Verdict.ACT
        before = state.job.seq
        event = ev.Heard(
            ev.Stamp(ended, stage.base + ended),
            tuple(words.split()),
            intent,
            "phones",
            1.0,
            began,
            ended,
            "",
            sure,
            state.mode,
        )
        state, effects = take(state, event)
        said = [effect.text for effect in effects if isinstance(effect, fx.Say)]
        assert state.heard is not None
        if verdict is Verdict.ACT:
            assert state.heard.made == intent.name
            assert "What was that?" not in said
            doubted = None
            continue
        assert (state.heard.made, state.job.seq) == ("", before)
        assert state.heard.why
        assert said == (["What was that?"] if verdict is Verdict.DOUBTFUL and doubted is None else [])
        if verdict is Verdict.DOUBTFUL:
            doubted = (intent, ended)


def test_a_doubtful_answer_spoken_over_the_products_voice_is_not_asked_about() -> None:
    """It may be the product's own voice; only stop words count then, doubtful ones too."""
    stage = Stage(read_procedure("k40-transfer-cover"), slow_voice=True)
    stage.take(ev.Began(stage.at, "Imre", "boot-1"))
    stage.mono += 2
    stage.forget()
    stage.hear("next", sure=-0.5)
    assert not stage.said
    assert stage.state.heard is not None
    assert stage.state.heard.why == "said while I was speaking"
    stage.hear("stop", sure=-0.9)
    assert not stage.state.talk.queued
