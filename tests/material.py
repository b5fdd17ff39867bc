"""What recognition is tried with: people where their recordings are present, and synthesised speech."""

from __future__ import annotations

import random
import shutil
import subprocess
import tempfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Final

import numpy as np
import soxr

from bayvoice.ears.wavefile import read_blocks, read_form
from bayvoice.errors import BayError
from bayvoice.language.intents import Intent
from bayvoice.language.numbers import to_words
from tests.noises import RATE, Sound

PEOPLE: Final = Path(__file__).resolve().parents[2] / "shared" / "speech"
COMMANDS: Final = (
    "next",
    "next step",
    "repeat",
    "repeat that",
    "say again",
    "go back",
    "previous step",
    "which step",
    "yes",
    "no",
    "go",
    "stop",
    "be quiet",
    "time left",
    "how long left",
    "how much time",
    "pause",
    "pause the job",
    "resume",
    "help",
    "which words",
    "take a note",
    "skip this step because part missing",
    "skip step",
    "count in two rags",
    "count out guide pin",
    "done",
    "start the clock",
    "sign as kofi",
)
UNITS: Final = (
    "newton metres",
    "millimetres",
    "thou",
    "degrees",
    "bar",
    "microns",
    "kilopascals",
    "volts",
    "litres",
    "inches",
    "degrees celsius",
    "grams",
    "seconds",
    "minutes",
    "foot pounds",
    "percent",
)
FOREIGN: Final = (
    "did you see the game last night",
    "my sister is coming on friday",
    "the weather looks bad again",
    "could you bring me a coffee please",
    "that lorry is blocking the gate",
    "we should order some pizza",
    "the radio is far too loud",
    "what are you doing tomorrow",
    "he said it was nobody's fault",
    "turn the lights off over there",
    "i cannot find my jacket",
    "she bought a new house by the river",
    "mind your head under the beam",
    "they never answer the phone",
    "put the kettle on will you",
    "where did you park this morning",
    "the boss wants to see us",
    "it smells like burning rubber",
    "give him a hand with that door",
    "my back is killing me today",
    "lunch",
    "window",
    "banana",
    "tomorrow",
    "football",
    "hello",
    "sorry",
    "thanks a lot",
    "good morning",
    "never mind",
)
"""Talk that must cause nothing; our own sentences."""


@dataclass(frozen=True, slots=True)
class Item:
    """One utterance: its group in the table, what is said ("" where nothing may be acted on), who says it, sound."""

    group: str
    text: str
    voice: str
    sound: Sound


def read(path: Path) -> Sound:
    """The sound of a WAV file at 16 kHz."""
    form = read_form(path)
    whole = np.concatenate(list(read_blocks(path, form, 1 << 20)))
    if form.rate != RATE:
        whole = soxr.resample(whole, form.rate, RATE)
    return np.asarray(whole, dtype=np.float32)


def judging(name: str) -> bool:
    """Whether a recording belongs to the judging half: by speaker, tuning never sees these."""
    speaker = name.split("_nohash_")[0].split("_")[-1] if "_nohash_" in name else name.split("-")[0]
    return zlib.crc32(speaker.encode()) % 2 == 1


def people(most: int, half: str = "judging") -> Iterator[Item]:
    """Recordings of one half of the speakers, at most `most` of each kind; nothing where the folder is absent.

    Args:
        most: files of each word; sentences, and every third of twice as many digits of a speaker.
        half: "judging", or "tuning" for what thresholds may be read off.
    """
    ours = half == "judging"
    for word in ("yes", "no", "stop", "go", "other"):
        files = [path for path in sorted((PEOPLE / "words" / word).glob("*.wav")) if judging(path.name) is ours]
        for path in files[:most]:
            if word == "other":
                yield Item("foreign words", path.name.split("_")[0], "person", read(path))
            else:
                yield Item("people", word, "person", read(path))
    digits = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
    for who in ("jackson", "nicolas") if ours else ("george", "theo"):
        for path in sorted((PEOPLE / "digits" / who).glob("*.wav"))[: 2 * most : 3]:
            yield Item("digits", digits[int(path.name[0])], who, read(path))
    for path in chatter(half)[:most]:
        yield Item("foreign sentences", "", "person", read(path))


def chatter(half: str) -> list[Path]:
    """Recorded sentences of one half of the speakers that must cause nothing."""
    return [path for path in sorted((PEOPLE / "chatter").glob("*.wav")) if judging(path.name) is (half == "judging")]


def voices(half: str = "judging") -> tuple[str, ...]:
    """Synthesised voices that work here.

    Those of the judging half were never learned from (see `tests.learn.speech`), and none is what the product speaks
    with unless it is told to (`piper:joe` is the voice that can be chosen in its place).
    """
    ours, found = half == "judging", list[str]()
    if shutil.which("espeak-ng"):
        found += (
            ["espeak:en-us+f4", "espeak:en-gb-scotland+m5", "espeak:en-gb-x-rp+m5", "espeak:en-029+m6"]
            if ours
            else ["espeak:en-us+m3", "espeak:en-gb+f2", "espeak:en-gb-x-gbclan+m7"]
        )
    if shutil.which("flite"):
        found += ["flite:rms"] if ours else ["flite:slt", "flite:awb"]
    if not ours:
        return tuple(found)
    try:
        import piper  # noqa: F401
    except ImportError:
        return tuple(found)
    return (*found, "piper:joe")


class Speakers:
    """Renders text with one of `voices`."""

    def __init__(self) -> None:
        self._joe: object = None

    def say(self, voice: str, text: str, rng: random.Random) -> Sound:
        """`text` said by `voice` at 16 kHz, with a quarter of a second of near silence around it."""
        kind, _, name = voice.partition(":")
        if kind == "piper":
            sound = self._piper(text)
        else:
            with tempfile.TemporaryDirectory() as folder:
                out = Path(folder) / "said.wav"
                pace, pitch = str(rng.randrange(120, 180)), str(rng.randrange(30, 70))
                command = (
                    ["espeak-ng", "-v", name, "-s", pace, "-p", pitch, "-w", str(out), text]
                    if kind == "espeak"
                    else ["flite", "-voice", name, "-t", text, "-o", str(out)]
                )
                subprocess.run(command, check=True, capture_output=True)
                sound = read(out)
        pad = np.zeros(RATE // 4, dtype=np.float32)
        return np.concatenate([pad, sound, pad])

    def _piper(self, text: str) -> Sound:
        from bayvoice.voice.piper import PiperVoice

        if self._joe is None:
            self._joe = PiperVoice()
        assert isinstance(self._joe, PiperVoice)
        said = self._joe.render(text)
        samples = np.asarray(said.samples, dtype=np.float32)
        return np.asarray(soxr.resample(samples, said.rate, RATE), dtype=np.float32)


def synthesised(each: int, seed: int = 1, half: str = "judging") -> Iterator[Item]:
    """Command phrases, measurements and foreign talk: `each` of every group for every voice of one half."""
    rng, speakers = random.Random(seed if half == "judging" else seed + 1), Speakers()
    for voice in voices(half):
        try:
            for text in rng.sample(COMMANDS, min(each, len(COMMANDS))):
                yield Item("commands", text, voice, speakers.say(voice, text, rng))
            for _ in range(each):
                text = f"{random_value(rng)} {rng.choice(UNITS)}"
                yield Item("measurements", text, voice, speakers.say(voice, text, rng))
            for text in rng.sample(FOREIGN, min(each, len(FOREIGN))):
                yield Item("foreign synthesised", "", voice, speakers.say(voice, text, rng))
        except BayError:
            continue


def random_value(rng: random.Random) -> str:
    """A value of the kind that is measured, in words."""
    kind = rng.random()
    if kind < 0.5:
        value = Decimal(rng.randrange(1, 1000)) / 10
    elif kind < 0.7:
        value = Decimal(rng.randrange(1, 1000)) / 100
    else:
        value = Decimal(rng.randrange(2, 400))
    return to_words(value)


def same(said: Intent | None, heard: Intent | None) -> bool:
    """Whether the meaning arrived: intent, value and unit."""
    if said is None or heard is None:
        return said is heard
    return (said.name, said.value, said.unit) == (heard.name, heard.value, heard.unit)
