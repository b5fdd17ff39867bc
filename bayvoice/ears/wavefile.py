"""Reading WAV files of any length piece by piece: every width of integer and floating-point PCM, plain or extensible.

The standard library's `wave` of Python 3.11 refuses the extensible form, which many recorders use for 24 bits.
Layout: "Multimedia Programming Interface and Data Specifications 1.0" (IBM and Microsoft, 1991) for RIFF and the
fmt chunk, Microsoft's WAVEFORMATEXTENSIBLE for the extensible one; both from memory, checked in tests against files
written by other libraries.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np

from bayvoice.ears.base import Samples
from bayvoice.errors import BayError
from bayvoice.language.texts import tell

_PCM, _FLOAT, _EXTENSIBLE = 0x0001, 0x0003, 0xFFFE
_NAMES = {0x0002: "ADPCM", 0x0006: "A-law", 0x0007: "mu-law", 0x0011: "IMA ADPCM", 0x0050: "MPEG", 0x0055: "MP3"}
_SAVE_AS = "ears-save-as-wav-file-with-16"


@dataclass(frozen=True, slots=True)
class WavForm:
    """How the samples of a file are written.

    Attributes:
        rate: frames per second.
        channels: samples per frame.
        bits: width of one sample.
        floating: IEEE floating point instead of integers.
        start: position of the first sample, bytes.
        frames: number of whole frames that are really in the file.
    """

    rate: int
    channels: int
    bits: int
    floating: bool
    start: int
    frames: int

    @property
    def frame_bytes(self) -> int:
        """Bytes of one frame."""
        return self.channels * self.bits // 8


def read_form(path: Path) -> WavForm:
    """Look at the header of `path`.

    A length that is missing, wrong or not patched (a recorder that was cut off) is taken from the file's own length.

    Raises:
        BayError: the file cannot be read, is no WAV file, or holds samples of a kind that is not supported.
    """
    try:
        with path.open("rb") as file:
            return _header(file, path)
    except OSError as fault:
        raise BayError(
            tell("ears-recording-cannot-be-read-strerror", strerror=fault.strerror), str(path), tell("ears-check-path")
        ) from None


def read_blocks(path: Path, form: WavForm, frames: int) -> Iterator[Samples]:
    """The sound of `path` mixed to one channel, float32 in -1..1, at its own rate, `frames` at a time.

    Raises:
        BayError: the file can no longer be read.
    """
    left = form.frames
    try:
        with path.open("rb") as file:
            file.seek(form.start)
            while left > 0:
                raw = file.read(min(frames, left) * form.frame_bytes)
                count = len(raw) // form.frame_bytes
                if count == 0:
                    return
                left -= count
                sound = _decode(raw[: count * form.frame_bytes], form).reshape(count, form.channels)
                mono = sound.mean(axis=1) if form.channels > 1 else sound[:, 0]
                yield np.ascontiguousarray(mono, np.float32)
    except OSError as fault:
        raise BayError(
            tell("ears-recording-cannot-be-read-on-strerror", strerror=fault.strerror),
            str(path),
            tell("ears-check-disk"),
        ) from None


def _header(file: BinaryIO, path: Path) -> WavForm:
    length = file.seek(0, 2)
    file.seek(0)
    head = file.read(12)
    if length == 0:
        raise BayError(tell("ears-recording-is-empty"), str(path), tell("ears-record-again"))
    if len(head) < 12 or head[:4] not in (b"RIFF", b"RF64") or head[8:] != b"WAVE":
        raise BayError(tell("ears-is-not-wav-file"), str(path), tell(_SAVE_AS))
    form: tuple[int, int, int, bool] | None = None
    while True:
        chunk = file.read(8)
        if len(chunk) < 8:
            what = tell("ears-wav-file-has-no-sound") if form else tell("ears-wav-file-has-no-description")
            raise BayError(what, str(path), tell(_SAVE_AS))
        name, size = struct.unpack("<4sI", chunk)
        if name == b"data":
            if form is None:
                raise BayError(tell("ears-wav-file-has-no-description"), str(path), tell(_SAVE_AS))
            rate, channels, bits, floating = form
            start = file.tell()
            # Zero and the greatest number stand for "not known yet" in files that were never closed.
            held = length - start if size in (0, 0xFFFFFFFF) else min(size, length - start)
            return WavForm(rate, channels, bits, floating, start, held // (channels * bits // 8))
        if name == b"fmt ":
            form = _format(file.read(size), path)
            file.seek(size % 2, 1)
        else:
            file.seek(size + size % 2, 1)


def _format(body: bytes, path: Path) -> tuple[int, int, int, bool]:
    if len(body) < 16:
        raise BayError(tell("ears-wav-file-has-no-description"), str(path), tell(_SAVE_AS))
    tag, channels, rate, _, align, bits = struct.unpack("<HHIIHH", body[:16])
    if tag == _EXTENSIBLE and len(body) >= 26:
        tag = struct.unpack("<H", body[24:26])[0]
    if tag not in (_PCM, _FLOAT):
        kind = _NAMES.get(tag, tell("ears-kind-tag", tag=tag))
        raise BayError(tell("ears-samples-of-kind-are-not-supported", kind=kind), str(path), tell(_SAVE_AS))
    if bits not in ((32, 64) if tag == _FLOAT else (8, 16, 24, 32)) or align != channels * bits // 8:
        raise BayError(tell("ears-samples-of-bits-in-align", bits=bits, align=align), str(path), tell(_SAVE_AS))
    if channels == 0 or not 1_000 <= rate <= 768_000:
        raise BayError(
            tell("ears-channels-at-rate-hz-are-not-sound", channels=channels, rate=rate),
            str(path),
            tell("ears-record-again-at-16-khz"),
        )
    return rate, channels, bits, tag == _FLOAT


def _decode(raw: bytes, form: WavForm) -> Samples:
    if form.floating:
        sound = np.frombuffer(raw, "<f4" if form.bits == 32 else "<f8")
        return np.asarray(np.clip(np.nan_to_num(sound), -1.0, 1.0), np.float32)
    if form.bits == 8:  # the only unsigned width
        return ((np.frombuffer(raw, np.uint8).astype(np.float32) - 128.0) / 128.0).astype(np.float32)
    if form.bits == 24:
        wide = np.zeros((len(raw) // 3, 4), np.uint8)
        wide[:, 1:] = np.frombuffer(raw, np.uint8).reshape(-1, 3)
        return (wide.view("<i4")[:, 0] / 2.0**31).astype(np.float32)
    return (np.frombuffer(raw, f"<i{form.bits // 8}") / 2.0 ** (form.bits - 1)).astype(np.float32)
