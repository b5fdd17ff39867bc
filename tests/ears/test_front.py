"""The gate: filter, level watch and voice activity on real recordings and on noise."""

from __future__ import annotations

import itertools
import wave
from pathlib import Path

import numpy as np
import pytest
import scipy.signal
import soxr

from bayvoice.ears.base import RATE, Samples
from bayvoice.ears.front import (
    FRAME,
    FrontEnd,
    FrontEvent,
    FrontSettings,
    HighPass,
    UtteranceBegan,
    UtteranceEnded,
    UtteranceSound,
)
from tests.espeak import say
from tests.noises import noise

PEOPLE = Path(__file__).parents[2].parent / "shared" / "speech"
people = pytest.mark.skipif(not PEOPLE.is_dir(), reason="recordings of people are not here: ../shared/speech")


def recording(path: Path) -> Samples:
    with wave.open(str(path)) as file:
        sound = np.frombuffer(file.readframes(file.getnframes()), "<i2").astype(np.float32) / 32768
        return np.asarray(soxr.resample(sound, file.getframerate(), RATE), np.float32)


def padded(sound: Samples) -> Samples:
    return np.concatenate([np.zeros(RATE // 2, np.float32), sound, np.zeros(RATE, np.float32)])


def pink(length: int, rng: np.random.Generator) -> Samples:
    """Noise of equal power per octave, root mean square 1."""
    spectrum = rng.normal(size=length // 2 + 1) + 1j * rng.normal(size=length // 2 + 1)
    sound = np.fft.irfft(spectrum / np.sqrt(np.maximum(1, np.arange(length // 2 + 1))), length)
    return np.asarray(sound / sound.std(), np.float32)


def in_noise(sound: Samples, ratio_db: float, rng: np.random.Generator) -> Samples:
    """`sound` in pink noise, `ratio_db` below its power while it is active (frames within 20 dB of the loudest)."""
    power = np.mean(np.square(sound[: len(sound) // 320 * 320].reshape(-1, 320)), axis=1)
    active = power[power > power.max() / 100].mean()
    return np.asarray(sound + pink(len(sound), rng) * np.sqrt(active / 10 ** (ratio_db / 10)), np.float32)


def ended(events: list[FrontEvent]) -> list[UtteranceEnded]:
    return [event for event in events if isinstance(event, UtteranceEnded)]


def some(folder: str, step: int) -> list[Path]:
    files = sorted((PEOPLE / folder).rglob("*.wav"))
    return files[::step]


def test_the_high_pass_is_a_butterworth_high_pass() -> None:
    """Outside reference: scipy.signal's second-order Butterworth filter."""
    rng = np.random.default_rng(3)
    sound = rng.normal(size=FRAME * 20).astype(np.float32)
    own = HighPass(80.0)
    got = np.concatenate([own(sound[start : start + FRAME]) for start in range(0, len(sound), FRAME)])
    want = scipy.signal.sosfilt(scipy.signal.butter(2, 80.0, "highpass", fs=RATE, output="sos"), sound)
    assert np.abs(got - want).max() < 1e-5


@people
@pytest.mark.parametrize(("folder", "step"), [("words", 5), ("digits", 6)])
def test_a_word_is_one_utterance(folder: str, step: int) -> None:
    """Single words of real people, each in a second of its own."""
    front = FrontEnd()
    counts = [len(ended(front.feed(padded(recording(path))) + front.flush())) for path in some(folder, step)]
    assert np.mean([count == 1 for count in counts]) >= 0.99


@people
@pytest.mark.parametrize(("ratio_db", "least"), [(10.0, 0.98), (5.0, 0.98), (0.0, 0.95)])
def test_a_word_in_noise_is_let_through(ratio_db: float, least: float) -> None:
    front = FrontEnd()
    rng = np.random.default_rng(7)
    got = [
        bool(ended(front.feed(in_noise(padded(recording(path)), ratio_db, rng)) + front.flush()))
        for path in some("words", 12)
    ]
    assert np.mean(got) >= least


@people
def test_a_faint_voice_is_let_through() -> None:
    """Digits 30 dB below how they were recorded, as from a microphone with too little gain."""
    front = FrontEnd()
    got = [
        bool(ended(front.feed(padded(recording(path)) * np.float32(0.0316)) + front.flush()))
        for path in some("digits", 12)
    ]
    assert np.mean(got) >= 0.98


def test_noise_alone_is_no_speech() -> None:
    """A quarter of a minute each of pink noise, mains hum with overtones, and hammer blows that ring."""
    rng = np.random.default_rng(5)
    length = 15 * RATE
    time = np.arange(length) / RATE
    hum = sum(np.sin(2 * np.pi * 50 * k * time) / k for k in range(1, 20))
    blow = np.exp(-25 * time[:6000]) * sum(np.sin(2 * np.pi * f * time[:6000]) for f in (700, 1650, 2900, 4100))
    hammer = np.zeros(length)
    for start in range(4000, length - 8000, 11_000):
        hammer[start : start + 6000] += 0.2 * blow
    for sound in (0.05 * pink(length, rng), 0.3 * pink(length, rng), 0.1 * hum):
        assert ended(FrontEnd().feed(np.asarray(sound, np.float32))) == []
    # A ring of pure tones passes for a vowel now and then; the decoder refuses it, but it must not hold the gate open.
    blows = ended(FrontEnd().feed(np.asarray(hammer, np.float32)))
    assert sum(one.ended_s - one.began_s for one in blows) < 0.1 * length / RATE


@people
def test_events_and_sound_belong_together() -> None:
    """The blocks given while it is spoken are the whole utterance, whatever the length of the blocks fed."""
    word = recording(some("words/stop", 40)[0])
    sound = np.concatenate([padded(word), padded(word)])
    runs: list[list[FrontEvent]] = []
    for size in (100, 320, 511, 512, len(sound)):
        front = FrontEnd()
        events: list[FrontEvent] = []
        for start in range(0, len(sound), size):
            events += front.feed(sound[start : start + size])
        runs.append(events + front.flush())
    for events in runs:
        assert [type(event).__name__ for event in events if not isinstance(event, UtteranceSound)] == [
            "UtteranceBegan",
            "UtterancePaused",
            "UtteranceEnded",
        ] * 2
        streamed: list[Samples] = []
        for event in events:
            if isinstance(event, UtteranceBegan):
                streamed = []
            elif isinstance(event, UtteranceSound):
                streamed.append(event.samples)
            elif isinstance(event, UtteranceEnded):
                assert np.array_equal(np.concatenate(streamed), event.samples)
        assert [(one.began_s, one.ended_s) for one in ended(events)] == [
            (one.began_s, one.ended_s) for one in ended(runs[0])
        ]
    first, second = ended(runs[0])
    assert second.began_s - first.began_s == pytest.approx(len(padded(word)) / RATE, abs=0.05)
    assert first.first_s <= first.began_s - 0.25
    assert 0.5 <= first.began_s < first.ended_s <= 1.6
    assert first.level_db > first.noise_db + 20


@people
def test_sound_that_ends_in_a_word_still_gives_it() -> None:
    word = recording(some("words/go", 40)[0])
    loudest = int(np.argmax(np.convolve(np.square(word), np.ones(1600), "same")))
    front = FrontEnd()
    events = front.feed(padded(word)[: RATE // 2 + loudest + 800])
    assert ended(events) == []
    last = ended(events + front.flush())
    assert len(last) == 1
    assert last[0].cut


def test_endless_talk_is_cut_without_losing_sound() -> None:
    """Speech without a pause, as far as the gate can tell: the utterances lie end to end."""
    sound = (0.1 * pink(10 * RATE, np.random.default_rng(2))).astype(np.float32)
    front = FrontEnd(FrontSettings(longest_s=2.0), witness=lambda _: 1.0)
    utterances = ended(front.feed(sound) + front.flush())
    assert [one.cut for one in utterances] == [True] * 5
    assert all(2.0 <= len(one.samples) / RATE <= 2.05 for one in utterances[:-1])
    for one, following in itertools.pairwise(utterances):
        assert following.first_s == pytest.approx(one.first_s + len(one.samples) / RATE)


@people
def test_clipping_is_counted() -> None:
    word = recording(some("words/yes", 40)[0])
    front = FrontEnd()
    clean = ended(front.feed(padded(word)) + front.flush())[0]
    harsh = ended(front.feed(padded(np.clip(word * 60, -1, 1).astype(np.float32))) + front.flush())[0]
    assert clean.clipped < 0.001
    assert harsh.clipped > 0.2


@people
def test_a_second_witness_is_heard() -> None:
    """A witness that reports speech in pure noise opens the gate although the first sees none."""
    sound = (0.1 * pink(3 * RATE, np.random.default_rng(1))).astype(np.float32)
    seen = 0

    def witness(frame: Samples) -> float:
        nonlocal seen
        seen += 1
        assert frame.shape == (FRAME,)
        return 1.0 if 20 <= seen < 40 else 0.0

    found = ended(FrontEnd(witness=witness).feed(sound))
    assert len(found) == 1
    assert found[0].began_s == pytest.approx(19 * FRAME / RATE)


def test_a_word_is_found_after_a_quarter_of_an_hour_of_noise() -> None:
    """The voice-activity network forgets how to listen if it is never begun anew."""
    noisy = 0.02 * noise("mixed", 60 * RATE, np.random.default_rng(3))
    word = say("next")
    front = FrontEnd()
    found = 0
    for _ in range(15):
        heard = noisy.copy()
        heard[30 * RATE : 30 * RATE + len(word)] += word * (0.15 / float(np.abs(word).max()))
        found += sum(isinstance(event, UtteranceEnded) for event in front.feed(heard))
    assert found >= 14
