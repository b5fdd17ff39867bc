"""The live microphone, against a sound server of its own and against machines that have none.

PortAudio reads its environment when it is initialised, so every case runs in a process of its own.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest
import soundfile

from bayvoice.ears.base import RATE
from tests.bay import MIC, serve, virtual_bay
from tests.espeak import say

# Listens until told phrases have been heard or time is up; one JSON line per happening.
LISTEN = """\
import json, sys, time
from pathlib import Path
from bayvoice.ears.capture import MicBack, Microphone, MicTrouble, Sound, microphones
from bayvoice.ears.front import FrontEnd
from bayvoice.ears.listener import Listener, Utterance
from bayvoice.ears.sphinx_engine import Sphinx
from bayvoice.language.grammar import Grammars

def tell(**facts):
    print(json.dumps(facts), flush=True)

states = '''#JSGF V1.0;
grammar states;
public <step> = next {next} | repeat that {repeat} | stop {stop};
'''
wanted, seconds = int(sys.argv[1]), float(sys.argv[2])
ears = Listener(Sphinx(), FrontEnd(), Grammars({"states.gram": states}).state("step"))
tell(microphones=[device.name for device in microphones()])
mic = Microphone()
tell(open=mic.rate)
until = time.monotonic() + seconds
taken = 0
while time.monotonic() < until and wanted:
    got = mic.read()
    if isinstance(got, Sound):
        assert got.samples.dtype.name == "float32"
        taken += len(got.samples)
        for event in ears.feed(got.samples, got.at_s):
            if isinstance(event, Utterance):
                now = time.monotonic()
                tell(heard=event.hearing.words, began=event.began_s, ended=event.ended_s, now=now)
                wanted -= 1
    elif isinstance(got, MicTrouble):
        tell(trouble=got.what)
        wanted -= 1
    elif isinstance(got, MicBack):
        tell(back=got.out_s)
tell(overruns=mic.overruns, seconds=taken / 16000)
mic.close()
tell(closed=True)
"""


def listen(env: dict[str, str], wanted: int, seconds: float) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", LISTEN, str(wanted), str(seconds)],
        env=env | {"PYTHONPATH": os.getcwd()},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def next_fact(child: subprocess.Popen[str], key: str) -> dict[str, Any]:
    assert child.stdout is not None
    for line in child.stdout:
        fact: dict[str, Any] = json.loads(line)
        if key in fact:
            return fact
    assert child.stderr is not None
    raise AssertionError(f"the child ended before telling {key}: {child.stderr.read()}")


@pytest.mark.audio_server
def test_what_is_said_in_the_bay_is_heard(tmp_path: Path) -> None:
    """Through a real sound server: player, microphone, resampling, gate, recogniser."""
    with virtual_bay(tmp_path / "bay") as env:
        child = listen(env, 2, 30)
        try:
            assert next_fact(child, "microphones")["microphones"]
            next_fact(child, "open")
            for phrase, words in (("repeat that", ["repeat", "that"]), ("stop", ["stop"])):
                path = tmp_path / "said.wav"
                soundfile.write(path, say(phrase), RATE)
                started = time.monotonic()
                subprocess.run(["paplay", f"--device={MIC}", str(path)], env=env, check=True, timeout=20)
                fact = next_fact(child, "heard")
                assert fact["heard"] == words
                # The sound carries 0.3 s of silence in front. The child's clock is the same monotonic clock.
                assert -0.2 < fact["began"] - started - 0.3 < 1.5
                assert fact["began"] < fact["ended"] < fact["now"]
            last = next_fact(child, "overruns")
            assert last["overruns"] == 0
            assert next_fact(child, "closed")
            assert child.wait(10) == 0
            assert child.stderr is not None
            assert child.stderr.read() == ""
        finally:
            child.kill()
            child.wait()


@pytest.mark.audio_server
def test_a_microphone_that_falls_silent_is_reported_and_comes_back(tmp_path: Path) -> None:
    """The server is halted, which is what a hung device looks like, and then goes on."""
    with virtual_bay(tmp_path / "bay") as env:
        server = int(env["BAY_SERVER"])
        child = listen(env, 2, 40)
        try:
            next_fact(child, "open")
            time.sleep(0.5)
            os.kill(server, signal.SIGSTOP)
            assert "no sound has come from the microphone" in next_fact(child, "trouble")["trouble"]
            os.kill(server, signal.SIGCONT)
            assert next_fact(child, "back")["back"] >= 2.0
        finally:
            os.kill(server, signal.SIGCONT)
            child.kill()
            child.wait()


@pytest.mark.audio_server
def test_a_microphone_that_was_gone_is_opened_again(tmp_path: Path) -> None:
    """The server dies and another takes its place: unplugged and plugged in again."""
    with virtual_bay(tmp_path / "bay") as env:
        child = listen(env, 2, 40)
        other: subprocess.Popen[bytes] | None = None
        try:
            next_fact(child, "open")
            time.sleep(0.5)
            os.kill(int(env["BAY_SERVER"]), signal.SIGKILL)
            next_fact(child, "trouble")
            other = serve(tmp_path / "bay", env)
            assert next_fact(child, "back")["back"] >= 2.0
        finally:
            child.kill()
            child.wait()
            if other is not None:
                other.terminate()
                other.wait()


@pytest.mark.audio_server
def test_a_microphone_that_is_gone_is_reported_and_the_process_ends_cleanly(tmp_path: Path) -> None:
    """The server dies, which is what an unplugged device looks like."""
    with virtual_bay(tmp_path / "bay") as env:
        child = listen(env, 1, 30)
        try:
            next_fact(child, "open")
            time.sleep(0.5)
            os.kill(int(env["BAY_SERVER"]), signal.SIGKILL)
            assert "no sound has come from the microphone" in next_fact(child, "trouble")["trouble"]
            assert next_fact(child, "closed")
            assert child.wait(20) == 0
        finally:
            child.kill()
            child.wait()


def opened(env: dict[str, str], before: str = "") -> subprocess.CompletedProcess[str]:
    code = f"""\
{before}
from bayvoice.ears.capture import Microphone, microphones
from bayvoice.errors import BayError
try:
    print(microphones())
    Microphone()
except BayError as fault:
    print(fault)
"""
    return subprocess.run(
        [sys.executable, "-c", code],
        env=env | {"PYTHONPATH": os.getcwd()},
        capture_output=True,
        text=True,
        timeout=60,
    )


def test_no_microphone_is_one_sentence(tmp_path: Path) -> None:
    """No sound server and no sound card; skipped where there is one, and where PortAudio itself is absent."""
    if any(Path("/proc/asound").glob("card[0-9]*")):
        pytest.skip("this machine has a sound card")
    env = dict(os.environ) | {"PULSE_SERVER": f"unix:{tmp_path}/none"}
    done = opened(env)
    if "PortAudio is not installed" in done.stdout:
        pytest.skip("live audio is not tested: PortAudio not installed (Debian: libportaudio2)")
    assert done.returncode == 0
    assert "()\nthere is no microphone; plug a microphone in" in done.stdout
    assert done.stderr == ""


def test_no_portaudio_is_one_sentence() -> None:
    """The loader is made to find no PortAudio, as on a machine without the package."""
    done = opened(dict(os.environ), "import ctypes.util; ctypes.util.find_library = lambda name: None")
    assert done.returncode == 0
    assert done.stdout.startswith("live sound does not work, PortAudio is not installed; install PortAudio")
    assert done.stderr == ""


def test_native_chatter_goes_to_the_log(tmp_path: Path) -> None:
    code = """\
import os, sys
from pathlib import Path
from bayvoice.host.nativelog import native_output_to
with native_output_to(Path(sys.argv[1]) / "logs" / "native.log"):
    os.write(2, b"ALSA lib: chatter")
os.write(2, b"ours")
with native_output_to(Path("/proc/none/native.log")):
    os.write(2, b"dropped")
"""
    done = subprocess.run([sys.executable, "-c", code, str(tmp_path)], capture_output=True, cwd=os.getcwd())
    assert done.returncode == 0
    assert done.stderr == b"ours"
    assert (tmp_path / "logs" / "native.log").read_bytes() == b"ALSA lib: chatter"
