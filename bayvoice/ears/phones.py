"""The recogniser `phones`: phone scores, an exact search of the active grammar, and a judge of what it found."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from bayvoice.ears.base import RATE, HeardWord, Hearing, Samples
from bayvoice.ears.decoder import Path, Search, Spoken
from bayvoice.ears.network import Network, compile_graph
from bayvoice.ears.overhear import WORD, Spotter
from bayvoice.ears.phones_acoustics import FRAME_S, Acoustics, learned
from bayvoice.ears.phones_judge import Competitor, Evidence, Judge
from bayvoice.ears.pronounce import Lexicon, Pronunciation
from bayvoice.language.grammar import StateGrammar
from bayvoice.language.risk import LEAST, LEVELS, Risk, risk_of
from bayvoice.language.texts import tell

WORD_COST = -1.5
"""Nats a word of the grammar costs, so that a long utterance is not explained by many short words."""
OTHER_COST = -3.0
"""Nats a common word of the competitor costs: any sequence of them is allowed, so each must earn its place."""
PHONE_COST = -0.3
"""Nats a phone costs, in the grammar and in its competitors alike."""
LEAST_S = 0.05
_NO_SOUND = np.zeros(0, np.float32)
UNSTEADY = "ears-heard-as-something-else-without"
MOST_OVER_MEANING = 20.0


OVER_ELSEWHERE = 0.0
"""Nats by which a path must beat the best one that only other dialogue states know."""
CLEAR = {"yes": 15.0, "no": 6.0, "record": 10.0, "correct": 10.0}
"""Nats by which one word that answers a question, or is a value, must beat what else can be said to be acted on; what
is missing is lost of its certainty. A "yes" logs, overrides or ticks off: it must beat everything, a value only what
other states know, for it is read back. Tuning half, quiet and noise 10 dB below: people's and voices' "yes" comes to
18.6 or more, "next" taken for it to 11; people's "no" to 9.0 but in babble, their digits to 11.1 in quiet and 8.2 in
noise, "done" taken for "one" to 9.4."""
READ_FROM = "070d2fa201f13b238fa535abae97a3a7e9d79a631033bd9306e1ba2e99e97be3"
"""SHA-256 of the networks (``data/phones.npz``) these were read off."""
BOTH = ("yes", "record", "correct")
"""Intents of which both looks must be sure where they are one word."""
FEW_WORDS = 3
"""Words of a path up to which it is looked at twice: short answers are what noise makes of each other."""
NOISY = 1e-3
"""Power of the bay over that of the loudest 20 ms of an utterance, from which it is looked at twice: in quiet the
second look has nothing to add, and cost people's "yes" 2 of 30."""
APART = 1.0
"""Nats that the wider look loses where the closer one is something else, beside what that one is sure of."""


@dataclass(frozen=True, slots=True)
class _Ready:
    grammar: StateGrammar
    network: Network
    others: Network


@dataclass(frozen=True, slots=True)
class Look:
    """What one stretch of sound is in the active grammar.

    Attributes:
        path: the best of the grammar; evidence: on it.
        other: the best path of the grammar with another meaning, None where there is none.
        elsewhere: the best path that only other dialogue states know; over_elsewhere: nats by which `path` beats it.
        lead_s: length of the sound before the utterance in it, seconds.
    """

    path: Path
    evidence: Evidence
    other: Path | None
    elsewhere: Path | None
    over_elsewhere: float
    lead_s: float = 0.0


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
        self._foreign: dict[int, Network | None] = {}
        self._active: _Ready | None = None
        self._blocks: list[Samples] = []
        self._before = _NO_SOUND

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
        self._network_elsewhere()
        self._blocks = []
        self._before = _NO_SOUND

    def before(self, sound: Samples) -> None:
        self._before = sound

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
            return Hearing(self.name, (), why=tell("ears-too-short-to-be-speech"))
        look = self.examine(samples)
        if look is None:
            return Hearing(self.name, (), why=tell("ears-no-words-in"))
        sure, why = self._sure(look)
        wide = None
        if len(look.path.spoken) <= FEW_WORDS and _noisy(self._before, samples):
            wide = self.examine(np.concatenate([self._before, samples]))
            wide = wide and replace(wide, lead_s=len(self._before) / RATE)
        if wide is None:
            return self._hearing(look, sure, why)
        return self._both(look, (sure, why), wide)

    def _both(self, close: Look, held: tuple[float, str], wide: Look) -> Hearing:
        """What two looks at an utterance come to, without the sound before it and with it.

        What the network hears rightly it mostly hears alike in both; "next" in noise may be "yes" in the closer one.
        """
        assert self._active is not None
        grammar = self._active.grammar
        meant, other = grammar.match(close.path.words), grammar.match(wide.path.words)
        sure, why = held
        sure_wide, why_wide = self._sure(wide)
        risks = [None if what is None else risk_of(grammar.name, what.name) for what in (meant, other)]
        if risks[0] is Risk.QUIET:
            return self._hearing(close, sure, why)  # a "stop" must be easy
        if risks[1] is Risk.QUIET:
            # The wider look takes other words for it: it only speaks against what does more than they.
            plain = risks[0] in (None, Risk.HARMLESS, Risk.STEERING)
            return self._hearing(close, sure if plain else min(sure, LEAST - 1.0), why if plain else tell(UNSTEADY))
        if meant == other:
            why = why if sure < sure_wide else why_wide
            short = len(close.path.spoken) == 1
            refused = min(close.over_elsewhere, wide.over_elsewhere) < OVER_ELSEWHERE
            both = min if refused or (meant is not None and meant.name in BOTH and short) else _mean
            return self._hearing(close, both(sure, sure_wide), why)
        # The wider look is the better one, and what the closer one is sure of speaks against it.
        sure_wide -= max(0.0, sure) + APART
        return self._hearing(wide, sure_wide, why_wide if sure_wide + APART < LEAST else tell(UNSTEADY))

    def _hearing(self, look: Look, sure: float, why: str) -> Hearing:
        best, other, evidence = look.path, look.other, look.evidence
        return Hearing(
            self.name,
            best.words,
            margin=evidence.over_free / (FRAME_S * evidence.frames),
            timed=tuple(_timed(one, look.lead_s) for one in best.spoken),
            runner_up=other.words if other else (),
            runner_up_margin=best.score - other.score if other else None,
            why="" if sure >= LEAST else why,
            sure=sure,
        )

    def _sure(self, look: Look) -> tuple[float, str]:
        """Log-odds of the path, and why it would fall."""
        sure, why = self._verdict().over(look.evidence), _reason(look.evidence)
        if look.elsewhere is not None and look.over_elsewhere < OVER_ELSEWHERE:
            said = " ".join(look.elsewhere.words)
            return min(sure, LEAST - 1.0), tell("ears-sounds-more-like-said-which", said=said)
        most = self._most(look)
        return (most, tell("ears-too-much-like-something-else")) if most < sure else (sure, why)

    def _most(self, look: Look) -> float:
        """Log-odds that a path of one word can have at most, by how clear of others it stands; see `CLEAR`."""
        assert self._active is not None
        grammar = self._active.grammar
        intent = grammar.match(look.path.words)
        if intent is None or intent.name not in CLEAR or len(look.path.spoken) > 1:
            return float("inf")
        risk = risk_of(grammar.name, intent.name)
        if risk in (Risk.HARMLESS, Risk.STEERING):
            return float("inf")
        over = look.over_elsewhere if risk is Risk.VALUE else look.evidence.over_meaning
        return LEVELS[risk].act + over - CLEAR[intent.name]

    def examine(self, samples: Samples) -> Look | None:
        """What `samples` are in the active grammar; None where nothing fits.

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
        foreign = self._network_elsewhere()
        elsewhere = None if foreign is None else Search(foreign, emissions, blank).best()
        if (
            foreign is not None
            and elsewhere is not None
            and _phones(foreign, elsewhere) == _phones(ready.network, best)
        ):
            elsewhere = None  # nothing tells the two apart, so the state says which it is
        over_elsewhere = best.score - elsewhere.score if elsewhere else MOST_OVER_MEANING
        over_meaning = min(over_elsewhere, best.score - other.score if other else MOST_OVER_MEANING)
        weighed = self._competitor.weigh(ready.network, ready.others, best, emissions, blank, over_meaning)
        return Look(best, weighed, other, elsewhere, over_elsewhere)

    def _network_elsewhere(self) -> Network | None:
        """What only other states know, compiled when it is first wanted: most states of a job are never entered."""
        ready = self._active
        if ready is None:
            return None
        key = id(ready.grammar)
        if key not in self._foreign:
            graph = ready.grammar.elsewhere
            if graph is not None:
                self._lexicon.prepare({arc.word for arc in graph.arcs})
            self._foreign[key] = None if graph is None else compile_graph(graph, self._lexicon, _cost)
        return self._foreign[key]

    def spotter(self) -> Spotter:
        """What looks for "stop" through the product's own voice, on the same networks."""
        return Spotter(self._acoustics, self._lexicon(WORD))

    def close(self) -> None:
        self._held.clear()
        self._foreign.clear()
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


def _noisy(before: Samples, samples: Samples) -> bool:
    """Whether the bay before an utterance is loud enough to be mistaken for parts of it; see `NOISY`."""
    frames = samples[: len(samples) // 320 * 320].reshape(-1, 320)
    if not len(before) or not len(frames):
        return False
    return float(np.square(before).mean()) > NOISY * float(np.square(frames).mean(axis=1).max())


def _mean(one: float, other: float) -> float:
    return (one + other) / 2


def _phones(network: Network, path: Path) -> tuple[int, ...]:
    return tuple(int(phone) for one in path.spoken for phone in network.phones(one.variant))


def _timed(one: Spoken, lead_s: float) -> HeardWord:
    # A word that the wider look finds in the sound before the utterance began with it.
    began, ended = one.began * FRAME_S - lead_s, (one.ended + 1) * FRAME_S - lead_s
    return HeardWord(one.word, max(0.0, began), max(0.0, ended))


def _reason(evidence: Evidence) -> str:
    if evidence.over_others < 0:
        return tell("ears-sounds-more-like-words-mean")
    return tell("ears-not-clear-enough-to-act")


def _cost(word: str, said: Pronunciation) -> float:
    return WORD_COST + PHONE_COST * len(said)


def _cost_of_other(word: str, said: Pronunciation) -> float:
    return OTHER_COST + PHONE_COST * len(said)
