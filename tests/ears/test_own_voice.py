"""The product's own voice in its microphone: nothing it says acts, and "stop" is heard through it."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from functools import cache

import numpy as np
import pytest

from bayvoice.dialogue.engine.effects import Say
from bayvoice.dialogue.engine.events import Began, Heard, SpeechBegan, Stamp
from bayvoice.dialogue.session import handle
from bayvoice.ears.base import RATE, Samples
from bayvoice.ears.front import FrontEnd
from bayvoice.ears.listener import HEARD_BEFORE, OWN_VOICE, Listener, Utterance
from bayvoice.ears.overhear import HEARD_THROUGH, HEARD_THROUGH_COUNT, Spotter
from bayvoice.ears.ownwords import OwnWords
from bayvoice.ears.phones import Phones
from bayvoice.errors import BayError
from bayvoice.language.grammar import Grammars
from bayvoice.runtime.grammars import grammars_for, wording
from bayvoice.voice.piper import PiperVoice
from bayvoice.voice.render import SpokenVoice
from tests.ears.own_voice import COUNT, counted, said, scaled, stops
from tests.espeak import say
from tests.material import PEOPLE
from tests.stage import new_state, shipped

COMMANDS = (
    "Step 4. Undo the bolts in the order 1 to 8. Say next when all are loose.",
    "Step 1. Step 2. Step 14. Next step.",
    "Step 5. Turn the crankshaft clockwise to top dead centre.",
    "Step 2. Let the starter capacitor discharge.",
    "Next. Go. Yes. No.",
    "Say go when it begins: cure. Then go back to step 2.",
    "Record 32.5 newton metres? Yes or no?",
    "Cover bolt torque: 32.5 newton metres.",
    "Count in 2 rags. Count out 1 guide pin. Skip step because part missing.",
    "Time left: 10 minutes. Pause the job? Help. Repeat that.",
)
STOPPING = ("Stop. Something is not in order.", "Say stop to be quiet. Stop talking.")


@cache
def recogniser() -> Phones:
    return Phones()


@cache
def echo(text: str) -> Samples:
    # On a machine with more to do than it can, a sentence may take longer than a job would wait for it.
    for _ in range(4):
        with contextlib.suppress(BayError):
            return said(voice(), text)
    return said(voice(), text)


@cache
def voice() -> SpokenVoice:
    return SpokenVoice()


@pytest.fixture(autouse=True, scope="module")
def silent_afterwards() -> Iterator[None]:
    yield
    voice().close()


@cache
def grammars() -> Grammars:
    return grammars_for(shipped("k40-transfer-cover"), ("Kofi",))


def listener(state: str = "any") -> Listener:
    return Listener(recogniser(), FrontEnd(), grammars().state(state), recogniser().spotter())


def heard(sound: Samples, saying: str, state: str = "any") -> list[Utterance]:
    """Utterances in `sound`, all of it while the product says `saying`, and a second of quiet after it."""
    ears = listener(state)
    ears.own_voice(saying)
    found: list[Utterance] = []
    sound = np.concatenate([sound, np.zeros(RATE, np.float32)])
    for start in range(0, len(sound), RATE // 50):
        found += [one for one in ears.feed(sound[start : start + RATE // 50]) if isinstance(one, Utterance)]
    return found


def acted(found: list[Utterance]) -> list[str]:
    """What a job does on `found` while its loudspeaker speaks."""
    state = new_state("own", shipped("k40-transfer-cover"), wording())
    state, effects = handle(state, Began(Stamp(0.0, 0.0), "Imre"))
    uids = sorted(state.talk.queued)
    assert uids or any(isinstance(effect, Say) for effect in effects)
    state, _ = handle(state, SpeechBegan(Stamp(0.1, 0.1), uids[0]))
    done = []
    for one in found:
        at, hearing = Stamp(1.0 + one.ended_s, 1.0 + one.ended_s), one.hearing
        after, _ = handle(
            state,
            Heard(
                at,
                hearing.words,
                one.intent,
                hearing.engine,
                hearing.margin,
                1.0 + one.began_s,
                1.0 + one.ended_s,
                one.why,
                hearing.sure,
            ),
        )
        assert after.heard is not None
        if after.heard.made:
            done.append(after.heard.made)
    return done


@pytest.mark.parametrize("level_db", [-6.0, -12.0, -20.0])
@pytest.mark.parametrize("text", COMMANDS)
def test_what_the_product_says_does_nothing(text: str, level_db: float) -> None:
    """Commands, numbers and units in its own voice, at three strengths of echo."""
    assert acted(heard(scaled(echo(text), level_db), text)) == []


@pytest.mark.parametrize("level_db", [-6.0, -20.0])
@pytest.mark.parametrize("text", STOPPING)
def test_its_own_stop_does_not_stop_it(text: str, level_db: float) -> None:
    """The ears know what is being said."""
    assert acted(heard(scaled(echo(text), level_db), text)) == []


def test_the_same_sound_from_a_person_would_stop_it() -> None:
    """The rule is what keeps the word back, not deafness."""
    sound = np.concatenate([np.zeros(RATE // 2, np.float32), scaled(say("stop"), 0)])
    assert acted(heard(sound, "Undo the bolts.")) == ["stop"]
    (refused,) = heard(sound, "Say stop.")
    assert refused.why == OWN_VOICE


def test_a_stop_before_or_after_its_own_stop_counts() -> None:
    """Only around the moment at which the product says the word itself is there no telling whose it is."""
    late = np.concatenate([np.zeros(4 * RATE, np.float32), scaled(say("stop"), 0)])
    assert acted(heard(late, "Stop. Undo the bolts in the order 1 to 8, and say next when all are loose.")) == ["stop"]
    early = np.concatenate([np.zeros(RATE // 2, np.float32), scaled(say("stop"), 0)])
    told = "Undo the bolts in the order 1 to 8 and say next when all of them are loose, or say stop."
    assert acted(heard(early, told)) == ["stop"]


@pytest.mark.parametrize("piper", [False, True])
def test_the_moments_of_its_own_stop_are_known(piper: bool) -> None:
    """What is rendered up to and with the word lies inside the stretch that is worked out for it, in both voices."""
    speaker = PiperVoice() if piper else voice()
    for before in ("", "Say", "Undo the bolts in the order 1 to 8. When all are loose, say", "32.5 newton metres. To"):
        words = OwnWords("stop")
        words.begin(f"{before} stop talking.".strip().capitalize(), 10.0)
        whole = speaker.render(f"{before} stop.".strip())
        ended = 10.0 + len(whole.samples) / whole.rate
        assert words.between(ended - 0.45, ended)
        words.end(ended + 1.0)
        assert words.between(ended - 0.45, ended)
        assert not words.between(ended + 4.0, ended + 5.0)


def test_one_stop_is_acted_on_once() -> None:
    """The gate and the spotter both hear it where the echo is faint."""
    found = heard(np.concatenate([np.zeros(RATE // 2, np.float32), scaled(say("stop"), 0)]), "Undo the bolts.")
    assert len([one for one in found if one.intent is not None]) == 1
    assert {one.why for one in found} <= {"", HEARD_BEFORE}


def test_the_word_is_found_where_it_is() -> None:
    """Times of the word in a second of sound, and nothing in another word."""
    spotter: Spotter = recogniser().spotter()
    word = say("stop")
    found = spotter.look(word)
    assert found is not None
    length = len(word) / RATE
    assert 0.25 < length - found.began_ago_s < length - found.ended_ago_s < length - 0.5
    assert all(spotter.look(say(other)) is None for other in ("banana", "step", "step four"))


PEOPLE_SAY_STOP = pytest.mark.skipif(not PEOPLE.is_dir(), reason="recordings of people are not here: ../shared/speech")


def through(sound: Samples, word: Samples, at_s: float, saying: str) -> bool:
    """Whether a job stops at `word`, said into `sound` at `at_s`."""
    mixed = np.concatenate([sound, np.zeros(RATE // 2, np.float32)])
    at = round(at_s * RATE)
    mixed[at : at + len(word)] += word[: len(mixed) - at]
    return "stop" in acted(heard(mixed, saying))


@PEOPLE_SAY_STOP
@pytest.mark.parametrize("level_db", sorted(HEARD_THROUGH))
def test_a_persons_stop_is_heard_through_it_as_often_as_is_claimed(level_db: float) -> None:
    """People of the judging half, whom nothing was tuned on, into the reading of a step.

    What is claimed is the lower end of the interval of what the bench measured.
    """
    text = COMMANDS[0]
    step = scaled(echo(text), level_db)
    words = stops(99, "judging")[::3]
    got = sum(through(step, scaled(word, 0), 0.5 + 0.1 * n, text) for n, word in enumerate(words))
    assert got >= HEARD_THROUGH[level_db] * len(words), f"{got} of {len(words)}"


@PEOPLE_SAY_STOP
@pytest.mark.parametrize("level_db", sorted(HEARD_THROUGH_COUNT))
def test_a_persons_stop_is_heard_through_the_count_of_a_lift(level_db: float) -> None:
    """The count is mixed as for a real lift, tones and all; the word falls anywhere in it."""
    count = scaled(counted(voice()), level_db)
    words = stops(99, "judging")[1::3]
    last_s = len(count) / RATE - 0.8
    got = sum(
        through(count, scaled(word, 0), 0.2 + (last_s - 0.2) * n / len(words), COUNT) for n, word in enumerate(words)
    )
    assert got >= HEARD_THROUGH_COUNT[level_db] * len(words), f"{got} of {len(words)}"


@pytest.mark.parametrize("level_db", [-6.0, -12.0, -20.0])
def test_the_count_does_not_stop_itself(level_db: float) -> None:
    """Nor is anything else in it acted on."""
    assert acted(heard(scaled(counted(voice()), level_db), COUNT)) == []
