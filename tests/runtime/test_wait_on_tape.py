"""A job on a recording in which a chemical works: it waits, is killed, is taken up on another recording and goes on."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import soundfile
import soxr

from bayvoice.ears.base import RATE
from bayvoice.record.sqlite.store import Store
from bayvoice.voice.piper import PiperVoice
from tests.noises import noise

CUES = [(15.0, "go"), (20.0, "start the clock"), (26.0, "go"), (38.0, "next step"), (48.0, "next step")]
"""Said more than once, as people do who are not understood at first; what was understood already does nothing more."""
BEGAN = 1_790_000_000.0
LEAST = 600

PROCEDURE = f"""
format = 1
title = "Cover faces, clean"
machine = "Varrow K40 tow tractor"
[[step]]
id = "works"
kind = "wait"
wait = "act"
name = "remover"
say = "Let the remover work."
at_least = "{LEAST // 60} min"
at_most = "30 min"
[[step]]
id = "scrape"
kind = "do"
say = "Scrape both faces."
"""


def track(path: Path, cues: list[tuple[float, str]], seconds: float, began: float) -> Path:
    """A recording of a quiet bay that began at wall time `began`: each cue is (second, what is said)."""
    rng = np.random.default_rng(len(cues))
    sound = noise("pink", round(seconds * RATE), rng) * np.float32(1e-3)
    voice = PiperVoice()
    for at, words in cues:
        spoken = voice.render(words)
        samples = np.asarray(soxr.resample(spoken.samples, spoken.rate, RATE), np.float32)
        start = round(at * RATE)
        sound[start : start + len(samples)] += samples
    soundfile.write(path, np.clip(sound, -1, 1), RATE, subtype="PCM_16")
    os.utime(path, (began + seconds, began + seconds))
    return path


def work(folder: Path, mic: Path) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [
            sys.executable,
            "-m",
            "bayvoice",
            "work",
            str(folder / "job.toml"),
            "--mic",
            str(mic),
            "--speaker",
            "off",
            "--screen",
            "off",
            "--store",
            str(folder / "bay.sqlite"),
            "--job",
            "faces",
            "--by",
            "Imre",
            "--ears",
            "phones",
            "--json",
        ],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def lines_of(process: subprocess.Popen[str], until: str = "") -> list[dict[str, Any]]:
    """What it prints, up to the fact of kind `until` or its end."""
    assert process.stdout is not None
    found = []
    for text in process.stdout:
        found.append(json.loads(text))
        if found[-1].get("fact") == until:
            break
    return found


def test_it_waits_is_killed_and_goes_on(tmp_path: Path) -> None:
    """The minimum is counted over both recordings by their wall time, neither shortened nor forgotten."""
    (tmp_path / "job.toml").write_text(PROCEDURE, encoding="utf-8")
    first = track(tmp_path / "a.wav", CUES, 120.0, BEGAN)
    process = work(tmp_path, first)
    lines = lines_of(process, "refused")
    process.send_signal(signal.SIGKILL)
    process.wait()
    refused = lines[-1]
    assert refused["fact"] == "refused", "the early next was not refused"
    assert LEAST - 40 < refused["body"]["n"] < LEAST - 8

    # Eight minutes after the first recording began, another one: too early still, then reached, then gone on with.
    second = track(
        tmp_path / "b.wav",
        [(at, "next step") for at in (25.0, 35.0, 185.0, 195.0)],
        210.0,
        BEGAN + 480,
    )
    process = work(tmp_path, second)
    lines = lines_of(process)
    assert process.wait(120) == 0
    said = [line["text"] for line in lines if line["what"] == "says"]
    assert any(text.startswith("The waits went on by the calendar clock") for text in said)
    assert any(line.get("tone") == "due" for line in lines if line["what"] == "rings")
    assert "Time reached: remover. You may go on." in said

    with Store(tmp_path / "bay.sqlite", read_only=True) as store:
        facts = store.facts("faces")
        assert store.verify("faces") is None
    wall = {kind: [f.wall for f in facts if f.kind == kind] for kind in {f.kind for f in facts}}
    began = wall["wait_started"][0]
    again = next(f for f in facts if f.kind == "refused" and f.wall > BEGAN + 480)
    assert again.body["of"] == "seconds"
    assert again.body["n"] >= LEAST - (again.wall - began) - 1
    assert 0 <= wall["wait_due"][0] - began - LEAST <= 4.0, "the minimum was shortened, or counted twice"
    entered = next(f for f in facts if f.kind == "step_entered" and f.body["step"] == "scrape")
    assert entered.wall >= wall["wait_due"][0]
    ended = next(f for f in facts if f.kind == "wait_ended")
    assert ended.body["verdict"] == "in_window"
