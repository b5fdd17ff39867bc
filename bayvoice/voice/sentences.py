"""Cutting a text into what is rendered in one go, and joining the sounds again."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

LONGEST = 220
"""Longest piece handed to a voice, characters: rendering time grows faster than length."""

PAUSE_S = 0.22
"""Silence between two sentences, seconds."""

TAIL_S = 0.06
"""Silence kept after the last one, seconds, so that a loudspeaker does not clip the final consonant."""

# Of a text in words, without figures and abbreviations: a stop followed by a blank ends a sentence.
_END = re.compile(r"(?<=[.!?])[\"')\]]*\s+|\n+")
_SAID = re.compile(r"\w")


def clean(text: str) -> str:
    """`text` without control characters, lone surrogates and runs of blanks, which upset a C library."""
    whole = text.encode("utf-8", "replace").decode("utf-8")
    kept = "".join(" " if unicodedata.category(c) in {"Cc", "Cf"} and c != "\n" else c for c in whole)
    return re.sub(r"[^\S\n]+", " ", kept).strip()


def _shorten(sentence: str) -> list[str]:
    """Pieces of at most `LONGEST` characters, cut after a comma or semicolon where there is one, else at a blank."""
    pieces: list[str] = []
    rest = sentence
    while len(rest) > LONGEST:
        window = rest[: LONGEST + 1]
        cut = max((window.rfind(mark) + len(mark) for mark in (", ", "; ", ": ") if mark in window), default=0)
        if cut < LONGEST // 3:
            cut = window.rfind(" ") + 1 or LONGEST
        pieces.append(rest[:cut].strip())
        rest = rest[cut:].strip()
    return [*pieces, rest] if rest else pieces


def sentences(text: str) -> tuple[str, ...]:
    """The pieces of `text` (already `speakable`) to render one by one; empty where nothing in it can be said."""
    found = (piece.strip() for sentence in _END.split(clean(text)) for piece in _shorten(sentence.strip()))
    return tuple(piece for piece in found if _SAID.search(piece))


def trim(samples: NDArray[np.float32], rate: int, floor: float = 0.004) -> NDArray[np.float32]:
    """`samples` (float32, -1..1, `rate` Hz) without the silence before and after; 10 ms of it are kept."""
    loud = np.flatnonzero(np.abs(samples) > floor)
    if not len(loud):
        return samples[:0]
    margin = rate // 100
    return samples[max(0, int(loud[0]) - margin) : int(loud[-1]) + 1 + margin]


def join(pieces: Sequence[NDArray[np.float32]], rate: int) -> NDArray[np.float32]:
    """The pieces one after another with `PAUSE_S` between and `TAIL_S` after them, float32 at `rate` Hz."""
    pause = np.zeros(round(PAUSE_S * rate), np.float32)
    parts: list[NDArray[np.float32]] = []
    for piece in pieces:
        parts += [piece, pause]
    if not parts:
        return np.zeros(0, np.float32)
    parts[-1] = np.zeros(round(TAIL_S * rate), np.float32)
    return np.concatenate(parts)
