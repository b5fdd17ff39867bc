"""The phones that pronunciations are written in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

PHONES: Final[tuple[str, ...]] = (
    "AA", "AE", "AH", "AO", "AW", "AY", "B", "CH", "D", "DH", "EH", "ER", "EY", "F", "G", "HH", "IH", "IY", "JH", "K",
    "L", "M", "N", "NG", "OW", "OY", "P", "R", "S", "SH", "T", "TH", "UH", "UW", "V", "W", "Y", "Z", "ZH",
)  # fmt: skip
"""The phone set of the CMU pronouncing dictionary (http://www.speech.cs.cmu.edu/cgi-bin/cmudict), without stress."""

INDEX: Final[Mapping[str, int]] = {phone: number for number, phone in enumerate(PHONES)}

Pronunciation = tuple[int, ...]
"""Indices into `PHONES`."""
