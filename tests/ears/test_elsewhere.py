"""A command of another dialogue state is never taken for an answer, through the real gate and recogniser in noise."""

from __future__ import annotations

import shutil
from functools import cache

import numpy as np
import pytest

from bayvoice.ears.base import RATE, Samples
from bayvoice.ears.front import FrontEnd, UtteranceBegan
from bayvoice.ears.listener import Listener
from bayvoice.ears.phones import Phones
from bayvoice.host.datafiles import read_procedure
from bayvoice.language.grammar import Grammars
from bayvoice.language.risk import Verdict
from bayvoice.runtime.grammars import grammars_for
from tests.ears.elsewhere import JOB, STATES, Got, Try, judge, mixed, tries
from tests.espeak import say

needs_flite = pytest.mark.skipif(shutil.which("flite") is None, reason="flite's voices are not here (Debian: flite)")
VOICES = ("flite:slt", "flite:rms")
"""The two of which a job's ears took "next" for "yes" most: 10 of 24 tries each, at 10 dB in white noise."""


@cache
def grammars() -> Grammars:
    return grammars_for(read_procedure(JOB), ("Imre", "Dalia", "Kofi", "Ruth"))


@cache
def recogniser() -> Phones:
    return Phones()


def heard(one: Try, state: str) -> Got:
    return judge(Listener(recogniser(), FrontEnd(), grammars().state(state)), one, mixed(one, 10.0, []))


@needs_flite
@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("word", ["next", "done", "help"])
def test_a_command_in_white_noise_is_not_an_answer(word: str, state: str) -> None:
    """With each voice and three seeds of noise: it may be lost or heard for what it is, never done as anything else.

    Neither may it be asked about: said again within six seconds it would count.
    """
    for one in tries([word], VOICES, ["white"], 3):
        got = heard(one, state)
        assert got.right or got.verdict is Verdict.REFUSE, got


@needs_flite
@pytest.mark.parametrize("state", STATES)
def test_answers_in_white_noise_are_heard(state: str) -> None:
    """The rule that keeps other words back does not keep the answers back."""
    for word in ("yes", "no"):
        for one in tries([word], VOICES, ["white"], 2):
            got = heard(one, state)
            assert got.right
            assert got.verdict is Verdict.ACT


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("word", ["done", "next", "repeat", "help", "six", "stop", "resume"])
def test_a_command_in_quiet_is_no_answer(word: str, state: str) -> None:
    """And is named where only other states know it."""
    got = heard(Try(word, "espeak", "quiet", 0, say(word)), state)
    assert got.right or got.verdict is Verdict.REFUSE, got
    if not got.own:
        recogniser().use(grammars().state(state))
        recogniser().begin()
        recogniser().feed(say(word))
        hearing = recogniser().finish()
        assert word in hearing.why or "mean nothing here" in hearing.why, hearing.why


def noisy(silence_s: float) -> Samples:
    rng = np.random.default_rng(1)
    lead = 0.002 * rng.standard_normal(2 * RATE)
    lead[: round(silence_s * RATE)] = 0.0
    spoken = say("next")
    return np.concatenate([lead, spoken + 0.002 * rng.standard_normal(len(spoken))]).astype(np.float32)


def before(sound: Samples) -> tuple[float, Samples]:
    front = FrontEnd()
    for at in range(0, len(sound), 160):
        for event in front.feed(sound[at : at + 160]):
            if isinstance(event, UtteranceBegan):
                return event.first_s, event.before
    raise AssertionError("no utterance")


def test_the_sound_before_an_utterance_is_what_was_recorded_right_before_it() -> None:
    """Sample for sample up to the gate's high-pass, which at 80 Hz leaves white noise nearly as it is."""
    sound = noisy(0.0)
    first_s, kept = before(sound)
    first = round(first_s * RATE)
    assert len(kept) >= 0.65 * RATE
    assert np.corrcoef(kept, sound[first - len(kept) : first])[0, 1] > 0.95


def test_digital_silence_is_no_sound_of_the_bay() -> None:
    """Noise that begins after silence deafens the networks, so none of a file's own quiet is handed on."""
    _, kept = before(noisy(1.5))
    frames = kept[: len(kept) // 512 * 512].reshape(-1, 512)
    assert len(kept) < 0.4 * RATE
    assert (np.square(frames).mean(axis=1) > 1e-10).all()
