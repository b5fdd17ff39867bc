"""The live player on a real audio server: what is said arrives at the loudspeaker, and hush is hush."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.bay import SPEAKER_MONITOR, lacking, virtual_bay

pytestmark = pytest.mark.audio_server

RATE = 48_000

# PortAudio reads its environment when it is loaded, so the player runs in a child. It does what it is told, one word
# a line, and prints each note and each deed with its time on the clock this process also has.
CHILD = """
import json, sys, threading, time
import numpy as np
from bayvoice.voice.base import Sound
from bayvoice.voice.live import LivePlayer, loudspeakers
from bayvoice.voice.tones import burst
from bayvoice.errors import BayError

lock = threading.Lock()
def out(**what):
    with lock:
        print(json.dumps(what), flush=True)

def tone(hz, seconds):
    t = np.arange(round(seconds * 22050)) / 22050
    return Sound(22050, (0.5 * np.sin(2 * np.pi * hz * t)).astype(np.float32))

try:
    player = LivePlayer(lambda n: out(note=n.kind, uid=n.uid, at=n.at, what=n.what), device=DEVICE)
except BayError as error:
    out(deed="error", says=str(error))
    raise SystemExit(0)
out(deed="open", at=time.monotonic(), devices=loudspeakers())
for line in sys.stdin:
    deed, *rest = line.split()
    at = time.monotonic()
    if deed == "say":
        player.say(int(rest[0]), tone(float(rest[1]), float(rest[2])), at)
    elif deed == "ring":
        player.ring(burst(rest[0]), at)
    elif deed == "hush":
        player.hush(at)
    out(deed=deed, at=at, took=time.monotonic() - at, underruns=player.underruns)
player.close()
out(deed="close", at=time.monotonic())
"""


class Child:
    """The player's process, and what it has printed."""

    def __init__(self, env: dict[str, str], device: str = "None", before: str = "") -> None:
        home = str(Path(__file__).resolve().parents[2])
        self.process = subprocess.Popen(
            [sys.executable, "-c", before + CHILD.replace("DEVICE", device)],
            env=env | {"PYTHONPATH": home},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        self.lines: list[dict[str, Any]] = []
        self._news = threading.Condition()
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            with self._news:
                self.lines.append(json.loads(line))
                self._news.notify_all()

    def tell(self, words: str) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write(words + "\n")
        self.process.stdin.flush()

    def wait(self, within: float = 20.0, **want: Any) -> dict[str, Any]:
        """The first line that has all of `want`; the test fails if there is none within that many seconds."""
        until = time.monotonic() + within
        with self._news:
            while True:
                for line in self.lines:
                    if all(line.get(key) == value for key, value in want.items()):
                        return line
                if not self._news.wait(max(0.0, until - time.monotonic())):
                    pytest.fail(f"nothing like {want} in {self.lines}")

    def end(self) -> None:
        assert self.process.stdin is not None
        self.process.stdin.close()
        try:
            self.process.wait(20)
        except subprocess.TimeoutExpired:
            self.process.kill()
            pytest.fail("the player did not end")
        self._reader.join(5)


@dataclass
class Ear:
    """What the loudspeaker gives, with the time each piece was heard."""

    pieces: list[tuple[float, bytes]] = field(default_factory=list)

    def samples(self) -> NDArray[np.float32]:
        whole = np.frombuffer(b"".join(data for _, data in self.pieces), "<i2")
        return np.asarray(whole / 32768, dtype=np.float32)

    def heard(self, floor: float = 0.02) -> list[tuple[float, float]]:
        """Loud stretches as (first, last) in seconds of the clock, gaps under 60 ms closed."""
        spans: list[tuple[float, float]] = []
        for at, data in self.pieces:
            block = np.frombuffer(data, "<i2").astype(np.float32) / 32768
            for k in np.flatnonzero(np.abs(block) > floor)[[0, -1]] if np.any(np.abs(block) > floor) else ():
                t = at - (len(block) - int(k)) / RATE
                if spans and t - spans[-1][1] < 0.06:
                    spans[-1] = (spans[-1][0], max(t, spans[-1][1]))
                else:
                    spans.append((t, t))
        return spans


@contextmanager
def listening(env: dict[str, str]) -> Iterator[Ear]:
    ear = Ear()
    process = subprocess.Popen(
        [
            "parec",
            f"--device={SPEAKER_MONITOR}",
            "--raw",
            "--format=s16le",
            "--channels=1",
            f"--rate={RATE}",
            "--latency-msec=10",
        ],
        env=env,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    )

    def read() -> None:
        assert process.stdout is not None
        while data := os.read(process.stdout.fileno(), 1 << 16):
            ear.pieces.append((time.monotonic(), data))

    thread = threading.Thread(target=read, daemon=True)
    thread.start()
    until = time.monotonic() + 10
    while not ear.pieces and time.monotonic() < until:
        time.sleep(0.01)
    try:
        yield ear
    finally:
        time.sleep(0.2)
        process.terminate()
        process.wait(5)
        thread.join(5)


@contextmanager
def started_again(folder: Path, env: dict[str, str]) -> Iterator[None]:
    """The bay's server once more, at the same address, after it has been ended."""
    own = env | dict.fromkeys(
        ("HOME", "XDG_RUNTIME_DIR", "PULSE_RUNTIME_PATH", "PULSE_STATE_PATH", "PULSE_CONFIG_PATH"), str(folder)
    )
    server = subprocess.Popen(
        [
            "pulseaudio",
            "-n",
            "--daemonize=no",
            f"--file={folder}/bay.pa",
            "--exit-idle-time=-1",
            "--use-pid-file=no",
            "--realtime=no",
            "--high-priority=no",
        ],
        env=own,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        yield
    finally:
        server.terminate()
        server.wait(10)


def pitch(samples: NDArray[np.float32]) -> float:
    """The strongest frequency, Hz."""
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples)), 1 << 17))
    return float(np.argmax(spectrum) * RATE / (1 << 17))


def test_said_rung_and_hushed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A tone comes out of the loudspeaker as long and as high as it was given, once; hush cuts a longer one off."""
    with virtual_bay(tmp_path / "bay") as env:
        child = Child(env)
        child.wait(deed="open")
        with listening(env) as ear:
            child.tell("say 1 440 0.8")
            said = child.wait(note="said", uid=1)
            child.tell("say 2 1000 9")
            child.tell("say 3 700 1")
            child.wait(note="began", uid=2)
            time.sleep(0.7)
            child.tell("hush")
            child.wait(note="cut", uid=3)
            time.sleep(0.5)
            child.tell("ring soon")
            time.sleep(1.2)
        child.end()
    notes = [(line["note"], line["uid"]) for line in child.lines if "note" in line]
    assert notes == [("began", 1), ("said", 1), ("began", 2), ("cut", 2), ("cut", 3), ("rang", 0)]

    first, second, *rung = ear.heard()
    samples, start = ear.samples(), ear.pieces[0][0] - len(ear.pieces[0][1]) / 2 / RATE
    assert first[1] - first[0] == pytest.approx(0.8, abs=0.1)
    middle = round((first[0] - start + 0.2) * RATE)
    assert pitch(samples[middle : middle + RATE // 4]) == pytest.approx(440, abs=2)
    assert second[1] - second[0] < 6, "nine seconds of tone went on in spite of hush"
    assert len(rung) >= 3, "a burst of three pulses"

    hush = next(line for line in child.lines if line.get("deed") == "hush")
    told = {"hush to silence": second[1] - hush["at"], "end heard to end told": said["at"] - first[1]}
    worst = max(line["took"] for line in child.lines if "took" in line)
    underruns = [line["underruns"] for line in child.lines if "underruns" in line][-1]
    with capsys.disabled():
        figures = ", ".join(f"{what} {1000 * s:.0f} ms" for what, s in told.items())
        print(f"\n  loudspeaker: {figures}, longest call {1000 * worst:.1f} ms, underruns {underruns}")


def test_a_lost_server_is_told_of_and_nothing_waits_for_ever(tmp_path: Path) -> None:
    """The audio server is killed in the middle of an utterance: trouble is told, all is cut, and closing works."""
    with virtual_bay(tmp_path / "bay") as env:
        child = Child(env)
        child.wait(deed="open")
        child.tell("say 1 440 30")
        child.tell("say 2 440 1")
        child.wait(note="began", uid=1)
        subprocess.run(["pactl", "exit"], env=env, check=True)
        child.wait(note="trouble", within=30)
        child.wait(note="cut", uid=1)
        child.wait(note="cut", uid=2)
        child.tell("say 3 440 1")
        child.wait(note="cut", uid=3)
        with started_again(tmp_path / "bay", env):
            child.wait(note="mended", within=40)
            child.tell("say 4 440 0.3")
            child.wait(note="said", uid=4)
            child.end()


def test_a_device_that_is_not_there_is_one_sentence(tmp_path: Path) -> None:
    """No such device: one sentence, no traceback."""
    with virtual_bay(tmp_path / "bay") as env:
        child = Child(env, device='"no such thing"')
        assert "no sound can be played" in child.wait(deed="error")["says"]
        child.end()


@pytest.mark.skipif(any(Path("/proc/asound").glob("card[0-9]*")), reason="this machine has sound cards")
@pytest.mark.skipif(bool(lacking()), reason=lacking())
def test_no_sound_card_is_one_sentence() -> None:
    """A machine without a sound card and without a sound server: one sentence, no traceback."""
    env = {k: v for k, v in os.environ.items() if not k.startswith(("PULSE", "ALSA"))}
    child = Child(env)
    assert "no sound can be played" in child.wait(deed="error")["says"]
    child.end()


def test_no_portaudio_is_one_sentence() -> None:
    """Where the C library is not found, sounddevice raises OSError at import: one sentence with the way to mend it."""
    child = Child(dict(os.environ), before="import ctypes.util; ctypes.util.find_library = lambda name: None")
    says = child.wait(deed="error")["says"]
    assert "PortAudio library is not installed" in says
    assert "libportaudio2" in says
    child.end()
