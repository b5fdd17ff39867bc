"""A job on a recording in which the microphone goes dead and the bay grows too loud."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import soundfile

from bayvoice.ears.base import RATE
from tests.noises import noise
from tests.runtime.worker import SHORT


def test_trouble_with_the_sound_is_recorded_said_and_over(tmp_path: Path) -> None:
    """Each is a fact of the job, is said, and is no trouble any more once it is over."""
    rng = np.random.default_rng(3)
    hiss = noise("pink", 40 * RATE, rng) * 1e-3
    hiss[20 * RATE : 32 * RATE] = 0
    loud = np.clip(noise("pink", 8 * RATE, rng) * 0.4, -1, 1)
    path = tmp_path / "bay.wav"
    soundfile.write(path, np.concatenate([hiss, loud, hiss[: 8 * RATE]]), RATE, subtype="PCM_16")
    done = subprocess.run(
        [
            sys.executable,
            "-m",
            "bayvoice",
            "work",
            str(SHORT),
            "--mic",
            str(path),
            "--speaker",
            "off",
            "--screen",
            "off",
            "--store",
            str(tmp_path / "bay.sqlite"),
            "--by",
            "Imre",
            "--ears",
            "phones",
            "--json",
        ],
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    lines = [json.loads(line) for line in done.stdout.splitlines()]
    told = [(line["part"], line["what"] == "mended") for line in lines if "part" in line]
    assert told == [("microphone", False), ("microphone", True), ("noise", False), ("noise", True)]
    facts = [line["body"]["part"] for line in lines if line["what"] == "kept" and line["fact"] == "trouble"]
    assert facts == ["microphone", "noise"]
    said = " ".join(line["text"] for line in lines if line["what"] == "says")
    assert "The microphone gives no sound" in said
    assert "too loud to hear you" in said
