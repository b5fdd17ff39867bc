"""A bay too loud to hear in and a dead microphone, through the real gate on made sound."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from bayvoice.ears.base import RATE, Samples
from bayvoice.ears.front import FRAME_S, FrontEnd
from bayvoice.ears.listener import Listener, Utterance
from bayvoice.ears.soundwatch import SoundMended, SoundTrouble, SoundWatch
from bayvoice.ears.sphinx_engine import Sphinx
from bayvoice.language.grammar import Grammars
from tests.espeak import say
from tests.noises import noise

STATES = "#JSGF V1.0; grammar states; public <step> = next {next} | repeat that {repeat} | stop {stop};"


@cache
def engine() -> Sphinx:
    return Sphinx()


def news(sound: Samples, recording: bool = False) -> list[tuple[str, str, float]]:
    """Trouble and its end in `sound`: what, part, second."""
    listener = Listener(engine(), FrontEnd(), Grammars({"states.gram": STATES}).state("step"))
    listener.watch = SoundWatch(FRAME_S, recording)
    return [
        (type(event).__name__, event.part, event.at_s)
        for event in listener.feed(sound)
        if isinstance(event, SoundTrouble | SoundMended)
    ]


def room(seconds: float, level_db: float = -60.0, kind: str = "pink") -> Samples:
    """Noise of the bay at a level, dB of full scale."""
    made = noise(kind, int(seconds * RATE), np.random.default_rng(5)) * 10 ** (level_db / 20)
    return np.asarray(np.clip(made, -1, 1), np.float32)


def silence(seconds: float) -> Samples:
    return np.zeros(int(seconds * RATE), np.float32)


def test_a_loud_bay_is_reported_and_its_end_too() -> None:
    """Noise at -12 dB of full scale leaves no room for a voice; three seconds of it are enough to say so."""
    first, second = news(np.concatenate([room(2), room(8, -12), room(6)]))
    assert first[:2] == ("SoundTrouble", "noise")
    assert 2 + 2.4 <= first[2] <= 2 + 4
    assert second[:2] == ("SoundMended", "noise")
    assert 10 < second[2] < 13.5


@pytest.mark.parametrize("kind", ["pink", "hammer", "hum", "mixed"])
def test_an_ordinary_bay_is_not_reported(kind: str) -> None:
    """20 dB under a raised voice."""
    assert news(room(15, -40, kind)) == []


def test_speech_is_no_noise() -> None:
    """Loud commands one after the other."""
    words = np.concatenate([say("repeat that"), say("next"), say("stop")])
    loud = np.clip(words / np.abs(words).max(), -1, 1).astype(np.float32)
    assert news(np.concatenate([loud, loud, loud])) == []


def test_an_overdriven_microphone_is_reported() -> None:
    trouble = news(np.clip(room(6, 10), -1, 1))
    assert [one[:2] for one in trouble] == [("SoundTrouble", "noise")]


def test_it_is_not_said_more_than_once_a_minute() -> None:
    """A compressor that runs ten seconds in every twenty."""
    told = news(np.concatenate([np.concatenate([room(10, -12), room(10)]) for _ in range(7)]))
    troubles = [at for kind, _, at in told if kind == "SoundTrouble"]
    assert len(troubles) == 3
    assert np.diff(troubles).min() >= 60


def test_a_microphone_that_gives_silence_is_reported_and_comes_back() -> None:
    """Ten seconds without the least noise."""
    first, second = news(np.concatenate([room(2), silence(14), room(3)]))
    assert first[:2] == ("SoundTrouble", "microphone")
    assert second[:2] == ("SoundMended", "microphone")
    assert (first[2], second[2]) == pytest.approx((12, 16), abs=0.3)
    assert [one[:2] for one in news(silence(12))] == [("SoundTrouble", "microphone")]


def test_a_recording_put_together_from_pieces_has_silence_in_it() -> None:
    """Between pieces it is no sign of a dead microphone; after the sound of a room it is."""
    pieces = np.concatenate([silence(12), say("next"), silence(12), say("stop"), silence(12)])
    assert news(pieces, recording=True) == []
    assert [one[:2] for one in news(np.concatenate([room(4), silence(12)]), True)] == [("SoundTrouble", "microphone")]


def test_how_loud_people_speak_here_decides() -> None:
    """Three commands understood at -30 dB: noise at -30 is too loud then, though not by itself."""
    watch = SoundWatch(FRAME_S)
    assert not any(watch.frame(-30.0, 0.0, False, at * FRAME_S) for at in range(200))
    for _ in range(3):
        watch.voice(-30.0, -60.0)
    found = [one for at in range(200, 400) for one in watch.frame(-30.0, 0.0, False, at * FRAME_S)]
    assert [type(one) for one in found] == [SoundTrouble]


def test_commands_are_still_heard_beside_it() -> None:
    """The watch takes nothing from the listener."""
    listener = Listener(engine(), FrontEnd(), Grammars({"states.gram": STATES}).state("step"))
    found = listener.feed(np.concatenate([room(1), say("repeat that"), room(1)]))
    assert [one.hearing.words for one in found if isinstance(one, Utterance)] == [("repeat", "that")]
