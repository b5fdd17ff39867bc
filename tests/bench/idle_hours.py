"""Hours in which nobody talks to the product: what it does all the same.

Usage: python -m tests.bench.idle_hours [--hours H] [--half judging|tuning] [--seed N]
       [--modes never,guarded,always] [--quick] [--json FILE]

A stretch of five minutes is one of five scenes in turn: people's sentences and single words one after another in a
quiet bay; the same over noise 5 to 20 dB below them; synthesised talk, quiet or over noise, as a radio would bring it;
babble of four talkers; noise alone. It runs in blocks of 20 ms through the real gate, end-pointing and recogniser,
faster than in life, once for each address mode. Everything a running job could hear is active all the time, which is
more than any single step has.

Counted for each mode: utterances the gate made, questions asked ("say again"), actions, and among these the guarded
ones, which advance, log or override. Two doubtful hearings of one intent within a few seconds act as they do in a job.
Single words that are whole commands or values (a digit, say) are left out: nobody could tell what they are meant for.
Sentences that hold such words are not.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import random
import sys
import time
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

# As the command line does it: before numpy is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from bayvoice.ears.base import Samples
from bayvoice.ears.choose import lexicon_of
from bayvoice.ears.front import FrontEnd
from bayvoice.ears.listener import Listener, Utterance
from bayvoice.ears.phones import Phones
from bayvoice.ears.phones_acoustics import Acoustics, Floats
from bayvoice.language.address import Address, AddressMode
from bayvoice.language.grammar import Grammars
from bayvoice.language.intents import GUARDED
from bayvoice.language.risk import AGREE_S, Verdict, weigh
from tests.bench.hearing import FILLS, GRAMMARS, grammar
from tests.material import FOREIGN, PEOPLE, Speakers, chatter, judging, read, voices
from tests.noises import KINDS, RATE, Sound, active_power, noise

STRETCH_S: Final = 300
BLOCK: Final = RATE // 50
SCENES: Final = ("sentences, quiet", "sentences over noise", "radio", "babble", "noise alone")
COUNTED: Final = ("utterances", "asked", "actions", "guarded", "values")
VOICE: Final = 0.08
"""Root of the active power of a voice, full scale 1."""
RADIO: Final = (
    "the traffic on the northern ring road is moving slowly this morning",
    "that was a song from nineteen eighty four",
    "rain will reach the coast by the evening and clear overnight",
    "nine people were hurt when a bus left the road",
    "the match ended two to one after extra time",
    "prices rose by three point two percent last year",
    "call us now and win a weekend for two",
    "more news at the top of the hour",
    "and now over to the sports desk",
    "the minister said there was no reason to wait",
    "stay with us after the break",
    "half past ten is the time",
)
"""Our own sentences; several hold words of the product's grammars."""


class Remembered(Acoustics):
    """Phone scores that are worked out once for the same sound, since the three modes hear the same."""

    def __init__(self) -> None:
        super().__init__()
        self._kept: dict[bytes, tuple[Floats, Floats]] = {}

    def scores(self, samples: Floats) -> tuple[Floats, Floats]:
        key = hashlib.sha1(samples.tobytes(), usedforsecurity=False).digest()
        if key not in self._kept:
            if len(self._kept) > 64:
                self._kept.pop(next(iter(self._kept)))
            self._kept[key] = super().scores(samples)
        return self._kept[key]


class Talk:
    """What is said in the bay without being meant for the product."""

    def __init__(self, half: str) -> None:
        ours = half == "judging"
        self.sentences = [read(path) for path in chatter(half)]
        known = grammar()
        words = [
            path
            for path in sorted((PEOPLE / "words" / "other").glob("*.wav"))
            if judging(path.name) is ours and not known.accepts((path.name.split("_")[0],))
        ]
        self.people = self.sentences + [read(path) for path in words]
        rng, speakers = random.Random(11), Speakers()
        self.radio = [
            speakers.say(voice, text, rng) for voice in voices(half) for text in rng.sample(FOREIGN + RADIO, 20)
        ]


def at_level(sound: Sound, root: float) -> Sound:
    """`sound` with the root of its active power at `root`."""
    return np.asarray(sound * (root / np.sqrt(active_power(sound))), np.float32)


def one_after_another(said: Sequence[Sound], samples: int, rng: np.random.Generator) -> Sound:
    """Talk with pauses of a third of a second to three seconds."""
    out, at = np.zeros(samples, np.float32), RATE
    while at < samples:
        piece = at_level(said[int(rng.integers(len(said)))], VOICE * 10 ** rng.uniform(-0.4, 0.2))
        end = min(samples, at + len(piece))
        out[at:end] += piece[: end - at]
        at = end + int(RATE * rng.uniform(0.3, 3.0))
    return out


def scene(kind: str, samples: int, rng: np.random.Generator, talk: Talk) -> Sound:
    """One stretch."""
    noises = KINDS[:4]
    under = noise(noises[int(rng.integers(len(noises)))], samples, rng) * VOICE
    hiss = np.asarray(rng.standard_normal(samples) * 3e-4, np.float32)
    if kind == "noise alone":
        return np.asarray(under * 10 ** rng.uniform(-1, 0.2) + hiss, np.float32)
    if kind == "babble" and talk.sentences:
        return np.asarray(noise("babble", samples, rng, talk.sentences) * VOICE + hiss, np.float32)
    said = talk.people if kind.startswith("sentences") and talk.people else talk.radio
    out = one_after_another(said, samples, rng)
    if kind == "sentences over noise" or (kind == "radio" and rng.random() < 0.5):
        out = out + under * np.float32(10 ** (-rng.uniform(5, 20) / 20))
    return np.asarray(out + hiss, np.float32)


def stretches(hours: float, seed: int, talk: Talk) -> Iterator[tuple[str, Sound]]:
    """Scenes in turn until the hours are full."""
    for number in range(max(1, round(hours * 3600 / STRETCH_S))):
        kind = SCENES[number % len(SCENES)]
        sound = scene(kind, STRETCH_S * RATE, np.random.default_rng([seed, number]), talk)
        yield kind, np.clip(sound, -1, 1)


class Follower:
    """One address mode: its listener, and what a job would have done."""

    def __init__(self, mode: AddressMode, acoustics: Acoustics) -> None:
        texts = {path.name: path.read_text(encoding="utf-8") for path in sorted(GRAMMARS.glob("*.gram"))}
        self.mode = mode
        recogniser = Phones(lexicon_of("en"), acoustics)
        active = Grammars(texts, FILLS, Address(mode)).state("any")
        self.listener = Listener(recogniser, FrontEnd(), active)
        self.counts: Counter[tuple[str, str]] = Counter()
        self.actions: list[dict[str, Any]] = []
        self._doubted: tuple[str, float] = ("", float("-inf"))

    def take(self, block: Samples, kind: str, clock: float) -> None:
        """More sound; `clock` is the time it ends at, seconds."""
        for event in self.listener.feed(block):
            if isinstance(event, Utterance):
                self._weigh(event, kind, clock)

    def _weigh(self, event: Utterance, kind: str, clock: float) -> None:
        self.counts[kind, "utterances"] += 1
        if event.intent is None:
            return
        name = event.intent.name
        verdict = weigh("any", name, event.hearing.sure)
        if verdict is Verdict.DOUBTFUL:
            again = self._doubted[0] == name and clock - self._doubted[1] <= AGREE_S
            self._doubted = (name, clock)
            if not again:
                self.counts[kind, "asked"] += 1
                return
            verdict = Verdict.ACT
        if verdict is Verdict.ACT:
            self.counts[kind, "actions"] += 1
            self.counts[kind, "guarded"] += name in GUARDED
            self.counts[kind, "values"] += name in ("record", "correct")
            words = " ".join(event.hearing.words)
            self.actions.append({"at_s": round(clock, 1), "scene": kind, "intent": name, "words": words})


def run(hours: float, seed: int, half: str, modes: Sequence[AddressMode], kept: Path | None) -> dict[str, Any]:
    """Figures by mode and scene, written to `kept` after every stretch too: a run that is ended early leaves some."""
    talk = Talk(half)
    acoustics = Remembered()
    followers = [Follower(mode, acoustics) for mode in modes]
    length: Counter[str] = Counter()
    clock, began = 0.0, time.process_time()
    for kind, sound in stretches(hours, seed, talk):
        for start in range(0, len(sound), BLOCK):
            clock += BLOCK / RATE
            for one in followers:
                one.take(sound[start : start + BLOCK], kind, clock)
        length[kind] += STRETCH_S
        result = _figures(followers, length, clock, (time.process_time() - began) / clock)
        if kept:
            kept.write_text(json.dumps({"half": half, "seed": seed} | result, indent=1), encoding="utf-8")
    return {"half": half, "seed": seed} | result


def _figures(
    followers: Sequence[Follower], length: Mapping[str, int], clock: float, computing: float
) -> dict[str, Any]:
    return {
        "hours": clock / 3600,
        "seconds_of_scenes": dict(length),
        "computing_of_all_modes": computing,
        "modes": {
            one.mode.value: {
                "scenes": {kind: {what: one.counts[kind, what] for what in COUNTED} for kind in length},
                "actions": one.actions,
            }
            for one in followers
        },
    }


def show(result: dict[str, Any]) -> None:
    """The tables."""
    print(f"{result['hours']:.2f} hours, {result['half']} half, seed {result['seed']}")
    print(f"{'mode':10}{'scene':24}{'utterances':>11}{'asked':>7}{'actions':>9}{'guarded':>9}{'of these values':>17}")
    for mode, found in result["modes"].items():
        total: Counter[str] = Counter()
        for kind, row in found["scenes"].items():
            total.update(row)
            print(f"{mode:10}{kind:24}" + _cells(row))
        print(f"{mode:10}{'all':24}" + _cells(total))
        for act in found["actions"]:
            if act["intent"] in GUARDED:
                print(f"    {act['at_s']:8.1f} s, {act['scene']}: {act['words']} ({act['intent']})")


def _cells(row: Any) -> str:
    return f"{row['utterances']:11}{row['asked']:7}{row['actions']:9}{row['guarded']:9}{row['values']:17}"


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--hours", type=float, default=2.0)
    parser.add_argument("--half", choices=("judging", "tuning"), default="judging")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--quick", action="store_true", help="one stretch of every scene, 25 minutes")
    parser.add_argument("--modes", default="never,guarded,always")
    parser.add_argument("--json", type=Path)
    args = parser.parse_args()
    if not PEOPLE.is_dir():
        print(f"no recordings of people at {PEOPLE}: all talk is synthesised, and there is no babble")
    hours = len(SCENES) * STRETCH_S / 3600 if args.quick else args.hours
    show(run(hours, args.seed, args.half, [AddressMode(mode) for mode in args.modes.split(",")], args.json))
    return 0


if __name__ == "__main__":
    sys.exit(main())
