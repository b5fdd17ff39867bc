"""The address word in sound: a neural voice says it, `phones` hears it, the grammar decides."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import soxr

from bayvoice.ears.base import RATE
from bayvoice.ears.choose import choose, lexicon_of
from bayvoice.ears.front import FrontEnd
from bayvoice.ears.listener import CALLED, CALLED_S, SAY_FIRST, Listener, Utterance
from bayvoice.host.datafiles import read_procedure
from bayvoice.language.address import Address, AddressMode
from bayvoice.runtime.grammars import addressed_grammars
from bayvoice.voice.piper import PiperVoice


@cache
def voice() -> PiperVoice:
    """A voice that is not the product's."""
    return PiperVoice()


@cache
def listener() -> Listener:
    """The default ears in a running job that wants "bay" before what binds."""
    lexicon = lexicon_of("en")
    ours = addressed_grammars(read_procedure("k40-transfer-cover"), ("Ruth",), Address(AddressMode.GUARDED), lexicon)
    grammar = ours.state("any")
    recogniser, notices = choose("phones", grammar.words, lexicon=lexicon)
    assert not notices
    return Listener(recogniser, FrontEnd(), grammar)


def hear(text: str) -> Utterance:
    """`text`, said and heard whole."""
    sound = voice().render(text)
    return listener().whole(np.asarray(soxr.resample(sound.samples, sound.rate, RATE), dtype=np.float32))


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("bay next step", "next"),
        ("bay, yes", "yes"),
        ("bay, skip this step", "skip"),
        ("bay, thirty two point five newton metres", "record"),
        ("bay, which step", "where"),
        ("repeat that", "repeat"),
    ],
)
def test_what_is_addressed_or_needs_no_address_is_understood(text: str, meant: str) -> None:
    """With its word in front, and where none is needed without."""
    found = hear(text)
    assert found.intent is not None, (found.hearing.words, found.why)
    assert found.intent.name == meant


@pytest.mark.parametrize("text", ["next step", "yes it is", "start the clock", "thirty two point five newton metres"])
def test_what_is_not_addressed_is_told_what_it_lacks(text: str) -> None:
    """It is heard for what it is, nothing is done, and the reason names the word."""
    found = hear(text)
    assert found.intent is None
    assert found.why == 'say "bay" first', found.hearing.words


def stream(*parts: str | float) -> list[Utterance]:
    """Texts, and seconds of quiet between them, through the gate as they come."""
    pieces = [np.zeros(RATE, np.float32)]
    for part in parts:
        if isinstance(part, str):
            said = voice().render(part)
            pieces.append(np.asarray(soxr.resample(said.samples, said.rate, RATE), np.float32))
        else:
            pieces.append(np.zeros(int(part * RATE), np.float32))
    ears = listener()
    ears.reset()
    sound = np.concatenate([*pieces, np.zeros(2 * RATE, np.float32)])
    events = ears.feed(sound) + ears.end()
    return [one for one in events if isinstance(one, Utterance)]


def test_a_pause_after_the_address_word_loses_nothing() -> None:
    """People call, and go on when they feel listened to; much later the call is forgotten."""
    called, heard = stream("bay", 1.0, "next step")
    assert called.intent is None
    assert called.why == CALLED.format(word="bay")
    assert heard.intent is not None
    assert heard.intent.name == "next"
    *_, late = stream("bay", CALLED_S + 1.5, "next step")
    assert late.intent is None
    assert late.why == SAY_FIRST.format(word="bay")


def test_one_call_is_for_one_utterance() -> None:
    """What is said after the one that was called for needs its own call."""
    _, first, second = stream("bay", 1.0, "next step", 0.9, "next step")
    assert first.intent is not None
    assert second.intent is None
