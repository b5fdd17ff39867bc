"""`bayvoice hear --explain` and the keys of `--json`."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import soundfile

from bayvoice.ears.base import RATE
from tests.espeak import say


def bayvoice(*args: str) -> str:
    done = subprocess.run([sys.executable, "-m", "bayvoice", *args], capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_a_result_is_explained(tmp_path: Path) -> None:
    """Times of the words lie inside the utterance, levels are those of the sound, and the runner-up means otherwise."""
    path = tmp_path / "said.wav"
    soundfile.write(path, say("thirty two point five newton metres"), RATE)
    line = json.loads(bayvoice("hear", "--json", str(path)))
    assert (line["intent"], line["value"], line["unit"]) == ("record", "32.5", "N.m")
    assert [word["word"] for word in line["words"]] == line["text"].split()
    times = [at for word in line["words"] for at in (word["began_s"], word["ended_s"])]
    assert times == sorted(times)
    assert line["began_s"] - 0.3 <= times[0] < times[-1] <= line["ended_s"] + 0.5
    assert line["sure"] > 0
    assert line["runner_up"] not in (None, line["text"])
    assert line["runner_up_margin"] > 0
    assert line["noise_db"] + 15 < line["level_db"] < 0
    text = bayvoice("hear", "--explain", str(path))
    for part in ("words: thirty ", "next best meaning: ", "certainty +", "record is value", "bay at -"):
        assert part in text
    assert len(bayvoice("hear", str(path)).splitlines()) == 1
