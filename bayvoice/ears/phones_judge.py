"""Whether a best path stands: its score beside what else the sound could have been, weighed as learned."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from importlib import resources
from typing import Final

import numpy as np
from numpy.typing import NDArray

from bayvoice.ears.decoder import NOTHING, Path, Search, forced, free_path
from bayvoice.ears.network import Network, compile_graph
from bayvoice.ears.pronounce import PHONES, Lexicon, Pronunciation
from bayvoice.language.graph import Arc, WordGraph

Floats = NDArray[np.float32]
Cost = Callable[[str, Pronunciation], float]
FAR: Final = -35.0
"""Nats behind the free phones at which a path falls whatever else speaks for it: a few words found in long talk. Of
2311 right paths in the judge's trials one lies so far behind, of 1734 foreign ones 494."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What speaks for and against a path; all scores are nats.

    Attributes:
        over_free: path less the best free phone sequence (at most about zero).
        over_others: path less the best sequence of common words that are not in the grammar.
        worst: the least of the words' own scores less the free path over the same frames, per phone.
        phones, words, frames: size of the path; frames from its first to its last phone.
        over_meaning: path less the best path with another meaning.
        clarity: the free phone path over the same frames, per frame: zero where the phones are plain, less in noise.
    """

    over_free: float
    over_others: float
    worst: float
    phones: int
    words: int
    frames: int
    over_meaning: float
    clarity: float

    def features(self) -> Floats:
        """(11,) inputs of the judge. Bounded, so that no single score decides alone."""
        phones = self.phones
        return np.array(
            [
                np.clip(self.over_free, -40, 5),
                np.clip(self.over_free / phones, -4, 1),
                np.clip(self.over_others, -20, 30),
                np.clip(self.over_others / phones, -3, 4),
                np.clip(self.over_others, -3, 3),
                np.clip(self.worst, -4, 1),
                np.clip(self.over_meaning, 0, 12),
                np.log(phones),
                np.log(self.words),
                np.log(self.frames / phones),
                np.clip(self.clarity, -2, 0),
            ],
            dtype=np.float32,
        )


class Competitor:
    """What the sound could be besides the grammar: free phones, and common English words outside the grammar."""

    def __init__(self, lexicon: Lexicon, cost: Cost, phone_cost: float) -> None:
        listed = (resources.files("bayvoice.ears") / "data" / "common_words.txt").read_text("utf-8")
        words = [line for line in listed.split("\n") if line and not line.startswith("#")]
        lexicon.prepare(words)
        self._lexicon = lexicon
        arcs = tuple(Arc(0, 0, word) for word in words)
        self._loop = compile_graph(WordGraph(1, 0, frozenset({0}), arcs), lexicon, cost)
        loop = self._loop
        self._said = [tuple(loop.phones(variant).tolist()) for variant in range(len(loop.words))]
        kinds = len(PHONES)
        self._bigram = np.full((kinds + 1, kinds), phone_cost, dtype=np.float32)

    def without(self, words: frozenset[str]) -> Network:
        """The loop of common words, less all that sound like one of `words`."""
        heard = {said for word in words for said in self._lexicon(word)}
        shut = np.array([said in heard for said in self._said])
        return replace(self._loop, cost=np.where(shut, NOTHING, self._loop.cost).astype(np.float32))

    def weigh(
        self, network: Network, others: Network, path: Path, emissions: Floats, blank: Floats, over_meaning: float
    ) -> Evidence:
        """The evidence on `path` through `network`; `others` is from `without`."""
        free = free_path(emissions, blank, self._bigram)
        filler = max(Search(others, emissions, blank).score(), float(blank.sum()))
        phones, worst = 0, float("inf")
        for one in path.spoken:
            labels = network.phones(one.variant)
            span = slice(one.began, one.ended + 1)
            own = forced(emissions[span], blank[span], labels) + float(self._bigram[0, 0]) * len(labels)
            worst = min(worst, (own - float(free[one.ended + 1] - free[one.began])) / len(labels))
            phones += len(labels)
        first, last = path.spoken[0].began, path.spoken[-1].ended + 1
        return Evidence(
            over_free=path.score - float(free[-1]),
            over_others=path.score - filler,
            worst=worst,
            phones=phones,
            words=len(path.spoken),
            frames=last - first,
            over_meaning=over_meaning,
            clarity=float(free[last] - free[first]) / (last - first),
        )


@dataclass(frozen=True, slots=True, eq=False)
class Judge:
    """Two logistic rules on the evidence: row 0 for a single word, row 1 for more.

    Attributes:
        weight: (2, 11) per feature; bias: (2,) log-odds at zero; least: (2,) log-odds below which a path falls.
    """

    weight: Floats
    bias: Floats
    least: Floats

    def over(self, evidence: Evidence) -> float:
        """Log-odds by which the path stands (zero or more) or falls."""
        if evidence.over_free < FAR:
            return FAR
        row = int(evidence.words > 1)
        return float(evidence.features() @ self.weight[row] + self.bias[row] - self.least[row])
