"""The recogniser `phones`: phone scores, an exact search of the active grammar, and a judge of what it found."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bayvoice.edges.ears.base import RATE, HeardWord, Hearing, Samples
from bayvoice.edges.ears.decoder import Path, Search
from bayvoice.edges.ears.network import Network, compile_graph
from bayvoice.edges.ears.overhear import WORD, Spotter
from bayvoice.edges.ears.phones_acoustics import FRAME_S, Acoustics, learned
from bayvoice.edges.ears.phones_judge import Competitor, Evidence, Judge
from bayvoice.edges.ears.pronounce import Lexicon, Pronunciation
from bayvoice.speech.grammar import StateGrammar
from bayvoice.speech.risk import LEAST

WORD_COST = -1.5
"""Nats a word of the grammar costs, so that a long utterance is not explained by many short words."""
OTHER_COST = -3.0
"""Nats a common word of the competitor costs: any sequence of them is allowed, so each must earn its place."""
PHONE_COST = -0.3
"""Nats a phone costs, in the grammar and in its competitors alike."""
LEAST_S = 0.05
MOST_OVER_MEANING = 20.0


@dataclass(frozen=True, slots=True)
class _Ready:
    grammar: StateGrammar
    network: Network
    others: Network


class Phones:
    """Recogniser on phones (see `base.Recogniser`).

    Args:
        lexicon: pronunciations; by default those of the CMU dictionary alone.
        acoustics: phone scores of sound; shared between recognisers to save memory.
    """

    name = "phones"

    def __init__(self, lexicon: Lexicon | None = None, acoustics: Acoustics | None = None) -> None:
        self._lexicon = lexicon or Lexicon()
        self._acoustics = acoustics or Acoustics()
        self._competitor: Competitor | None = None
        self._judge: Judge | None = None
        self._held: dict[int, _Ready] = {}
        self._active: _Ready | None = None
        self._blocks: list[Samples] = []

    def missing(self, words: frozenset[str]) -> frozenset[str]:
        self._lexicon.prepare(words)
        return frozenset(word for word in words if not self._lexicon(word))

    def use(self, grammar: StateGrammar) -> None:
        ready = self._held.get(id(grammar))
        if ready is None:
            if self._competitor is None:
                self._competitor = Competitor(self._lexicon, _cost_of_other, PHONE_COST)
            self._lexicon.prepare(grammar.words)
            network = compile_graph(grammar.graph, self._lexicon, _cost)
            ready = _Ready(grammar, network, self._competitor.without(grammar.words))
            self._held[id(grammar)] = ready
        self._active = ready

    def begin(self) -> None:
        self._acoustics.load()
        self._blocks = []

    def feed(self, block: Samples) -> tuple[str, ...]:
        self._blocks.append(block)
        return ()

    def guess(self) -> Hearing | None:
        return self._decode(np.concatenate(self._blocks)) if self._blocks else None

    def drop(self) -> None:
        self._blocks = []

    def finish(self) -> Hearing:
        samples = np.concatenate(self._blocks) if self._blocks else np.zeros(0, dtype=np.float32)
        self._blocks = []
        return self._decode(samples)

    def _decode(self, samples: Samples) -> Hearing:
        if len(samples) < LEAST_S * RATE:
            return Hearing(self.name, (), why="too short to be speech")
        found = self.examine(samples)
        if found is None:
            return Hearing(self.name, (), why="no words in it")
        best, evidence, other = found
        sure = self._verdict().over(evidence)
        return Hearing(
            self.name,
            best.words,
            margin=evidence.over_free / (FRAME_S * evidence.frames),
            timed=tuple(_timed(one.word, one.began, one.ended) for one in best.spoken),
            runner_up=other.words if other else (),
            runner_up_margin=best.score - other.score if other else None,
            why="" if sure >= LEAST else _reason(evidence),
            sure=sure,
        )

    def examine(self, samples: Samples) -> tuple[Path, Evidence, Path | None] | None:
        """The best path of the active grammar, the evidence on it and the runner-up; None where nothing fits.

        Args:
            samples: one utterance of `LEAST_S` or more, 16 kHz.
        """
        ready = self._active
        if ready is None or self._competitor is None:
            return None
        emissions, blank = self._acoustics.scores(samples)
        search = Search(ready.network, emissions, blank)
        best = search.best()
        if best is None or not best.spoken:
            return None
        other = _runner_up(ready.grammar, search, best)
        over_meaning = best.score - other.score if other else MOST_OVER_MEANING
        weighed = self._competitor.weigh(ready.network, ready.others, best, emissions, blank, over_meaning)
        return best, weighed, other

    def spotter(self) -> Spotter:
        """What looks for "stop" through the product's own voice, on the same networks."""
        return Spotter(self._acoustics, self._lexicon(WORD))

    def close(self) -> None:
        self._held.clear()
        self._active = None

    def _verdict(self) -> Judge:
        if self._judge is None:
            parts = learned("judge_")
            self._judge = Judge(parts["weight"], parts["bias"], parts["least"])
        return self._judge


def _runner_up(grammar: StateGrammar, search: Search, best: Path) -> Path | None:
    """The best path that means something else, among the dozen best that use another arc."""
    meant = grammar.match(best.words)
    for number, path in enumerate(search.others(best)):
        if grammar.match(path.words) != meant:
            return path
        if number >= 12:
            break
    return None


def _timed(word: str, began: int, ended: int) -> HeardWord:
    return HeardWord(word, began * FRAME_S, (ended + 1) * FRAME_S)


def _reason(evidence: Evidence) -> str:
    if evidence.over_others < 0:
        return "sounds more like words that mean nothing here"
    return "not clear enough to act on"


def _cost(word: str, said: Pronunciation) -> float:
    return WORD_COST + PHONE_COST * len(said)


def _cost_of_other(word: str, said: Pronunciation) -> float:
    return OTHER_COST + PHONE_COST * len(said)
