"""The count to a common move, measured from the samples that were played."""

from __future__ import annotations

import wave
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from bayvoice.dialogue.engine import effects as fx
from bayvoice.dialogue.engine import events as ev
from bayvoice.dialogue.engine.state import State
from bayvoice.host.clock import TapeClock
from bayvoice.language.intents import Intent
from bayvoice.procedure.load import load_text
from bayvoice.record.sqlite.store import Store
from bayvoice.runtime.hub import Hub, NoEars, notes_into
from bayvoice.runtime.inbox import Inbox
from bayvoice.voice.base import Sound
from bayvoice.voice.beat import on_the_beat, onset, tick
from bayvoice.voice.player import TapePlayer
from bayvoice.voice.render import SpokenVoice
from tests.stage import wording

LIFT = """
format = 1
title = "Lift the cover"
machine = "Varrow K40 tow tractor"
[[step]]
id = "lift"
kind = "together"
say = "Lift the cover off."
beats = 3
ask = "Is it on the bench?"
"""
OFF_S = 0.001
"""How far a beat may be from its place. An ear that taps along notices about 10 ms of jitter; from memory (studies of
tapping to a metronome)."""


def ticks(samples: NDArray[np.float32], rate: int, last: bool) -> NDArray[np.int64]:
    """Where the tone of a beat begins, by correlation with the tone itself: only there does all of it fit."""
    shape = tick(last, rate)
    fit = np.correlate(samples.astype(np.float64), shape.astype(np.float64), "valid") / float(shape @ shape)
    found: list[int] = []
    for at in np.argsort(fit)[::-1]:
        if fit[at] < 0.6 or len(found) > 9:
            break
        if all(abs(at - other) > rate // 4 for other in found):
            found.append(int(at))
    return np.array(sorted(found))


def test_beats_of_a_real_job_are_steady_on_the_tape(tmp_path: Path) -> None:
    """Hub, voice and loudspeaker as in a sitting: three, two, one, now, a second apart to the sample."""
    procedure = load_text(LIFT, "lift.toml")
    clock, played = TapeClock(1.8e9), tmp_path / "said.wav"
    texts: list[fx.Say] = []

    def watch(event: ev.Event | None, effects: tuple[fx.Effect, ...], state: State) -> None:
        texts.extend(e for e in effects if isinstance(e, fx.Say))

    from tests.stage import new_state

    voice = SpokenVoice(log=tmp_path / "voice.log")
    with Store(tmp_path / "bay.sqlite") as store:
        inbox = Inbox()
        player = TapePlayer(played, notes_into(inbox, clock))
        hub = Hub(new_state("job", procedure, wording()), clock, store, voice, player, NoEars(), inbox, watch)

        def run(seconds: float) -> None:
            end = clock.mono() + seconds
            while clock.mono() < end:
                clock.move(clock.mono() + 0.032)  # the blocks a recording comes in
                hub.advance(clock.mono())

        hub.take(ev.Began(clock.now(), "Imre", clock.boot))
        run(20)
        began = clock.mono()
        hub.take(ev.Typed(clock.now(), ("yes",), Intent("yes")))
        run(12)
        hub.close()
    voice.close()
    counted = next(say for say in texts if say.beat)
    assert counted.text == "three, two, one, now"
    assert texts[-1].text == "Is it on the bench? Yes or no?", "the result is asked for once it is said"
    with wave.open(str(played), "rb") as file:
        rate = file.getframerate()
        raw = np.frombuffer(file.readframes(file.getnframes()), "<i2")
    samples = np.asarray(raw[round(began * rate) :] / 32768.0, np.float32)
    beats, last = ticks(samples, rate, False), ticks(samples, rate, True)
    assert len(beats) == 3
    assert len(last) == 1
    gaps = np.diff(np.concatenate([beats, last])) / rate
    assert gaps == pytest.approx([1.0, 1.0, 1.0], abs=OFF_S)


def test_a_word_begins_with_its_beat(tmp_path: Path) -> None:
    """However much silence a voice puts before a word."""
    voice = SpokenVoice(log=tmp_path / "voice.log")
    words = [voice.render(word) for word in ("three", "two", "one", "now")]
    voice.close()
    late = [Sound(w.rate, np.concatenate([np.zeros(100 * n, np.float32), w.samples])) for n, w in enumerate(words)]
    rate = words[0].rate
    mixed = on_the_beat(late, 0.8).samples
    for n in range(4):
        at = round(0.8 * rate) * n
        piece = mixed[at : at + rate // 2].copy()
        shape = tick(n == 3, rate)
        piece[: len(shape)] -= shape
        assert onset(piece) / rate < OFF_S
    assert on_the_beat([], 1.0).seconds == 0
