"""Players on a given clock: tape and silence."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import wave
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from bayvoice.errors import BayError
from bayvoice.voice import player as module
from bayvoice.voice.base import Sound
from bayvoice.voice.mixer import APART_S, DUCK, FADE_S, GAP_S
from bayvoice.voice.player import PATCH_S, NullPlayer, Player, TapePlayer

RATE = 8000
START = 100.0


def flat(seconds: float, level: float = 0.5, rate: int = RATE) -> Sound:
    """A sound one can tell by its level."""
    return Sound(rate, np.full(round(seconds * rate), level, np.float32))


def read(path: Path) -> NDArray[np.float64]:
    """The tape's samples, by the standard library's reader."""
    with wave.open(str(path), "rb") as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, RATE)
        return np.frombuffer(file.readframes(file.getnframes()), "<i2") / 32767.0


@dataclass
class Told:
    notes: list[module.Note] = field(default_factory=list)

    def __call__(self, note: module.Note) -> None:
        self.notes.append(note)

    @property
    def brief(self) -> list[tuple[str, int, float]]:
        return [(note.kind, note.uid, round(note.at - START, 4)) for note in self.notes if note.kind != "rang"]


@pytest.fixture
def told() -> Told:
    return Told()


def tape(path: Path, told: Told) -> TapePlayer:
    return TapePlayer(path, told, began_at=START, rate=RATE)


def test_what_is_said_at_t_lands_at_t(tmp_path: Path, told: Told) -> None:
    """Sample for sample, with silence before and after, and told with the times of the sound."""
    player = tape(tmp_path / "t.wav", told)
    player.say(7, flat(0.5), START + 1.25)
    player.advance(START + 3)
    player.close()
    samples = read(tmp_path / "t.wav")
    assert len(samples) == 3 * RATE
    loud = np.flatnonzero(samples)
    assert (loud[0], loud[-1] + 1) == (1.25 * RATE, 1.75 * RATE)
    assert samples[loud] == pytest.approx(0.5, abs=1e-4)
    assert told.brief == [("began", 7, 1.25), ("said", 7, 1.75)]


def test_speech_waits_its_turn(tmp_path: Path, told: Told) -> None:
    """Two utterances given at once are said one after the other, with a gap."""
    player = tape(tmp_path / "t.wav", told)
    player.say(1, flat(0.5), START)
    player.say(2, flat(0.25), START)
    assert player.next_at() == START
    player.advance(START + 0.1)
    assert player.sounding
    assert player.next_at() == START + 0.5
    player.advance(START + 2)
    assert told.brief == [("began", 1, 0.0), ("said", 1, 0.5), ("began", 2, 0.5 + GAP_S), ("said", 2, 0.75 + GAP_S)]
    assert player.next_at() is None
    assert not player.sounding


def test_hush_cuts_there(tmp_path: Path, told: Told) -> None:
    """Silent a fade after the hush, what was queued is forgotten, and each is told of as cut, once."""
    player = tape(tmp_path / "t.wav", told)
    player.say(1, flat(5), START)
    player.say(2, flat(5), START)
    player.ring(flat(5, 0.2), START + 0.5)
    player.hush(START + 1)
    player.hush(START + 1.5)
    player.advance(START + 12)
    player.close()
    loud = np.flatnonzero(read(tmp_path / "t.wav"))
    assert RATE < loud[-1] + 1 <= (1 + FADE_S) * RATE
    assert np.max(np.abs(np.diff(read(tmp_path / "t.wav")[loud[-1] - 60 :]))) < 0.1, "a click"
    assert told.brief == [("began", 1, 0.0), ("cut", 1, 1.0), ("cut", 2, 1.0)]


def test_of_two_bursts_the_more_urgent_sounds(tmp_path: Path, told: Told) -> None:
    """A burst gives way to a more urgent one; a less urgent one waits until it has ended."""
    player = tape(tmp_path / "t.wav", told)
    player.ring(flat(0.5, 0.2), START, 1)
    player.ring(flat(0.5, 0.6), START + 0.2, 3)
    player.ring(flat(0.5, 0.3), START + 0.3, 2)
    player.advance(START + 2)
    player.close()
    samples = read(tmp_path / "t.wav")
    again = 0.7 + APART_S
    assert [(note.uid, round(note.at - START, 3)) for note in told.notes if note.kind == "rang"] == [
        (1, 0.0),
        (3, 0.2),
        (2, round(again, 3)),
    ]
    for at, level in ((0.1, 0.2), (0.25, 0.6), (0.65, 0.6), (0.71, 0.0), (again + 0.1, 0.3), (again + 0.6, 0.0)):
        assert samples[round(at * RATE)] == pytest.approx(level, abs=1e-3), at


def test_speech_of_higher_rank_goes_first_and_what_it_breaks_into_begins_anew(tmp_path: Path, told: Told) -> None:
    """Rank 1 overtakes what is queued, rank 2 interrupts; nothing is lost, and each is told of as said once."""
    player = tape(tmp_path / "t.wav", told)
    player.say(1, flat(1.0, 0.1), START)
    player.say(2, flat(0.5, 0.2), START + 0.1)
    player.say(3, flat(0.5, 0.3), START + 0.2, rank=1)
    player.say(4, flat(0.5, 0.4), START + 0.5, rank=2)
    player.advance(START + 5)
    player.close()
    assert [uid for kind, uid, _ in told.brief if kind == "said"] == [4, 3, 1, 2]
    assert [uid for kind, uid, _ in told.brief if kind == "began"] == [1, 4, 3, 1, 2]


def test_urgent_goes_first(tmp_path: Path, told: Told) -> None:
    """An urgent utterance cuts off what is said and begins at once."""
    player = tape(tmp_path / "t.wav", told)
    player.say(1, flat(5), START)
    player.say(2, flat(5), START)
    player.say(3, flat(1), START + 2, urgent=True)
    player.advance(START + 9)
    assert told.brief == [("began", 1, 0.0), ("cut", 1, 2.0), ("cut", 2, 2.0), ("began", 3, 2.0), ("said", 3, 3.0)]


def test_a_burst_sounds_over_speech_and_speech_waits_for_a_burst(tmp_path: Path, told: Told) -> None:
    """Mixed with the speech under way, which is turned down meanwhile; an utterance that waits begins after it."""
    player = tape(tmp_path / "t.wav", told)
    player.say(1, flat(1, 0.4), START)
    player.ring(flat(0.2, 0.3), START + 0.5)
    player.ring(flat(0.5, 0.3), START + 2)
    player.say(2, flat(0.5, 0.4), START + 2.1)
    player.advance(START + 4)
    player.close()
    samples = read(tmp_path / "t.wav")
    for at, level in ((0.25, 0.4), (0.6, 0.3 + DUCK * 0.4), (0.8, 0.4), (1.5, 0), (2.25, 0.3), (2.55, 0), (2.9, 0.4)):
        assert samples[round(at * RATE)] == pytest.approx(level, abs=1e-3), at
    assert told.brief[2] == ("began", 2, 2.5 + GAP_S)


def test_loud_on_loud_is_limited_not_wrapped(tmp_path: Path, told: Told) -> None:
    player = tape(tmp_path / "t.wav", told)
    player.say(1, flat(0.5, 0.9), START)
    player.ring(flat(0.3, 0.9), START + 0.1)
    player.advance(START + 1)
    player.close()
    assert np.max(read(tmp_path / "t.wav")) == pytest.approx(1.0)
    assert np.min(read(tmp_path / "t.wav")) == 0.0


def test_another_rate_keeps_pitch_and_length(tmp_path: Path, told: Told) -> None:
    """A sound at 22,050 Hz on a tape at 8,000 Hz: same length, same frequency."""
    player = tape(tmp_path / "t.wav", told)
    t = np.arange(22_050) / 22_050
    player.say(1, Sound(22_050, (0.5 * np.sin(2 * np.pi * 600 * t)).astype(np.float32)), START)
    player.advance(START + 1)
    player.close()
    samples = read(tmp_path / "t.wav")
    assert told.brief[-1] == ("said", 1, 1.0)
    assert np.argmax(np.abs(np.fft.rfft(samples))) == 600


def test_closing_cuts_what_is_left(tmp_path: Path, told: Told) -> None:
    player = tape(tmp_path / "t.wav", told)
    player.say(1, flat(5), START)
    player.say(2, flat(5), START)
    player.advance(START + 1)
    player.close()
    player.close()
    assert told.brief[1:] == [("cut", 1, 1.0), ("cut", 2, 1.0)]
    assert len(read(tmp_path / "t.wav")) == RATE


DEEDS = st.lists(
    st.tuples(
        st.sampled_from(["say", "urgent", "ring", "hush", "wait"]),
        st.floats(0, 0.8, allow_nan=False),
        st.floats(0, 1.5, allow_nan=False),
    ),
    max_size=12,
)


def perform(player: Player, deeds: list[tuple[str, float, float]], step: float | None) -> int:
    """Do the deeds, each so long after the one before; `step` moves time on in pieces of that many seconds."""
    at, uid, moved = START, 0, START
    for deed, length, pause in deeds:
        if deed in ("say", "urgent"):
            uid += 1
            player.say(uid, flat(length), at, urgent=deed == "urgent")
        elif deed == "ring":
            player.ring(flat(length, 0.2), at)
        elif deed == "hush":
            player.hush(at)
        at += pause
        while step is not None and moved + step < at:
            moved += step
            player.advance(moved)
    player.advance(at + 20)
    return uid


@given(DEEDS)
@settings(max_examples=150, deadline=None)
def test_every_utterance_ends_once_and_time_goes_on(deeds: list[tuple[str, float, float]]) -> None:
    """Whatever is asked for in whatever order: one end each, a beginning before it, times in order."""
    told = Told()
    said = perform(NullPlayer(told, began_at=START), deeds, None)
    ends = [note.uid for note in told.notes if note.kind in ("said", "cut")]
    assert sorted(ends) == list(range(1, said + 1))
    times = [note.at for note in told.notes]
    assert times == sorted(times)
    begun: set[int] = set()
    for note in told.notes:
        if note.kind == "began":
            begun.add(note.uid)
        elif note.kind == "said":
            assert note.uid in begun


@given(DEEDS, st.sampled_from([0.02, 0.1, 0.33, 1.0]))
@settings(max_examples=50, deadline=None)
def test_how_time_is_cut_up_does_not_matter(
    tmp_path_factory: pytest.TempPathFactory, deeds: list[tuple[str, float, float]], step: float
) -> None:
    """Moved on at once or in pieces, a tape has the same samples and tells the same; the null player too."""
    folder = tmp_path_factory.mktemp("tape")
    results = []
    for name, pieces in (("a.wav", None), ("b.wav", step)):
        told = Told()
        player = tape(folder / name, told)
        perform(player, deeds, pieces)
        player.close()
        results.append((told.brief, (folder / name).read_bytes()))
    assert results[0] == results[1]


def test_null_player_keeps_the_rhythm_of_the_tape(tmp_path: Path) -> None:
    """Same notes as a tape at the same rate."""
    deeds = [("say", 0.5, 0.2), ("ring", 0.3, 0.1), ("say", 0.7, 0.1), ("urgent", 0.2, 1.0), ("say", 0.4, 0.1)]
    one, two = Told(), Told()
    perform(TapePlayer(tmp_path / "t.wav", one, began_at=START), deeds, None)
    perform(NullPlayer(two, began_at=START), deeds, None)
    assert one.notes == two.notes


def test_null_player_without_rhythm_takes_no_time(told: Told) -> None:
    player = NullPlayer(told, began_at=START, rhythm=False)
    player.say(1, flat(5), START + 1)
    player.ring(flat(5), START + 1)
    player.say(2, flat(5), START + 1)
    assert told.brief == [("began", 1, 1.0), ("said", 1, 1.0), ("began", 2, 1.0), ("said", 2, 1.0)]
    assert not player.sounding


KILLED = """
import os, signal, sys
import numpy as np
from pathlib import Path
from bayvoice.voice.base import Sound
from bayvoice.voice.player import TapePlayer
player = TapePlayer(Path(sys.argv[1]), print, rate=8000)
player.say(1, Sound(8000, np.full(8000 * 60, 0.25, np.float32)), 0.0)
for k in range(1, int(float(sys.argv[2]) * 50) + 1):
    player.advance(k / 50)
os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.mark.parametrize("seconds", [0.5, 7.3, 31.9])
def test_a_killed_process_leaves_a_sound_file(tmp_path: Path, seconds: float) -> None:
    """kill -9: a reader finds a whole WAV that lacks at most the last `PATCH_S` seconds."""
    path = tmp_path / "t.wav"
    home = str(Path(__file__).resolve().parents[2])
    done = subprocess.run(
        [sys.executable, "-c", KILLED, str(path), str(seconds)], env=os.environ | {"PYTHONPATH": home}, check=False
    )
    assert done.returncode == -signal.SIGKILL
    samples = read(path)
    assert seconds - PATCH_S - 0.1 <= len(samples) / RATE <= seconds
    assert samples == pytest.approx(0.25, abs=1e-4)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
def test_a_full_disk_is_told_of_once_and_time_runs_on(told: Told) -> None:
    """/dev/full refuses every byte: one trouble, and the dialogue goes on in time."""
    player = TapePlayer(Path("/dev/full"), told, began_at=START, rate=RATE)
    player.say(1, flat(30), START)
    player.advance(START + 40)
    player.say(2, flat(1), START + 40)
    player.advance(START + 50)
    player.close()
    trouble = [note for note in told.notes if note.kind == "trouble"]
    assert len(trouble) == 1
    assert "/dev/full" in trouble[0].what
    assert trouble[0].mend
    assert [note[:2] for note in told.brief if note[0] != "trouble"] == [
        ("began", 1),
        ("said", 1),
        ("began", 2),
        ("said", 2),
    ]


def test_a_tape_that_is_full_stops_and_stays_readable(
    tmp_path: Path, told: Told, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The 4 GiB of RIFF's 32-bit length, here brought down to 10 s: told of once, the file keeps what it has."""
    monkeypatch.setattr(module, "_WAV_MOST", 10 * 2 * RATE)
    player = tape(tmp_path / "t.wav", told)
    player.say(1, flat(20), START)
    player.advance(START + 30)
    player.close()
    assert [note.kind for note in told.notes].count("trouble") == 1
    assert 10 - PATCH_S <= len(read(tmp_path / "t.wav")) / RATE <= 10


@pytest.mark.parametrize("where", ["no/such/folder/t.wav", "."])
def test_a_tape_that_cannot_be_made_is_one_sentence(tmp_path: Path, told: Told, where: str) -> None:
    with pytest.raises(BayError, match="cannot be written there"):
        TapePlayer(tmp_path / where, told)


def test_memory_is_bounded(tmp_path: Path, told: Told) -> None:
    """An hour of silence is no more in memory than a second of it."""
    import tracemalloc

    player = tape(tmp_path / "t.wav", told)
    tracemalloc.start()
    player.advance(START + 3600)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    player.close()
    assert most < 4 * 2 * RATE + (1 << 20)
    assert len(read(tmp_path / "t.wav")) == 3600 * RATE
