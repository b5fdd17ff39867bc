"""A note on a recording: the real ears, the real disk, and the hash in the record."""

from __future__ import annotations

import hashlib
import io
import json
import subprocess
import sys
import wave
from pathlib import Path

import numpy as np
import soundfile

from bayvoice.dialogue.engine.events import NoteTaken
from bayvoice.ears.base import RATE, Samples
from bayvoice.ears.notetaker import NOBODY_S, SILENCE_S, NoteTaker
from bayvoice.host.clock import TapeClock
from bayvoice.record.sounds import find, folder_of
from bayvoice.record.sqlite.store import Store
from bayvoice.runtime.inbox import Maker
from bayvoice.runtime.noting import Noting
from tests.espeak import say

STEP = """
format = 1
title = "Look"
machine = "Varrow K40 tow tractor"
[[step]]
id = "look"
kind = "do"
say = "Look."
[[step]]
id = "close"
kind = "do"
say = "Close."
"""
REMARK = "The third tooth of the output gear is chipped, about a millimetre, and there is glitter in the oil."


def pause(seconds: float) -> Samples:
    """Silence."""
    return np.zeros(round(seconds * RATE), np.float32)


def test_a_spoken_note_is_the_sound_itself_and_its_hash_is_in_the_record(tmp_path: Path) -> None:
    """By the command line and the phone recogniser; what is kept is the very sound, and the job goes on after it."""
    remark = say(REMARK)
    sound = np.concatenate([pause(14), say("take a note"), pause(1), remark, pause(7), say("next"), pause(4)])
    procedure, tape, store = tmp_path / "look.toml", tmp_path / "bay.wav", tmp_path / "bay.sqlite"
    procedure.write_text(STEP, encoding="utf-8")
    soundfile.write(tape, sound.astype(np.float32), RATE)
    ran = subprocess.run(
        [
            sys.executable,
            "-m",
            "bayvoice",
            "work",
            str(procedure),
            "--mic",
            str(tape),
            "--speaker",
            "off",
            "--screen",
            "off",
            "--by",
            "Imre",
            "--job",
            "look",
            "--store",
            str(store),
            "--ears",
            "phones",
            "--json",
        ],
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert ran.returncode == 0, ran.stderr
    with Store(store, read_only=True) as opened:
        facts = opened.facts("look")
    noted = [fact.body for fact in facts if fact.kind == "noted"]
    assert len(noted) == 1, ran.stdout
    kept = find(store, noted[0]["sound"])
    assert kept is not None
    data = kept.read_bytes()
    assert hashlib.sha256(data).hexdigest() == noted[0]["sha256"]
    with wave.open(io.BytesIO(data), "rb") as file:
        assert (file.getframerate(), file.getnchannels(), file.getsampwidth()) == (RATE, 1, 2)
        note = np.frombuffer(file.readframes(file.getnframes()), "<i2")
    assert noted[0]["seconds"] == -(-len(note) // RATE)
    whole = np.rint(soundfile.read(tape, dtype="float32")[0] * 32767).astype(np.int16)
    loud = int(np.argmax(np.abs(note.astype(np.int32))))
    starts = [at - loud for at in np.flatnonzero(whole == note[loud]) if at >= loud]
    start = next(at for at in starts if np.array_equal(whole[at : at + len(note)], note))
    spoken = slice(round(14 * RATE) + len(say("take a note")) + RATE, None)
    assert start < spoken.start, "the beginning of the remark is on it"
    end = spoken.start + len(remark)
    assert end < start + len(note) < end + 4 * RATE, "it ends some seconds after the last word"
    # The announcement comes after the fact, and the word that follows is a command again.
    lines = [json.loads(line) for line in ran.stdout.splitlines()]
    order = [line["fact"] for line in lines if line["what"] == "kept"]
    assert order.index("noted") < order.index("step_done")
    told = [n for n, line in enumerate(lines) if line.get("text", "").startswith("Noted:")]
    fact = [n for n, line in enumerate(lines) if line["what"] == "kept" and line["fact"] == "noted"]
    assert fact[0] < told[0]
    assert [fact.body["step"] for fact in facts if fact.kind == "step_done"] == ["look"]


def test_a_note_ends_when_its_speaker_falls_silent_or_nobody_speaks() -> None:
    """Counted in samples, whatever the blocks."""
    for block in (160, 512, 1600):
        taker = NoteTaker()
        over = [taker.feed(np.ones(block, np.float32), speaking=n * block < 3 * RATE) for n in range(6 * RATE // block)]
        assert abs((over.index(True) + 1) * block / RATE - 3 - SILENCE_S) <= 2 * block / RATE
        nobody = NoteTaker()
        quiet = [nobody.feed(np.zeros(block, np.float32), speaking=False) for _ in range(9 * RATE // block)]
        assert abs((quiet.index(True) + 1) * block / RATE - NOBODY_S) <= block / RATE
        assert not nobody.spoken


def test_the_file_is_there_before_it_is_told(tmp_path: Path) -> None:
    """The event carries the hash of bytes that can be read back at that moment; an end asked for by word ends it."""
    store = tmp_path / "bay.sqlite"
    told: list[NoteTaken] = []

    def give(make: Maker) -> None:
        (event,) = make(None)
        assert isinstance(event, NoteTaken)
        if event.sound:
            path = find(store, event.sound)
            assert path is not None, "the file is told of before it is there"
            assert hashlib.sha256(path.read_bytes()).hexdigest() == event.sha256
        told.append(event)

    notes = Noting(store, give, TapeClock())
    notes.feed(np.ones(160, np.float32), speaking=True)
    assert not told, "nobody asked for a note"
    notes.begin("job-0001")
    notes.feed(np.full(1600, 0.5, np.float32), speaking=True)
    notes.end()
    notes.feed(np.zeros(160, np.float32), speaking=True)
    notes.feed(np.zeros(160, np.float32), speaking=True)
    assert len(told) == 1
    assert told[0].sound
    assert told[0].seconds == 0.11
    assert not told[0].why
    # A folder that cannot be written: told, and no file is named.
    folder_of(store).joinpath(told[0].sound).unlink()
    folder_of(store).rmdir()
    folder_of(store).write_text("in the way")
    notes.begin("job-0002")
    notes.feed(np.ones(160, np.float32), speaking=True)
    notes.flush()
    assert (told[1].sound, told[1].sha256) == ("", "")
    assert "cannot be kept" in told[1].why
