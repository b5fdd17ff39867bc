"""A grammar as a finite word graph without empty arcs, the form recognisers search."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Arc:
    """From node `src` to node `dst` on saying `word` (lower case)."""

    src: int
    dst: int
    word: str


@dataclass(frozen=True, slots=True)
class WordGraph:
    """Nodes are 0..nodes-1; every path from `start` to one of `finals` is an utterance of the grammar."""

    nodes: int
    start: int
    finals: frozenset[int]
    arcs: tuple[Arc, ...]
