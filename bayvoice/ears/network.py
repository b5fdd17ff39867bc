"""A word graph compiled to one flat array of CTC states, so that a frame of the search is a few array operations.

Every phone of every pronunciation of every arc is one state with a blank beside it. A state's predecessor is the
state before it in the array; a first phone's predecessor is a node, whose value is the best of the last phones of the
arcs that end there. (CTC: Graves et al., 2006, with phones as labels.)
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bayvoice.ears.pronounce import Pronunciation
from bayvoice.language.graph import WordGraph

Ints = NDArray[np.int32]
Floats = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """The compiled search. S states, A variants (an arc with one pronunciation), V nodes.

    Attributes:
        phone: (S,) phone of each state.
        first, last: (A,) first and last state of each variant; variants are sorted by the node they end in.
        src, dst: (A,) nodes of each variant.
        cost: (A,) nats added on entering the variant (zero or negative).
        words: (A,) the word of each variant.
        arc: (A,) index into the graph's arcs; variants of one arc share it.
        into_nodes, into_starts: nodes that have incoming variants, and where each one's variants begin.
        out_order: (A,) variants sorted by source node; out_nodes, out_starts: the same grouping for sources.
        nodes, start, finals: as in the graph.
    """

    phone: Ints
    first: Ints
    last: Ints
    src: Ints
    dst: Ints
    cost: Floats
    words: tuple[str, ...]
    arc: Ints
    into_nodes: Ints
    into_starts: Ints
    out_order: Ints
    out_nodes: Ints
    out_starts: Ints
    nodes: int
    start: int
    finals: Ints

    def phones(self, variant: int) -> Ints:
        """The phones of one variant."""
        return self.phone[self.first[variant] : self.last[variant] + 1]


def compile_graph(
    graph: WordGraph,
    pronounce: Callable[[str], tuple[Pronunciation, ...]],
    cost: Callable[[str, Pronunciation], float],
) -> Network:
    """Compile `graph`.

    Args:
        graph: the words allowed.
        pronounce: word -> pronunciations; arcs whose word has none are left out.
        cost: (word, pronunciation) -> nats added whenever the word is used.
    """
    rows = [
        (arc.dst, arc.src, index, arc.word, said, cost(arc.word, said))
        for index, arc in enumerate(graph.arcs)
        for said in pronounce(arc.word)
        if said
    ]
    rows.sort(key=lambda row: row[0])
    lengths = np.array([len(row[4]) for row in rows], dtype=np.int32)
    ends = np.cumsum(lengths, dtype=np.int32)
    src = np.array([row[1] for row in rows], dtype=np.int32)
    dst = np.array([row[0] for row in rows], dtype=np.int32)
    into_nodes, into_starts = np.unique(dst, return_index=True)
    order = np.argsort(src, kind="stable").astype(np.int32)
    out_nodes, out_starts = np.unique(src[order], return_index=True)
    return Network(
        phone=np.array([phone for row in rows for phone in row[4]], dtype=np.int32),
        first=(ends - lengths).astype(np.int32),
        last=(ends - 1).astype(np.int32),
        src=src,
        dst=dst,
        cost=np.array([row[5] for row in rows], dtype=np.float32),
        words=tuple(row[3] for row in rows),
        arc=np.array([row[2] for row in rows], dtype=np.int32),
        into_nodes=into_nodes.astype(np.int32),
        into_starts=into_starts.astype(np.int32),
        out_order=order,
        out_nodes=out_nodes.astype(np.int32),
        out_starts=out_starts.astype(np.int32),
        nodes=graph.nodes,
        start=graph.start,
        finals=np.array(sorted(graph.finals), dtype=np.int32),
    )
