"""`bayvoice soundcheck --mic`: the noise of a bay and the mode of the address word it calls for."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile

from bayvoice.ears.base import RATE, Samples
from bayvoice.ears.baynoise import measure
from bayvoice.errors import BayError
from bayvoice.language.address import AddressMode
from tests.espeak import say
from tests.noises import noise


def bay(level_db: float, kind: str = "mixed", seconds: float = 3.0) -> Samples:
    made = noise(kind, int(seconds * RATE), np.random.default_rng(1)) * 10 ** (level_db / 20)
    return np.asarray(np.clip(made, -1, 1), np.float32)


@pytest.mark.parametrize("level_db", [-70.0, -50.0, -30.0])
def test_the_level_is_measured(level_db: float) -> None:
    """Pink noise has the level it was made with, less what lies under the high-pass at 80 Hz."""
    found = measure([bay(level_db, "pink")])
    assert level_db - 6 < found.level_db < level_db
    assert found.talk == 0


@pytest.mark.parametrize(
    ("sound", "mode"),
    [
        (bay(-60), AddressMode.NEVER),
        (bay(-35), AddressMode.GUARDED),
        (np.concatenate([say("next"), bay(-70, seconds=2)]), AddressMode.GUARDED),
        (np.concatenate([say("where did you leave the long spanner yesterday")] * 2), AddressMode.ALWAYS),
    ],
)
def test_noise_and_talk_decide_the_mode(sound: Samples, mode: AddressMode) -> None:
    found = measure([sound])
    assert found.mode is mode, found
    assert mode.value in found.sentence()


@pytest.mark.parametrize(("sound", "says"), [(bay(-10), "too loud"), (np.zeros(3 * RATE, np.float32), "no sound")])
def test_a_bay_in_which_nothing_can_be_heard_is_a_fault(sound: Samples, says: str) -> None:
    with pytest.raises(BayError, match=says):
        measure([sound]).sentence()


def test_no_sound_at_all_is_a_fault() -> None:
    with pytest.raises(BayError, match="no sound"):
        measure([])


def test_soundcheck_measures_a_recording(tmp_path: Path) -> None:
    path = tmp_path / "bay.wav"
    soundfile.write(path, bay(-35), RATE)
    done = subprocess.run(
        [sys.executable, "-m", "bayvoice", "soundcheck", "--json", "--mic", str(path), "--store", str(tmp_path / "s")],
        capture_output=True,
        text=True,
        timeout=120,
    )
    (found,) = [part for part in json.loads(done.stdout)["parts"] if part["part"] == "bay"]
    assert found["works"]
    assert "--address guarded" in found["what"]
