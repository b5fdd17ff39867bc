"""Recordings as microphone, held against files written by other libraries."""

from __future__ import annotations

import io
import resource
import struct
import tempfile
import wave
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st

from bayvoice.ears.base import RATE, Samples
from bayvoice.ears.tape import BLOCK, Tape
from bayvoice.errors import BayError


def tone(rate: int, seconds: float = 1.0, hertz: float = 440.0) -> Samples:
    return (0.5 * np.sin(2 * np.pi * hertz * np.arange(int(rate * seconds)) / rate)).astype(np.float32)


def heard(path: Path) -> Samples:
    return np.concatenate(list(Tape(path)))


@pytest.mark.parametrize("form", ["WAV", "WAVEX"])
@pytest.mark.parametrize(
    ("subtype", "within"),
    [("PCM_U8", 2e-2), ("PCM_16", 1e-4), ("PCM_24", 1e-6), ("PCM_32", 1e-6), ("FLOAT", 1e-6), ("DOUBLE", 1e-6)],
)
def test_every_width_reads_as_libsndfile_wrote_it(tmp_path: Path, form: str, subtype: str, within: float) -> None:
    """Outside reference: libsndfile writes the file, plain and extensible."""
    path = tmp_path / "a.wav"
    sound = tone(RATE)
    soundfile.write(path, sound, RATE, subtype=subtype, format=form)
    assert np.abs(heard(path) - sound).max() < within


@pytest.mark.parametrize("rate", [8_000, 11_025, 22_050, 44_100, 48_000, 96_000])
def test_every_rate_becomes_16_khz_of_the_same_length_and_pitch(tmp_path: Path, rate: int) -> None:
    path = tmp_path / "a.wav"
    soundfile.write(path, np.stack([tone(rate), tone(rate)], axis=1), rate)
    sound = heard(path)
    assert abs(len(sound) - RATE) <= 2
    spectrum = np.abs(np.fft.rfft(sound[: RATE // 2]))
    assert spectrum.argmax() * 2 == pytest.approx(440, abs=2)
    assert np.abs(sound[2000:14000]).max() == pytest.approx(0.5, abs=0.02)


def test_blocks_are_20_ms(tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    soundfile.write(path, tone(RATE, 1.01), RATE)
    lengths = [len(block) for block in Tape(path)]
    assert lengths == [BLOCK] * 50 + [160]


def test_the_standard_library_agrees(tmp_path: Path) -> None:
    """Outside reference: the standard library's `wave`."""
    path = tmp_path / "a.wav"
    with wave.open(str(path), "wb") as file:
        file.setnchannels(2)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes(np.array([[100, 300], [-32768, 32767]], "<i2").tobytes())
    assert heard(path) == pytest.approx([200 / 32768, -0.5 / 32768])


def test_a_recorder_that_was_cut_off_still_gives_its_sound(tmp_path: Path) -> None:
    """A header whose length was never filled in, and one that promises more than is there."""
    whole = io.BytesIO()
    soundfile.write(whole, tone(RATE), RATE, format="WAV", subtype="PCM_16")
    for promised in (0, 0xFFFFFFFF, 10_000_000):
        torn = bytearray(whole.getvalue()[:-1001])
        struct.pack_into("<I", torn, 40, promised)
        path = tmp_path / f"{promised}.wav"
        path.write_bytes(torn)
        assert len(heard(path)) == RATE - 501


def test_an_hour_is_not_held_in_memory(tmp_path: Path) -> None:
    path = tmp_path / "hour.wav"
    with soundfile.SoundFile(path, "w", 48_000, 1, "PCM_16") as file:
        minute = tone(48_000, 60.0)
        for _ in range(60):
            file.write(minute)
    tape = Tape(path)
    assert tape.duration_s == 3600
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    blocks = sum(len(block) for block in tape)
    grown = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    assert abs(blocks - 3600 * RATE) < 10
    assert grown < 30_000  # KiB; the file is 346 MB


@pytest.mark.parametrize(
    ("body", "says"),
    [
        (b"", "empty"),
        (b"ID3 not a wav at all", "not a WAV"),
        (b"RIFF\x00\x00\x00\x00WAVE", "description"),
        (b"RIFF\x24\x00\x00\x00WAVEdata\x00\x00\x00\x00", "description"),
        (b"RIFF\x24\x00\x00\x00WAVEfmt \x10\x00\x00\x00" + struct.pack("<HHIIHH", 7, 1, 8000, 8000, 1, 8), "mu-law"),
        (b"RIFF\x24\x00\x00\x00WAVEfmt \x10\x00\x00\x00" + struct.pack("<HHIIHH", 1, 0, 8000, 0, 0, 16), "0 channels"),
        (b"RIFF\x24\x00\x00\x00WAVEfmt \x10\x00\x00\x00" + struct.pack("<HHIIHH", 1, 1, 8000, 9, 9, 72), "72 bits"),
    ],
)
def test_what_is_no_recording_is_refused_in_one_sentence(tmp_path: Path, body: bytes, says: str) -> None:
    path = tmp_path / "a.wav"
    path.write_bytes(body)
    with pytest.raises(BayError, match=says):
        Tape(path)


def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    for path in (tmp_path / "none.wav", tmp_path):
        with pytest.raises(BayError, match="cannot be read"):
            Tape(path)


@given(st.binary(max_size=80), st.integers(0, 60))
@settings(max_examples=300, deadline=None)
def test_spoilt_headers_never_do_worse_than_one_sentence(spoil: bytes, at: int) -> None:
    whole = io.BytesIO()
    soundfile.write(whole, tone(RATE, 0.1), RATE, format="WAV", subtype="PCM_16")
    body = bytearray(whole.getvalue())
    body[at : at + len(spoil)] = spoil
    with tempfile.NamedTemporaryFile(suffix=".wav") as file:
        file.write(body)
        file.flush()
        path = Path(file.name)
        try:
            sound = heard(path) if Tape(path).form.frames else np.zeros(0)
        except BayError:
            return
        assert np.isfinite(sound).all()
