"""The Merkle tree hash of RFC 6962 (Certificate Transparency), section 2.1, over the facts of a record.

A shop prints the head (how many facts, one hash) or keeps it elsewhere. The tree over the first n facts must give the
same hash ever after, so a fact or a whole job that was taken out, changed or put in before shows.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from bayvoice.errors import BayError
from bayvoice.language.texts import tell

EMPTY: Final = hashlib.sha256(b"").digest()
"""Hash of the tree without leaves."""


def leaf_hash(data: bytes) -> bytes:
    """SHA-256 of 0x00 and the leaf."""
    return hashlib.sha256(b"\0" + data).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """SHA-256 of 0x01 and both halves."""
    return hashlib.sha256(b"\1" + left + right).digest()


@dataclass(frozen=True, slots=True)
class Head:
    """`size`: how many leaves; `root`: hex hash of the tree over them. Printed as ``1234:5dc9…``."""

    size: int
    root: str

    def __str__(self) -> str:
        return f"{self.size}:{self.root}"


class Tree:
    """A tree that grows at its end; holds one hash for each bit of its size, whatever its size."""

    def __init__(self, size: int = 0, peaks: Iterable[bytes] = ()) -> None:
        self.size = size
        self._peaks: list[bytes] = list(peaks)
        if len(self._peaks) != size.bit_count():
            raise ValueError("a tree of this size has another number of peaks")

    @property
    def peaks(self) -> tuple[bytes, ...]:
        """The roots of its whole subtrees, the largest first: all that is needed to go on adding to it."""
        return tuple(self._peaks)

    def add(self, data: bytes) -> None:
        """One more leaf."""
        found = leaf_hash(data)
        size = self.size
        while size & 1:
            found = node_hash(self._peaks.pop(), found)
            size >>= 1
        self._peaks.append(found)
        self.size += 1

    def extend(self, leaves: Iterable[bytes]) -> None:
        """More leaves, in order."""
        for leaf in leaves:
            self.add(leaf)

    def head(self) -> Head:
        """The head over all leaves so far."""
        if not self._peaks:
            return Head(0, EMPTY.hex())
        root = self._peaks[-1]
        for peak in reversed(self._peaks[:-1]):
            root = node_hash(peak, root)
        return Head(self.size, root.hex())


def parse_head(text: str) -> Head:
    """The head printed as ``size:hash``; BayError where `text` is none."""
    found = re.fullmatch(r"\s*([0-9]{1,15}):([0-9a-fA-F]{64})\s*", text)
    if found is None:
        raise BayError(tell("record-no-head-of-a-record"), text[:100], tell("record-give-as-was-printed-1234"))
    return Head(int(found[1]), found[2].lower())
