"""The recogniser `phones`: pronunciations, and synthesised speech heard and foreign speech refused."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import soxr

from bayvoice.ears.base import RATE, Hearing, Samples
from bayvoice.ears.phones import Phones
from bayvoice.ears.pronounce import INDEX, PHONES, Lexicon
from bayvoice.errors import BayError
from bayvoice.host.datafiles import data_folder
from bayvoice.language.grammar import Grammars, StateGrammar
from bayvoice.language.intents import Intent
from bayvoice.language.risk import Verdict, weigh
from bayvoice.voice.piper import PiperVoice

ADDITIONS = data_folder("grammars") / "en" / "pronunciations.toml"


def spelt(lexicon: Lexicon, word: str) -> set[str]:
    return {" ".join(PHONES[phone] for phone in said) for said in lexicon(word)}


def test_words_have_the_dictionarys_pronunciations() -> None:
    """As the CMU pronouncing dictionary lists them (the copy inside pocketsphinx)."""
    lexicon = Lexicon()
    assert spelt(lexicon, "zero") == {"Z IH R OW", "Z IY R OW"}
    assert spelt(lexicon, "torque") == {"T AO R K"}


def test_the_language_adds_and_overrides() -> None:
    """Workshop words: "thou" is a thousandth of an inch, and British forms stand beside American ones."""
    lexicon = Lexicon(ADDITIONS.read_text(encoding="utf-8"))
    assert spelt(lexicon, "thou") == {"TH AW"}
    assert spelt(lexicon, "torque") == {"T AO R K", "T AO K"}


def test_words_no_list_knows_are_worked_out() -> None:
    """Plurals, joined words and names: every one has some pronunciation of English phones."""
    lexicon = Lexicon()
    assert spelt(lexicon, "dowels") == {"D AW AH L Z"}
    assert spelt(lexicon, "newton-metre") == {"N UW T AH N M IY T ER"}
    assert spelt(lexicon, "hollin")
    assert Phones(lexicon).missing(frozenset({"varrow", "§", "stop"})) == {"§"}


@pytest.mark.parametrize(("text", "says"), [('[words]\nthou = "TH OWW"', "OWW"), ("[words", "not valid TOML")])
def test_bad_additions_are_named(text: str, says: str) -> None:
    """A wrong phone or wrong TOML gives one sentence with the file."""
    with pytest.raises(BayError, match=says) as caught:
        Lexicon(text, "mine.toml")
    assert caught.value.where == "mine.toml"


@cache
def everything() -> StateGrammar:
    folder = data_folder("grammars") / "en"
    texts = {path.name: path.read_text(encoding="utf-8") for path in folder.glob("*.gram")}
    fills = {"thing": ("rag", "guide pin"), "measurement": ("cover bolt torque",), "person": ("Kofi",)}
    return Grammars(texts, fills).state("any")


@cache
def recogniser() -> Phones:
    return Phones(Lexicon(ADDITIONS.read_text(encoding="utf-8")))


@cache
def voice() -> PiperVoice:
    return PiperVoice()


def say(text: str) -> Samples:
    sound = voice().render(text)
    quiet = np.zeros(RATE // 4, dtype=np.float32)
    return np.concatenate([quiet, soxr.resample(sound.samples, sound.rate, RATE), quiet]).astype(np.float32)


def hear(samples: Samples) -> tuple[Hearing, Intent | None]:
    ears = recogniser()
    ears.use(everything())
    ears.begin()
    for at in range(0, len(samples), 1600):
        ears.feed(samples[at : at + 1600])
    hearing = ears.finish()
    intent = None if hearing.why else everything().match(hearing.words)
    sure = intent is not None and weigh("any", intent.name, hearing.sure) is Verdict.ACT
    return hearing, intent if sure else None


@pytest.mark.parametrize(
    "text",
    [
        "next step",
        "repeat that",
        "stop",
        "yes",
        "which step",
        "go back",
        "how much time",
        "thirty two point five newton metres",
        "count in two rags",
        "point two five millimetres",
    ],
)
def test_synthesised_speech_is_heard(text: str) -> None:
    """A neural voice says it, the meaning arrives, and the times lie inside the sound."""
    samples = say(text)
    hearing, intent = hear(samples)
    assert intent is not None, (hearing.words, hearing.why)
    assert intent == everything().match(text.split())
    assert hearing.margin is not None
    ends = [0.0, *(edge for word in hearing.timed for edge in (word.began_s, word.ended_s))]
    assert ends == sorted(ends)
    assert ends[-1] <= len(samples) / RATE


@pytest.mark.parametrize(
    "text",
    [
        "did you see the game last night",
        "could you bring me a coffee please",
        "banana",
        "window",
        "my sister is coming on friday",
        "the radio is far too loud",
    ],
)
def test_other_talk_is_refused(text: str) -> None:
    """What the grammar does not hold is not acted on: refused with a reason, or too unsure for what it would do."""
    hearing, intent = hear(say(text))
    assert intent is None, hearing.words
    assert hearing.why or (hearing.sure is not None and hearing.sure < 0)


@pytest.mark.parametrize("seconds", [0.0, 0.01, 0.1, 2.0])
def test_silence_and_scraps_of_noise_are_refused(seconds: float) -> None:
    """No sound, a click, and two seconds of noise: nothing is heard, and nothing fails."""
    rng = np.random.default_rng(3)
    for level in (0.0, 0.2):
        _, intent = hear((level * rng.standard_normal(int(seconds * RATE))).astype(np.float32))
        assert intent is None


def test_a_grammar_is_compiled_once() -> None:
    """Coming back to a state takes the network that was made for it."""
    ears = Phones(Lexicon())
    ears.use(everything())
    first = ears._active
    ears.use(everything())
    assert ears._active is first


def test_the_phone_set_is_the_dictionarys() -> None:
    """39 phones, as the CMU dictionary's phone list has."""
    assert len(PHONES) == 39
    assert INDEX["ZH"] == 38
