"""A bay without a sound card: a PulseAudio server of its own with one microphone and one loudspeaker.

What is played into the sink ``bay_mic`` is what the microphone hears; what the product plays arrives in the sink
``bay_speaker``, whose monitor a test records. PortAudio reads its environment when it is initialised, so whatever
uses sounddevice runs in a child process started with the environment this gives.
"""

from __future__ import annotations

import ctypes.util
import os
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

MIC = "bay_mic"
"""Sink to play into: ``paplay --device=bay_mic FILE.wav`` is the technician speaking."""

SPEAKER_MONITOR = "bay_speaker.monitor"
"""Source to record from: ``parec --device=bay_speaker.monitor`` is an ear in the bay."""

# Without norewinds=1 a null sink buffers two seconds and everything arrives late.
_SINK = "rate=48000 channels=1 format=s16le norewinds=1"

_ALSA = """\
</usr/share/alsa/alsa.conf>
pcm.!default { type pulse }
ctl.!default { type pulse }
"""


def lacking() -> str:
    """What this machine lacks for live audio tests, one sentence; empty where nothing is lacking."""
    programs = [name for name in ("pulseaudio", "pactl", "paplay", "parec") if shutil.which(name) is None]
    if programs:
        return f"live audio is not tested: {', '.join(programs)} not installed (Debian: pulseaudio, pulseaudio-utils)"
    if ctypes.util.find_library("portaudio") is None:
        return "live audio is not tested: PortAudio not installed (Debian: libportaudio2)"
    if not any(Path("/usr/lib").glob("*/alsa-lib/libasound_module_pcm_pulse.so")):
        return "live audio is not tested: ALSA's way to PulseAudio not installed (Debian: libasound2-plugins)"
    return ""


def _ready(env: dict[str, str], within_s: float) -> bool:
    until = time.monotonic() + within_s
    while time.monotonic() < until:
        probe = subprocess.run(["pactl", "list", "short", "sources"], env=env, capture_output=True, text=True)
        if f"{MIC}.monitor" in probe.stdout:
            return True
        time.sleep(0.02)
    return False


def serve(folder: Path, env: dict[str, str]) -> subprocess.Popen[bytes]:
    """The server's process for the bay in `folder`; a test that has killed it may start it again so."""
    own = env | dict.fromkeys(
        ("HOME", "XDG_RUNTIME_DIR", "PULSE_RUNTIME_PATH", "PULSE_STATE_PATH", "PULSE_CONFIG_PATH"), str(folder)
    )
    return subprocess.Popen(
        [
            "pulseaudio",
            "-n",
            "--daemonize=no",
            f"--file={folder}/bay.pa",
            "--exit-idle-time=-1",
            "--use-pid-file=no",
            "--realtime=no",
            "--high-priority=no",
            f"--log-target=file:{folder}/pulse.log",
        ],
        env=own,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


@contextmanager
def virtual_bay(folder: Path) -> Iterator[dict[str, str]]:
    """Start the server in `folder` (made if absent, private to the user); skip the test where it cannot run.

    Yields the whole environment for child processes. Default input is the bay's microphone, default output its
    loudspeaker, for PulseAudio's own programs and for ALSA and so PortAudio; BAY_SERVER is the server's process.
    The server ends with the block.
    """
    if reason := lacking():
        pytest.skip(reason)
    folder.mkdir(parents=True, exist_ok=True)
    folder.chmod(0o700)
    # A socket's path is limited to some hundred bytes, which a test's own folder may exceed.
    short = Path(tempfile.mkdtemp(prefix="bay"))
    script = folder / "bay.pa"
    script.write_text(
        f"load-module module-native-protocol-unix auth-anonymous=1 socket={short}/native\n"
        f"load-module module-null-sink sink_name=bay_speaker {_SINK}\n"
        f"load-module module-null-sink sink_name={MIC} {_SINK}\n"
        f"set-default-sink bay_speaker\nset-default-source {MIC}.monitor\n",
        encoding="utf-8",
    )
    (folder / "asoundrc").write_text(_ALSA, encoding="utf-8")
    # PULSE_LATENCY_MSEC of the caller would override what the streams themselves ask for.
    env = {key: value for key, value in os.environ.items() if key not in {"DISPLAY", "PULSE_LATENCY_MSEC"}}
    env |= {
        "PULSE_SERVER": f"unix:{short}/native",
        "PULSE_COOKIE": f"{folder}/cookie",
        "ALSA_CONFIG_PATH": f"{folder}/asoundrc",
    }
    server = serve(folder, env)
    try:
        if not _ready(env, 10.0):
            log = folder / "pulse.log"
            tail = log.read_text(errors="replace")[-500:] if log.exists() else ""
            pytest.fail(f"the PulseAudio server did not come up: exit status {server.poll()}; {tail}")
        yield env | {"BAY_SERVER": str(server.pid)}
    finally:
        server.terminate()
        try:
            server.wait(5)
        except subprocess.TimeoutExpired:
            server.kill()
            server.wait(5)
        shutil.rmtree(short, ignore_errors=True)
