"""When an utterance ends: at once after a whole phrase, later where more may come, much later inside a number."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import soxr

from bayvoice.ears.base import RATE, Hearing, Samples
from bayvoice.ears.endings import Ending, Endings
from bayvoice.ears.front import FrontEnd
from bayvoice.ears.listener import Listener, Utterance
from bayvoice.ears.phones import Phones
from bayvoice.ears.pronounce import Lexicon
from bayvoice.host.datafiles import data_folder, read_procedure
from bayvoice.language.grammar import Grammars
from bayvoice.runtime.grammars import grammars_for
from bayvoice.voice.piper import PiperVoice

ADDITIONS = data_folder("grammars") / "en" / "pronunciations.toml"


@cache
def grammars() -> Grammars:
    return grammars_for(read_procedure("k40-transfer-cover"), ("Kofi",))


class Counted(Phones):
    """The recogniser, counting how often it decodes."""

    decodings = 0

    def _decode(self, samples: Samples) -> Hearing:
        self.decodings += 1
        return super()._decode(samples)


@cache
def recogniser() -> Counted:
    return Counted(Lexicon(ADDITIONS.read_text(encoding="utf-8")))


@cache
def said(text: str) -> Samples:
    """`text` by a neural voice at 16 kHz, without the quiet around it (frames 40 dB below the loudest)."""
    sound = _voice().render(text)
    samples = np.asarray(soxr.resample(sound.samples, sound.rate, RATE), np.float32)
    power = np.square(samples[: len(samples) // 160 * 160].reshape(-1, 160)).mean(axis=1)
    loud = np.flatnonzero(power > power.max() * 1e-4)
    return samples[loud[0] * 160 : (loud[-1] + 1) * 160]


@cache
def _voice() -> PiperVoice:
    return PiperVoice()


def quiet(seconds: float) -> Samples:
    """A quiet room: hiss 70 dB below full scale."""
    return np.asarray(np.random.default_rng(1).normal(size=int(seconds * RATE)) * 3e-4, np.float32)


def heard(*parts: Samples) -> list[tuple[Utterance, float]]:
    """Utterances and the second of the stream each was given in; 1.5 s of quiet follow the parts."""
    listener = Listener(recogniser(), FrontEnd(), grammars().state("any"))
    sound = np.concatenate([quiet(0.7), *parts, quiet(1.5)])
    found: list[tuple[Utterance, float]] = []
    for start in range(0, len(sound), RATE // 50):
        events = listener.feed(sound[start : start + RATE // 50])
        found += [(event, start / RATE) for event in events if isinstance(event, Utterance)]
    return found


@pytest.mark.parametrize(
    ("state", "words", "ending"),
    [
        ("any", "next", Ending.OVER),
        ("any", "next step", Ending.OVER),
        ("any", "yes", Ending.OVER),
        ("any", "stop", Ending.OVER),
        ("check", "no", Ending.OVER),
        ("any", "count in two rags", Ending.OVER),
        ("any", "thirty two point five newton metres", Ending.OVER),
        ("any", "go", Ending.FEW),
        ("any", "twelve degrees", Ending.FEW),
        ("confirm", "no", Ending.MORE),
        ("any", "skip step", Ending.MORE),
        ("any", "count in", Ending.MORE),
        ("any", "record", Ending.MORE),
        ("any", "", Ending.MORE),
        ("any", "banana", Ending.MORE),
        ("any", "thirty", Ending.NUMBER),
        ("any", "thirty two point", Ending.NUMBER),
        ("any", "minus", Ending.NUMBER),
    ],
)
def test_what_may_follow_decides(state: str, words: str, ending: Ending) -> None:
    """Words that could not change the meaning are not waited for; a value is."""
    assert Endings(grammars().state(state)).after(tuple(words.split())) is ending


@pytest.mark.parametrize("text", ["next", "stop", "repeat that", "thirty two point five newton metres"])
def test_a_whole_phrase_ends_at_once_and_is_decoded_once(text: str) -> None:
    """It is given 0.3 s after its end at the latest, in the sound's own time."""
    ears = recogniser()
    ears.decodings = 0
    ((utterance, at_s),) = heard(said(text))
    assert utterance.intent == grammars().state("any").match(text.split())
    assert at_s - (0.7 + len(said(text)) / RATE) < 0.3
    assert ears.decodings <= 1 + text.count(" ")


@pytest.mark.parametrize(
    ("parts", "value"), [(("forty", "two point five"), "42.5"), (("one hundred", "and five", "newton metres"), "105")]
)
def test_a_number_with_pauses_stays_whole(parts: tuple[str, ...], value: str) -> None:
    """Half a second of quiet inside a number does not end it."""
    sounds = [piece for part in parts for piece in (said(part), quiet(0.5))]
    ((utterance, _),) = heard(*sounds[:-1])
    assert utterance.intent is not None, utterance.hearing
    assert str(utterance.intent.value) == value


def test_two_commands_one_after_the_other_are_two() -> None:
    """Half a second between them is enough."""
    found = heard(said("next"), quiet(0.5), said("repeat that"))
    assert [one.intent.name for one, _ in found if one.intent] == ["next", "repeat"]


def test_the_end_does_not_depend_on_the_length_of_blocks() -> None:
    """The same utterances from one block as from many."""
    sound = np.concatenate([quiet(0.7), said("next"), quiet(0.8), said("stop"), quiet(1.5)])
    listener = Listener(recogniser(), FrontEnd(), grammars().state("any"))
    whole = [event for event in listener.feed(sound) if isinstance(event, Utterance)]
    parts = [one for one, _ in heard(said("next"), quiet(0.8), said("stop"))]
    assert [one.hearing.words for one in whole] == [one.hearing.words for one in parts] == [("next",), ("stop",)]
