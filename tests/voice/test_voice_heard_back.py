"""What the product says, heard back by recognisers: the words arrive, not the symbols."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
import soxr
from numpy.typing import NDArray
from pocketsphinx import Decoder

from bayvoice.ears.phones import Phones
from bayvoice.language.grammar import Grammars
from bayvoice.voice.base import Voice
from bayvoice.voice.piper import PiperVoice
from bayvoice.voice.render import SpokenVoice

# What a procedure has, and what must be heard. Words the recogniser's dictionary knows.
SAID = {
    "32.5 N·m": "thirty two point five newton meters",
    "0.05 mm": "zero point zero five millimeters",
    "90°": "ninety degrees",
    "1 N·m": "one newton meter",
    "M8x1.25": "em eight by one point two five",
    "12 min": "twelve minutes",
    "3/8 in": "three eighths inch",
    "10–15 min": "ten to fifteen minutes",
    "+60 deg": "plus sixty degrees",
    "-5 °C": "minus five degrees celsius",
    "PTFE": "pee tee ef ee",
    "K40": "kay forty",
    "VT-2041": "vee tee two zero four one",
    "1,200 rpm": "one thousand two hundred are pee em",
    "5 thou": "five thow",
    "2.4 bar": "two point four bar",
    "32.5 ± 0.5 N·m": "thirty two point five plus or minus zero point five newton meters",
    "250 ml": "two hundred and fifty milliliters",
    "No. 7": "number seven",
    "14 V": "fourteen volts",
}

# What a voice would say that is left alone with the symbols, and neighbours that must not be heard instead.
NOT_SAID = (
    "thirty two point five en em",
    "zero point zero five em em",
    "ninety",
    "one en em",
    "em eight ex one point two five",
    "twelve min",
    "three slash eight in",
    "ten fifteen min",
    "plus sixty dee ee jee",
    "minus five see",
    "vee tee two thousand and forty one",
    "one comma two hundred are pee em",
    "five tea aitch oh you",
    "two four bar",
    "two hundred and fifty em ell",
    "no seven",
    "fourteen vee",
    "ten to fifty minutes",
    "nineteen degrees",
    "thirty two point nine newton meters",
    "twenty minutes",
    "forty volts",
)

# Not in the CMU dictionary that pocketsphinx brings, or there with another sound than is meant here.
SOUNDS = {
    "ef": "EH F",
    "thow": "TH AW",
    "vee": "V IY",
    "tee": "T IY",
    "pee": "P IY",
    "em": "EH M",
    "en": "EH N",
    "ell": "EH L",
    "milliliters": "M IH L AH L IY T ER Z",
    "aitch": "EY CH",
    "millimeters": "M IH L AH M IY T ER Z",
}


def at_16k(voice: Voice, text: str) -> NDArray[np.float32]:
    """The product's voice at 16 kHz with a quarter of a second of quiet on both sides."""
    sound = voice.render(text)
    quiet = np.zeros(4000, np.float32)
    return np.concatenate([quiet, soxr.resample(sound.samples, sound.rate, 16_000), quiet]).astype(np.float32)


def grammar(rule: str, ending: str = "") -> str:
    choices = " | ".join(f"({phrase}{ending})" for phrase in (*SAID.values(), *NOT_SAID))
    return f"#JSGF V1.0;\ngrammar states;\npublic <{rule}> = {choices};\n"


def by_pocketsphinx(voice: Voice) -> dict[str, str]:
    decoder = Decoder(samprate=16_000, loglevel="FATAL", beam=1e-120, pbeam=1e-120, wbeam=1e-100, maxhmmpf=-1)
    for word, sounds in SOUNDS.items():
        if decoder.lookup_word(word) is None:
            decoder.add_word(word, sounds, True)
    decoder.add_jsgf_string("said", grammar("said"))
    decoder.activate_search("said")
    heard = {}
    for text in SAID:
        decoder.start_utt()
        decoder.process_raw((at_16k(voice, text) * 32_000).astype("<i2").tobytes(), full_utt=True)
        decoder.end_utt()
        found = decoder.hyp()
        heard[text] = "" if found is None else found.hypstr
    return heard


def by_phones(voice: Voice) -> dict[str, str]:
    recogniser = Phones()
    recogniser.use(Grammars({"states.gram": grammar("said", " {yes}")}).state("said"))
    heard = {}
    for text in SAID:
        recogniser.begin()
        recogniser.feed(at_16k(voice, text))
        heard[text] = " ".join(recogniser.finish().words)
    return heard


Listen = Callable[[Voice], dict[str, str]]


# pocketsphinx makes nothing of a formant voice under a list of whole phrases (1 of 20), so it hears the other voice.
@pytest.mark.parametrize(
    ("make", "listen", "least"), [(SpokenVoice, by_phones, 16), (PiperVoice, by_pocketsphinx, 14)], ids=["own", "other"]
)
def test_words_are_heard_not_symbols(make: Callable[[], Voice], listen: Listen, least: int) -> None:
    """Of twenty wordings most are picked from among themselves and twenty-two wrong ones."""
    voice = make()
    try:
        heard = listen(voice)
    finally:
        voice.close()
    wrong = {text: said for text, said in heard.items() if said != SAID[text]}
    assert len(SAID) - len(wrong) >= least, wrong
