"""PocketSphinx behind the common interface, and the listener around it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from bayvoice.ears.base import RATE
from bayvoice.ears.front import FrontEnd
from bayvoice.ears.listener import NO_SPEECH, NOTHING_HEARD, Listener, Utterance, VoiceBegan, WordsSoFar, hear_file
from bayvoice.ears.pronounce import Lexicon
from bayvoice.ears.sphinx_engine import Sphinx
from bayvoice.language.grammar import Grammars, StateGrammar
from tests.espeak import say

STATES = """#JSGF V1.0;
grammar states;
public <step> = next {next} | repeat that {repeat} | stop {stop};
public <ask> = yes {yes} | no {no} | tighten varrow {note};
public <foreign> = yes {yes} | grüße {note};
"""


@pytest.fixture(scope="module")
def grammars() -> Grammars:
    return Grammars({"states.gram": STATES})


@pytest.fixture(scope="module")
def engine() -> Sphinx:
    return Sphinx(Lexicon('[words]\nvarrow = ["V AE R OW"]'))


def words(engine: Sphinx, text: str) -> tuple[str, ...]:
    engine.begin()
    engine.feed(say(text))
    return engine.finish().words


def test_it_hears_what_the_grammar_allows_with_times(engine: Sphinx, grammars: Grammars) -> None:
    engine.use(grammars.state("step"))
    # The synthesiser does not say it the same way each time; of three tries one at least is heard whole.
    for _ in range(3):
        engine.begin()
        sound = say("repeat that")
        partial: set[tuple[str, ...]] = set()
        for start in range(0, len(sound), 320):
            partial.add(engine.feed(sound[start : start + 320]))
        heard = engine.finish()
        if heard.words == ("repeat", "that"):
            break
    assert heard.words == ("repeat", "that")
    assert ("repeat", "that") in partial
    assert [word.text for word in heard.timed] == ["repeat", "that"]
    assert 0.2 < heard.timed[0].began_s < heard.timed[0].ended_s <= heard.timed[1].ended_s < len(sound) / RATE


def test_the_grammar_changes_between_utterances(engine: Sphinx, grammars: Grammars) -> None:
    for _ in range(3):
        engine.use(grammars.state("step"))
        assert words(engine, "next") == ("next",)
        engine.use(grammars.state("ask"))
        assert words(engine, "yes") == ("yes",)


def test_a_change_within_an_utterance_is_a_mistake_of_the_caller(engine: Sphinx, grammars: Grammars) -> None:
    engine.use(grammars.state("step"))
    engine.begin()
    with pytest.raises(RuntimeError):
        engine.use(grammars.state("ask"))
    engine.finish()


def test_a_word_it_lacks_is_pronounced_by_the_lexicon(engine: Sphinx, grammars: Grammars) -> None:
    assert not engine.missing(frozenset({"varrow", "next"}))
    engine.use(grammars.state("ask"))
    assert words(engine, "tighten varrow") == ("tighten", "varrow")


def test_a_word_without_pronunciation_is_reported_and_the_rest_still_heard(engine: Sphinx, grammars: Grammars) -> None:
    state = grammars.state("foreign")
    assert engine.missing(state.words) == {"grüße"}
    engine.use(state)
    assert words(engine, "yes") == ("yes",)


def listener(engine: Sphinx, state: StateGrammar) -> Listener:
    return Listener(engine, FrontEnd(), state)


def test_the_listener_gives_events_in_order_at_the_callers_time(engine: Sphinx, grammars: Grammars) -> None:
    ears = listener(engine, grammars.state("step"))
    sound = np.concatenate([say("next"), say("repeat that")])
    events = []
    for start in range(0, len(sound), 320):
        events += ears.feed(sound[start : start + 320], 1000.0 + start / RATE)
    events += ears.end()
    utterances = [event for event in events if isinstance(event, Utterance)]
    assert [one.intent.name for one in utterances if one.intent] == ["next", "repeat"]
    assert [type(event) for event in events if not isinstance(event, WordsSoFar)] == [VoiceBegan, Utterance] * 2
    starts = [event.at_s for event in events if isinstance(event, VoiceBegan)]
    assert starts == pytest.approx([one.began_s for one in utterances], abs=0.01)
    assert utterances[0].began_s == pytest.approx(1000.3, abs=0.12)
    assert utterances[1].began_s == pytest.approx(1000.3 + len(say("next")) / RATE, abs=0.12)


def test_a_new_grammar_waits_for_the_end_of_the_utterance(engine: Sphinx, grammars: Grammars) -> None:
    ears = listener(engine, grammars.state("step"))
    sound = np.concatenate([say("next"), say("yes")])
    events = []
    changed = False
    for start in range(0, len(sound), 320):
        events += ears.feed(sound[start : start + 320])
        if ears.front.speaking and not changed:
            ears.use(grammars.state("ask"))
            changed = True
    events += ears.end()
    found = [event for event in events if isinstance(event, Utterance) and event.intent]
    assert [(one.intent.name, one.state) for one in found if one.intent] == [("next", "step"), ("yes", "ask")]


def test_lost_sound_ends_the_utterance_before_the_gap(engine: Sphinx, grammars: Grammars) -> None:
    ears = listener(engine, grammars.state("step"))
    word = say("next")[: int(0.65 * RATE)]
    events = ears.feed(word, 10.0)
    assert not [event for event in events if isinstance(event, Utterance)]
    events += ears.feed(say("stop"), 70.0) + ears.end()
    first, second = [event for event in events if isinstance(event, Utterance)]
    assert first.ended_s < 11.0
    assert second.began_s == pytest.approx(70.3, abs=0.12)


def test_a_file_gives_one_result_per_utterance_whatever_came_before(
    engine: Sphinx, grammars: Grammars, tmp_path: Path
) -> None:
    path = tmp_path / "two.wav"
    soundfile.write(path, np.concatenate([say("next"), say("stop")]), RATE)
    ears = listener(engine, grammars.state("step"))
    first = hear_file(path, ears)
    assert [one.hearing.words for one in first] == [("next",), ("stop",)]
    ears.feed(say("repeat that")[: RATE // 2])
    again = hear_file(path, ears)
    assert [one.hearing.words for one in again] == [one.hearing.words for one in first]
    assert [one.began_s for one in again] == pytest.approx([one.began_s for one in first])
    assert [one.ended_s for one in again] == pytest.approx([one.ended_s for one in first])
    assert 0.1 < first[0].began_s < first[0].ended_s < first[1].began_s


@pytest.mark.parametrize("seconds", [0.0, 1.0, 4.0])
def test_a_file_without_speech_says_so(engine: Sphinx, grammars: Grammars, tmp_path: Path, seconds: float) -> None:
    path = tmp_path / "quiet.wav"
    soundfile.write(path, np.zeros(int(seconds * RATE)), RATE)
    (only,) = hear_file(path, listener(engine, grammars.state("step")))
    assert (only.intent, only.why, only.hearing.words) == (None, NO_SPEECH, ())


def test_half_a_phrase_is_refused_with_a_reason(engine: Sphinx, grammars: Grammars) -> None:
    """ "repeat that" is the phrase; its first word alone is not taken for the whole of it."""
    ears = listener(engine, grammars.state("step"))
    whole, half = ears.whole(say("repeat that")), ears.whole(say("repeat"))
    assert whole.intent is not None
    assert (whole.intent.name, whole.why) == ("repeat", "")
    assert (half.hearing.words, half.intent, half.why) == ((), None, NOTHING_HEARD)


def test_silence_is_nothing_heard(engine: Sphinx, grammars: Grammars) -> None:
    quiet = listener(engine, grammars.state("step")).whole(np.zeros(RATE, np.float32))
    assert (quiet.intent, quiet.why) == (None, NOTHING_HEARD)
