"""Words said in noise to the gate and recogniser of a dialogue state, and what it made of them."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from bayvoice.ears.listener import Listener, Utterance
from bayvoice.language.risk import Verdict, weigh
from tests.material import Speakers
from tests.noises import RATE, Sound, at_snr, noise

JOB: Final = "k40-transfer-cover"


STATES: Final = ("check", "confirm", "sure")


REFUSED: Final = Verdict.REFUSE


ORDER: Final = (Verdict.ACT, Verdict.DOUBTFUL, Verdict.REFUSE)


BEFORE_S: Final = 2.0


AFTER_S: Final = 1.0
"""Noise before and after the word."""


@dataclass(frozen=True, slots=True)
class Try:
    """One word said once: by whom, in what noise, and its sound without it."""

    word: str
    voice: str
    kind: str
    seed: int
    sound: Sound


@dataclass(frozen=True, slots=True)
class Got:
    """What one state made of one try; `taken` is the intent, "" where there is none."""

    state: str
    word: str
    voice: str
    kind: str
    own: bool
    right: bool
    taken: str
    verdict: Verdict
    sure: float | None
    heard: str


def tries(words: Sequence[str], voices: Sequence[str], kinds: Sequence[str], seeds: int) -> Iterator[Try]:
    """Synthesised words, `seeds` of each in each kind of noise."""
    speakers = Speakers()
    for voice in voices:
        for word in words:
            # The voices say a word the same way each time but for a pace and pitch that follow from the seed.
            sounds = [
                speakers.say(voice, word, random.Random(seed)) for seed in range(1 if "flite" in voice else seeds)
            ]
            for kind in kinds:
                for seed in range(seeds):
                    yield Try(word, voice, kind, seed, sounds[seed % len(sounds)])


def mixed(one: Try, decibels: float, talk: Sequence[Sound]) -> Sound:
    """The sound of a try, its noise at `decibels` below the voice; "quiet" is a hiss 60 dB below its peak."""
    sound = np.concatenate([np.zeros(round(BEFORE_S * RATE)), one.sound, np.zeros(round(AFTER_S * RATE))])
    sound = sound.astype(np.float32)
    rng = np.random.default_rng(one.seed)
    hiss = rng.standard_normal(len(sound)).astype(np.float32)
    if one.kind == "quiet":
        return np.asarray(sound + 1e-3 * np.abs(sound).max() * hiss, np.float32)
    return at_snr(sound, hiss if one.kind == "white" else noise(one.kind, len(sound), rng, talk), decibels)


def judge(listener: Listener, one: Try, sound: Sound) -> Got:
    """What `listener` makes of it: of several utterances the one that does most."""
    active = listener.grammar
    listener.reset()
    events = [*listener.feed(sound), *listener.end()]
    heard = [event for event in events if isinstance(event, Utterance)]
    weighed = [(REFUSED if u.intent is None else weigh(active.name, u.intent.name, u.hearing.sure), u) for u in heard]
    verdict, found = min(weighed, key=lambda pair: ORDER.index(pair[0]), default=(REFUSED, None))
    meant, intent = active.match((one.word,)), found.intent if found else None
    return Got(
        active.name,
        one.word,
        one.voice,
        one.kind,
        meant is not None,
        meant is not None and intent == meant,
        "" if intent is None else intent.name,
        verdict,
        found.hearing.sure if found else None,
        " ".join(found.hearing.words) if found else "",
    )
