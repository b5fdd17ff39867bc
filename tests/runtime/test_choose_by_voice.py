"""`bayvoice work` without a procedure, on a recording: a number and a yes, spoken, begin the job."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import soundfile

from bayvoice.host.datafiles import procedure_names
from bayvoice.record.sqlite.store import Store
from tests.espeak import say

RATE = 16_000


def test_a_job_is_chosen_by_voice_and_worked_on_in_the_same_recording(tmp_path: Path) -> None:
    """Five procedures are read first; what the technician says after them picks the second, and the job goes on."""
    pause = np.zeros
    sound = np.concatenate([pause(45 * RATE), say("number two"), pause(9 * RATE), say("yes"), pause(25 * RATE)]).astype(
        np.float32
    )
    wav = tmp_path / "bay.wav"
    soundfile.write(wav, sound, RATE)
    store = tmp_path / "bay.sqlite"
    ran = subprocess.run(
        [
            sys.executable,
            "-m",
            "bayvoice",
            "work",
            "--mic",
            str(wav),
            "--speaker",
            "off",
            "--screen",
            "off",
            "--by",
            "Dalia",
            "--store",
            str(store),
        ],
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert ran.returncode == 0, ran.stderr
    wanted = procedure_names()[1]
    with Store(store, read_only=True) as opened:
        assert opened.job_names() == [f"{wanted}-1"]
        facts = opened.facts(f"{wanted}-1")
    assert facts[0].body["procedure"] == wanted
    assert facts[1].body["by"] == "Dalia"
    assert any(fact.kind == "step_entered" for fact in facts)


def test_lines_that_follow_the_choice_are_the_job_s(tmp_path: Path) -> None:
    """From a pipe, where all of them are there at once: none is lost to choosing, and their end ends the job."""
    store = tmp_path / "bay.sqlite"
    ran = subprocess.run(
        [
            sys.executable,
            "-m",
            "bayvoice",
            "work",
            "--ears",
            "typed",
            "--speaker",
            "off",
            "--screen",
            "off",
            "--json",
            "--by",
            "Dalia",
            "--store",
            str(store),
        ],
        input="2\nyes\nwhich step\nnote the lid is cracked\n",
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert ran.returncode == 0, ran.stderr
    name = f"{procedure_names()[1]}-1"
    with Store(store, read_only=True) as opened:
        facts = opened.facts(name)
    assert [fact.body["text"] for fact in facts if fact.kind == "noted"] == ["the lid is cracked"]
    assert facts[-1].kind == "sitting_left"
