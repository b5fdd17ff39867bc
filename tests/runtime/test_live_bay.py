"""A job worked live: a technician's voice in the air of a bay, the product's voice in the same air."""

from __future__ import annotations

import hashlib
import json
import os
import queue
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from bayvoice.record.sounds import find
from bayvoice.voice.piper import PiperVoice
from tests.bay import MIC, SPEAKER_MONITOR, virtual_bay
from tests.runtime.worker import SHORT

pytestmark = pytest.mark.audio_server


class Bay:
    """`bayvoice work` in a virtual bay, the technician's voice, and an ear at the loudspeaker."""

    def __init__(self, folder: Path, env: dict[str, str]) -> None:
        self.folder, self.env = folder, {**os.environ, **env}
        self.voice = PiperVoice()
        self.heard = folder / "loudspeaker.raw"
        with self.heard.open("wb") as out:
            self.recorder = subprocess.Popen(
                ["parec", f"--device={SPEAKER_MONITOR}", "--rate=16000", "--channels=1", "--format=s16le"],
                stdout=out,
                env=self.env,
            )
        self.process = subprocess.Popen(
            [
                sys.executable,
                "-m",
                "bayvoice",
                "work",
                str(SHORT),
                "--by",
                "Imre",
                "--ears",
                "phones",
                "--screen",
                "off",
                "--store",
                str(folder / "bay.sqlite"),
                "--job",
                "short",
                "--json",
            ],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            stdin=subprocess.DEVNULL,
            text=True,
            env=self.env,
        )
        self.lines: list[dict[str, Any]] = []
        self._queue: queue.Queue[dict[str, Any]] = queue.Queue()
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for text in self.process.stdout:
            self._queue.put(json.loads(text))

    def until(self, what: str, within_s: float = 60.0, **fields: str) -> dict[str, Any]:
        """Read lines until one of kind `what` with these fields."""
        end = time.monotonic() + within_s
        while True:
            try:
                line = self._queue.get(timeout=max(0.01, end - time.monotonic()))
            except queue.Empty:
                told = "\n".join(json.dumps(each)[:200] for each in self.lines[-20:])
                raise AssertionError(f"no {what} {fields} came; last lines:\n{told}") from None
            self.lines.append(line)
            if line["what"] == what and all(str(line.get(key)) == value for key, value in fields.items()):
                return line

    def say(self, words: str) -> None:
        """The technician speaks; comes back when the words are out."""
        sound = self.voice.render(words)
        path = self.folder / "words.wav"
        soundfile.write(path, sound.samples, sound.rate, subtype="PCM_16")
        subprocess.run(["paplay", f"--device={MIC}", str(path)], env=self.env, check=True)

    def loudness(self) -> float:
        """Root mean square of what the loudspeaker gave in the last 0.3 s, full scale 1."""
        raw = np.frombuffer(self.heard.read_bytes()[-9_600:], "<i2").astype(float) / 32_768
        return float(np.sqrt(np.mean(np.square(raw)))) if len(raw) else 0.0

    def close(self) -> None:
        """End everything."""
        for process in (self.process, self.recorder):
            process.kill()
            process.wait()
        self.voice.close()


def test_a_technician_works_live_by_voice(tmp_path: Path) -> None:
    """Steps are heard at the loudspeaker, words are heard at the microphone, "stop" falls into the speech."""
    with virtual_bay(tmp_path) as env:
        bay = Bay(tmp_path, env)
        try:
            bay.until("says", text="Step 1. Turn the key off.")
            bay.until("listens")
            time.sleep(0.5)  # a person takes a breath; what comes within the tail counts as the product's own voice
            assert (bay.heard.stat().st_size) > 16_000, "nothing was heard at the loudspeaker"
            bay.say("next")
            line = bay.until("heard")
            assert line["intent"] == "next", line["why"]
            bay.until("kept", fact="step_entered")
            bay.until("says")  # the step begins to be read: long enough to be stopped in
            time.sleep(2.5)
            assert bay.loudness() > 0.005, "it should be speaking"
            bay.say("stop")
            assert bay.until("heard")["intent"] == "stop"
            bay.until("quiet")
            time.sleep(0.6)
            assert bay.loudness() < 0.002, "it should have fallen silent"
            bay.say("next")
            assert bay.until("heard")["intent"] == "next"
            assert bay.until("kept", fact="step_entered")["body"]["step"] == "undo"
        finally:
            bay.close()


def test_a_live_note_keeps_the_sound_of_the_bay(tmp_path: Path) -> None:
    """The microphone's thread cuts the sound and writes it; the record holds the hash of the very file."""
    with virtual_bay(tmp_path) as env:
        bay = Bay(tmp_path, env)
        try:
            bay.until("says", text="Step 1. Turn the key off.")
            bay.until("listens")
            time.sleep(0.5)
            bay.say("make a note")
            line = bay.until("heard")
            assert line["intent"] == "note", line
            bay.until("rings", tone="heard")
            time.sleep(0.5)
            bay.say("There is a burr on the key slot.")
            body = bay.until("kept", within_s=30, fact="noted")["body"]
            sound = find(tmp_path / "bay.sqlite", body["sound"])
            assert sound is not None
            assert hashlib.sha256(sound.read_bytes()).hexdigest() == body["sha256"]
            samples, rate = soundfile.read(sound)
            assert rate == 16_000
            assert np.sqrt(np.mean(np.square(samples))) > 0.005, "there is a voice on it"
            bay.until("says", text=f"Noted: {round(len(samples) / rate)} seconds of sound.")
        finally:
            bay.close()
