"""The alert bursts, held against published figures for audible alarm signals.

Figures: pulse fundamental 150 to 1000 Hz and at least four harmonics between 300 and 4000 Hz within 15 dB of one
another, IEC 60601-1-8, as quoted by pages of a maker of sounders (puiaudio.com) and of a quality forum (elsmar.com).
From memory: in IEC 60601-1-8 a burst of high priority has ten pulses, of medium three, of low one or two, a pulse of
high priority lasts 75 to 200 ms, of lower 125 to 250 ms; ISO 7731 wants a danger signal between 500 and 2500 Hz.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray

from bayvoice.dialogue.engine.alerts import BURST_S, FASTEST
from bayvoice.voice.base import Sound
from bayvoice.voice.tones import MOST, MOTIFS, RATE, burst

ALERTS = ("due", "soon", "over")
EVERY = [(tone, urgency) for tone in MOTIFS for urgency in range(MOST + 1)]


def pulses(sound: Sound) -> list[NDArray[np.float32]]:
    """The pulses of a burst: stretches of sound between stretches of silence of at least 15 ms."""
    loud = np.flatnonzero(np.abs(sound.samples) > 1e-3 * np.max(np.abs(sound.samples)))
    cuts = np.flatnonzero(np.diff(loud) > 0.015 * sound.rate)
    return [sound.samples[part[0] : part[-1] + 1] for part in np.split(loud, cuts + 1)]


def harmonics(pulse: NDArray[np.float32]) -> tuple[float, list[tuple[float, float]]]:
    """Fundamental in Hz, and (frequency, level in dB) of each partial within 30 dB of the strongest.

    Spectral peaks are found without knowing what was synthesised; the fundamental is their common spacing.
    """
    size = 1 << 16
    level = 20 * np.log10(np.abs(np.fft.rfft(pulse * np.blackman(len(pulse)), size)) + 1e-9)
    peak = float(level.max())
    inner = level[1:-1]
    at = 1 + np.flatnonzero((inner > level[:-2]) & (inner >= level[2:]) & (inner > peak - 30))
    found = [(float(k) * RATE / size, float(level[k])) for k in at]
    return float(np.median(np.diff([hz for hz, _ in found]))) if len(found) > 1 else found[0][0], found


@pytest.mark.parametrize(("tone", "urgency"), EVERY)
def test_spectrum(tone: str, urgency: int) -> None:
    """Every pulse of every burst has its fundamental and its harmonics where the figures want them."""
    for pulse in pulses(burst(tone, urgency)):
        f0, found = harmonics(pulse)
        assert 150 <= f0 <= 1000
        partials = [(hz, db) for hz, db in found if abs(hz / f0 - round(hz / f0)) < 0.05]
        inside = [db for hz, db in partials if 300 <= hz <= 4000]
        strongest = max(inside)
        assert sum(db >= strongest - 15 for db in inside) >= 4, (f0, found)


@pytest.mark.parametrize(("tone", "urgency"), EVERY)
def test_shape(tone: str, urgency: int) -> None:
    """No click at either end, no clipping, no offset, and short enough to listen after it."""
    sound = burst(tone, urgency)
    assert sound.samples.dtype == np.float32
    assert np.max(np.abs(sound.samples)) <= 0.9
    assert abs(float(np.mean(sound.samples))) < 1e-3
    assert sound.seconds < 2.6
    for pulse in pulses(sound):
        top = float(np.max(np.abs(pulse)))
        first, last = pulse[: RATE // 200], pulse[-RATE // 200 :]
        assert max(float(np.max(np.abs(first))), float(np.max(np.abs(last)))) < 0.5 * top


def test_alerts_leave_room_to_hear_and_be_heard() -> None:
    """At least a quarter of each alert is silence between its pulses."""
    for tone in ALERTS:
        sound = burst(tone)
        sounding = sum(len(pulse) for pulse in pulses(sound)) / RATE
        assert sounding < 0.75 * sound.seconds


def rate_and_level(sound: Sound) -> tuple[float, float]:
    """Pulses a second, and mean square of the pulses."""
    found = pulses(sound)
    return len(found) / sound.seconds, float(np.mean(np.concatenate(found) ** 2))


def test_urgency_grows() -> None:
    """From "due" over "soon" to "over", and with each unanswered repetition, bursts get faster and louder."""
    for growing in ([burst(tone) for tone in ALERTS], *([burst(tone, n) for n in range(MOST + 1)] for tone in ALERTS)):
        measured = [rate_and_level(sound) for sound in growing]
        assert all(a[0] < b[0] and a[1] < b[1] for a, b in pairwise(measured)), measured
    assert np.array_equal(burst("over", MOST + 5).samples, burst("over", MOST).samples)


def test_confirmations_do_not_grow_and_are_quieter_than_alerts() -> None:
    for tone in ("heard", "refused"):
        assert np.array_equal(burst(tone, 2).samples, burst(tone).samples)
        assert rate_and_level(burst(tone))[1] < rate_and_level(burst("soon"))[1]


def test_bursts_are_told_apart() -> None:
    """No two have the same number of pulses and the same melody."""
    melodies = {tone: tuple(round(harmonics(pulse)[0] / 10) for pulse in pulses(burst(tone))) for tone in MOTIFS}
    assert len(set(melodies.values())) == len(MOTIFS), melodies


@pytest.mark.parametrize(
    ("tone", "pulse_count", "shortest", "longest"),
    [("due", 2, 0.125, 0.25), ("soon", 3, 0.125, 0.25), ("over", 10, 0.075, 0.2)],
)
def test_pulses_of_a_burst(tone: str, pulse_count: int, shortest: float, longest: float) -> None:
    """As many and as long as the priority asks for (IEC 60601-1-8, from memory), whatever the urgency."""
    for urgency in range(MOST + 1):
        found = pulses(burst(tone, urgency))
        assert len(found) == pulse_count
        for each in found if urgency == 0 else ():
            assert shortest <= len(each) / RATE <= longest


@pytest.mark.parametrize("tone", ALERTS)
def test_sound_lies_where_a_danger_signal_should(tone: str) -> None:
    """Most of its power between 500 and 2500 Hz (ISO 7731, from memory)."""
    for urgency in range(MOST + 1):
        power = np.abs(np.fft.rfft(burst(tone, urgency).samples)) ** 2
        hz = np.fft.rfftfreq(len(burst(tone, urgency).samples), 1 / RATE)
        assert power[(hz >= 500) & (hz <= 2500)].sum() > 0.5 * power.sum()


def test_the_core_knows_how_long_a_burst_sounds() -> None:
    """Within a hundredth of a second: while one sounds, it speaks for alerts that are no more urgent."""
    for tone in ALERTS:
        for urgency in range(MOST + 3):
            assert BURST_S[tone] * 0.9 ** min(urgency, FASTEST) == pytest.approx(burst(tone, urgency).seconds, abs=0.01)
