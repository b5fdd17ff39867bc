"""The recogniser `phones`: a small speech-to-phoneme network and an exact search of the active grammar."""

from __future__ import annotations

import numpy as np

from bayvoice.edges.ears.base import RATE, HeardWord, Hearing, Samples
from bayvoice.edges.ears.decoder import Path, Search, free_path
from bayvoice.edges.ears.network import Network, compile_graph
from bayvoice.edges.ears.phones_acoustics import FRAME_S, Acoustics
from bayvoice.edges.ears.pronounce import PHONES, Lexicon, Pronunciation
from bayvoice.speech.grammar import StateGrammar

WORD_COST = -1.0
PHONE_COST = -1.0
LEAST_MARGIN = -6.0


class Phones:
    """Recogniser on phones (see `base.Recogniser`).

    Args:
        lexicon: pronunciations; by default the CMU dictionary alone.
    """

    name = "phones"

    def __init__(self, lexicon: Lexicon | None = None, acoustics: Acoustics | None = None) -> None:
        self._lexicon = lexicon or Lexicon()
        self._acoustics = acoustics or Acoustics()
        self._networks: dict[int, tuple[StateGrammar, Network]] = {}
        self._grammar: StateGrammar | None = None
        self._network: Network | None = None
        self._blocks: list[Samples] = []

    def missing(self, words: frozenset[str]) -> frozenset[str]:
        self._lexicon.prepare(words)
        return frozenset(word for word in words if not self._lexicon(word))

    def use(self, grammar: StateGrammar) -> None:
        held = self._networks.get(id(grammar))
        if held is None:
            self._lexicon.prepare(grammar.words)
            held = (grammar, compile_graph(grammar.graph, self._lexicon, _cost))
            self._networks[id(grammar)] = held
        self._grammar, self._network = held

    def begin(self) -> None:
        self._acoustics.load()
        self._blocks = []

    def feed(self, block: Samples) -> tuple[str, ...]:
        self._blocks.append(block)
        return ()

    def finish(self) -> Hearing:
        samples = np.concatenate(self._blocks) if self._blocks else np.zeros(0, dtype=np.float32)
        self._blocks = []
        if self._network is None or self._grammar is None or len(samples) < RATE // 20:
            return Hearing(self.name, (), why="no speech")
        rows = self._acoustics.rows(samples)
        emissions, blank = self._acoustics.scores(rows)
        search = Search(self._network, emissions, blank)
        best = search.best()
        if best is None or not best.spoken:
            return Hearing(self.name, (), why="no words")
        kinds = len(PHONES)
        free = free_path(emissions, blank, np.full((kinds + 1, kinds), PHONE_COST, dtype=np.float32))
        seconds = FRAME_S * max(1, best.spoken[-1].ended + 1 - best.spoken[0].began)
        margin = (best.score - float(free[-1])) / seconds
        other = self._runner_up(search, best)
        timed = tuple(HeardWord(one.word, one.began * FRAME_S, (one.ended + 1) * FRAME_S) for one in best.spoken)
        return Hearing(
            self.name,
            best.words,
            margin=margin,
            timed=timed,
            runner_up=other.words if other else (),
            runner_up_margin=best.score - other.score if other else None,
            why="" if margin >= LEAST_MARGIN * 10 else "unlike anything expected now",
        )

    def close(self) -> None:
        self._networks.clear()
        self._grammar = self._network = None

    def _runner_up(self, search: Search, best: Path) -> Path | None:
        assert self._grammar is not None
        meant = self._grammar.match(best.words)
        for number, path in enumerate(search.others(best)):
            if self._grammar.match(path.words) != meant:
                return path
            if number >= 10:
                break
        return None


def _cost(word: str, said: Pronunciation) -> float:
    return WORD_COST + PHONE_COST * len(said)
