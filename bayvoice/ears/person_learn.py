"""Learning an adaptation from takes of known words, and weighing one on takes it has not seen."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from bayvoice.ears.base import RATE, Hearing, Samples
from bayvoice.ears.decoder import NOTHING, Search
from bayvoice.ears.network import compile_graph
from bayvoice.ears.person import LEAST_BIAS, MOST_BIAS, PersonalAcoustics, PersonalLexicon, corrected, shifted
from bayvoice.ears.phones import PHONE_COST, Phones
from bayvoice.ears.pronounce import PHONES, Lexicon, Pronunciation
from bayvoice.language.grammar import ANY, Grammars, StateGrammar
from bayvoice.language.graph import Arc, WordGraph
from bayvoice.language.risk import Verdict, weigh

Floats = NDArray[np.float32]

STRENGTH: Final = 0.3
"""Greatest share of a phone's chance that may be made of other phones'."""
LOUD_DB: Final = 5.0
"""Each take is also weighed in noise so far below it, dB: in quiet, most people are understood as they are."""
_TRUST: Final = 3.0
"""Times a phone must have been said before half of what was seen of it is believed."""
_LEAST_SHARE: Final = 0.03
_APART: Final = 2  # phones that must differ from every other word
_BETTER_BY: Final = 2.0
"""Nats by which a pronunciation of one's own must explain each take better than any that is known."""
_HELPS_BY: Final = 0.05
_BIASES: Final = np.round(np.arange(MOST_BIAS, LEAST_BIAS - 0.05, -0.1), 1)
_HOLD_BACK: Final = 0.15
"""Loss that a nat of bias, squared, must be worth."""


@dataclass(frozen=True, slots=True, eq=False)
class Take:
    """One prompt said once: its words, lower case, and the sound, 16 kHz mono float32."""

    words: tuple[str, ...]
    sound: Samples


@dataclass(frozen=True, slots=True)
class Score:
    """How takes were understood.

    Attributes:
        takes: decodings of takes in the grammar of everything; right: those whose meaning was acted on.
        wrong: those where another meaning was acted on.
        foreign: decodings of takes in a dialogue state where their words mean nothing; acted: those acted on.
        loss: mean over all of what the odds were off by, nats.
    """

    takes: int
    right: int
    wrong: int
    foreign: int
    acted: int
    loss: float

    @property
    def mistakes(self) -> int:
        """What was done that nobody asked for."""
        return self.wrong + self.acted

    def better_than(self, other: Score) -> bool:
        """Nothing is worse, and either something is better or the odds are clearly nearer the truth."""
        if self.right < other.right or self.mistakes > other.mistakes:
            return False
        counts = self.right > other.right or self.mistakes < other.mistakes
        return self.loss < other.loss * (1.0 if counts else 1.0 - _HELPS_BY)


@dataclass(frozen=True, slots=True, eq=False)
class Change:
    """What of an `Adaptation` depends on the sound of the takes; by default nothing is changed."""

    mixing: Floats = field(default_factory=lambda: np.eye(len(PHONES), dtype=np.float32))
    said: Mapping[str, tuple[Pronunciation, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Trial:
    """One decoding. `right`: the meaning of the take; `foreign`: no meaning could be right here."""

    hearing: Hearing
    state: str
    intent: str
    right: bool
    foreign: bool

    def acted(self, bias: float) -> bool:
        hearing = shifted(self.hearing, bias)
        return bool(self.intent) and not hearing.why and weigh(self.state, self.intent, hearing.sure) is Verdict.ACT

    def loss(self, bias: float) -> float:
        if not self.intent or self.hearing.sure is None:
            return 0.0 if self.foreign else float(np.log(2.0))
        sure = self.hearing.sure + bias
        if self.right:
            return float(np.logaddexp(0.0, -sure))
        # A take heard as something else is lost even where that is not acted on.
        return float(np.logaddexp(0.0, sure if self.foreign else max(sure, 0.0)))


class _Kept(PersonalAcoustics):
    """Scores of the same sounds are worked out once: only the correction changes between trials."""

    def __init__(self) -> None:
        super().__init__()
        self._found: dict[bytes, tuple[Floats, Floats]] = {}

    def plain(self, samples: Samples) -> tuple[Floats, Floats]:
        key = samples.tobytes()
        if key not in self._found:
            self._found[key] = super().plain(samples)
        return self._found[key]


@dataclass
class Learner:
    """Takes in, the correction and its score out.

    Args:
        grammars: what may be said; lexicon: how.
    """

    grammars: Grammars
    lexicon: Lexicon
    _acoustics: _Kept = field(init=False)
    _phones: Phones = field(init=False)
    _foreign: dict[tuple[str, ...], StateGrammar | None] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        self._acoustics = _Kept()
        self._acoustics.load()

    def score(self, takes: Sequence[Take], change: Change | None = None, bias: float = 0.0) -> Score:
        """How `takes` are understood, quiet and loud, with a correction or without."""
        return _scored(self._trials(takes, change or Change()), bias)

    def learn(self, takes: Sequence[Take]) -> tuple[Change, float]:
        """The correction that serves these takes best, each half of them weighed with what the other half taught.

        Returns:
            what to change, and the bias as in `Adaptation`.
        """
        # Each phrase is in both halves as far as it can be, so that pronunciations are weighed too.
        times = Counter[tuple[str, ...]]()
        halves: tuple[list[Take], list[Take]] = ([], [])
        for take in takes:
            halves[times[take.words] % 2].append(take)
            times[take.words] += 1
        # One condition a take is enough to choose by, and takes half the time.
        plain = [trial for half in halves for trial in self._trials(half, Change(), both=False)]
        most = _scored(plain, 0.0).mistakes
        best: tuple[float, tuple[bool, bool], float] | None = None
        for mixed, spelt in ((False, False), (True, False), (False, True), (True, True)):
            trials = plain
            if mixed or spelt:
                trials = [
                    trial
                    for half, other in (halves, halves[::-1])
                    for trial in self._trials(half, self.change(other, mixed, spelt), both=False)
                ]
            for bias in _BIASES:
                score = _scored(trials, float(bias))
                cost = score.loss + _HOLD_BACK * float(bias) ** 2
                if score.mistakes <= most and (best is None or cost < best[0]):
                    best = cost, (mixed, spelt), float(bias)
        if best is None:
            return Change(), 0.0
        return self.change(takes, *best[1]), best[2]

    def change(self, takes: Sequence[Take], mixed: bool, spelt: bool) -> Change:
        """What `takes` teach about the phones (`mixed`) and about the pronunciations (`spelt`)."""
        mixing = self.mixing(takes, STRENGTH) if mixed else Change().mixing
        return Change(mixing, self.pronunciations(takes, mixing) if spelt else {})

    def pronunciations(self, takes: Sequence[Take], mixing: Floats) -> dict[str, tuple[Pronunciation, ...]]:
        """What single words sounded like where that explains every take of the word far better than what is known.

        What is near to a pronunciation of another word is left out: it would be taken for that word.

        Args:
            mixing: applied to the scores first.
        """
        found: dict[str, tuple[Pronunciation, ...]] = {}
        rows: dict[str, list[tuple[Floats, Floats]]] = {}
        for take in takes:
            if len(take.words) == 1:
                emissions, blank = self._acoustics.plain(take.sound)
                rows.setdefault(take.words[0], []).append((corrected(emissions, mixing), blank))
        words = self.grammars.state(ANY).words
        for word, several in rows.items():
            others = [one for other in words - {word} for one in (*self.lexicon(other), *found.get(other, ()))]
            known = [max(_explains(row, one) for one in self.lexicon(word)) for row in several]
            ways = {heard for row in several if len(heard := _greedy(*row)) > 1}
            gains = {
                heard: min(_explains(row, heard) - best for row, best in zip(several, known, strict=True))
                for heard in sorted(ways)
                if all(_edits(heard, one) >= _APART for one in others)
            }
            if gains and max(gains.values()) >= _BETTER_BY:
                found[word] = (max(gains, key=lambda heard: gains[heard]),)
        return found

    def mixing(self, takes: Sequence[Take], strength: float) -> Floats:
        """(39, 39) as in `Adaptation`, from what the phone scores show where each phone of the takes was said.

        Args:
            strength: greatest share of a phone's chance that is made of other phones', 0..1.
        """
        kinds = len(PHONES)
        mixing = np.eye(kinds, dtype=np.float32)
        # The second time, the phones are found with what the first has shown.
        for _ in range(2):
            seen, times = np.zeros((kinds, kinds)), np.zeros(kinds)
            for take in takes:
                emissions, blank = self._acoustics.plain(take.sound)
                labels, frames = self._aligned(take, corrected(emissions, mixing), blank)
                chances = np.exp(emissions.astype(np.float64))
                chances -= chances.min(axis=1, keepdims=True)
                chances /= np.maximum(chances.sum(axis=1, keepdims=True), 1e-6)
                for place, label in enumerate(labels):
                    own = chances[frames == place]
                    if len(own):
                        seen[label] += own.mean(axis=0)
                        times[label] += 1
            shares = seen / np.maximum(seen.sum(axis=1, keepdims=True), 1e-6)
            shares[shares < _LEAST_SHARE] = 0.0
            shares[times == 0] = np.eye(kinds)[times == 0]
            shares /= np.maximum(shares.sum(axis=1, keepdims=True), 1e-6)
            believed = (strength * times / (times + _TRUST))[:, None]
            mixing = np.asarray((1.0 - believed) * np.eye(kinds) + believed * shares, dtype=np.float32)
        return mixing

    def _aligned(self, take: Take, emissions: Floats, blank: Floats) -> tuple[list[int], NDArray[np.int32]]:
        """The phones of the take in its best pronunciation, and (T,) which of them each frame emits, -1 for none."""
        arcs = tuple(Arc(at, at + 1, word) for at, word in enumerate(take.words))
        graph = WordGraph(len(arcs) + 1, 0, frozenset({len(arcs)}), arcs)
        network = compile_graph(graph, self.lexicon, lambda _word, _said: 0.0)
        best = Search(network, emissions, blank).best()
        labels = [int(phone) for one in (best.spoken if best else ()) for phone in network.phones(one.variant)]
        return labels, align(emissions, blank, labels)[0]

    def _trials(self, takes: Sequence[Take], change: Change, *, both: bool = True) -> list[_Trial]:
        """The takes quiet and loud, or in turn the one or the other."""
        self._acoustics.mixing = change.mixing
        self._phones = Phones(PersonalLexicon(self.lexicon, change.said), self._acoustics)
        trials = []
        for number, take in enumerate(takes):
            sounds = (take.sound, loud(take.sound, number))
            for sound in sounds if both else sounds[number % 2 :][:1]:
                trials.append(self._trial(take, sound, self.grammars.state(ANY), foreign=False))
                state = self._foreign_state(take.words)
                if state is not None:
                    trials.append(self._trial(take, sound, state, foreign=True))
        return trials

    def _trial(self, take: Take, sound: Samples, grammar: StateGrammar, *, foreign: bool) -> _Trial:
        self._phones.use(grammar)
        self._phones.begin()
        self._phones.feed(sound)
        hearing = self._phones.finish()
        intent = grammar.match(hearing.words)
        right = not foreign and intent is not None and intent == grammar.match(take.words)
        return _Trial(hearing, grammar.name, intent.name if intent else "", right, foreign)

    def _foreign_state(self, words: tuple[str, ...]) -> StateGrammar | None:
        """The dialogue state with most words among those where `words` mean nothing."""
        if words not in self._foreign:
            states = [self.grammars.state(name) for name in self.grammars.states()]
            self._foreign[words] = max(
                (state for state in states if not state.accepts(words)), key=lambda s: len(s.words), default=None
            )
        return self._foreign[words]


def _scored(trials: Sequence[_Trial], bias: float) -> Score:
    own = [trial for trial in trials if not trial.foreign]
    foreign = [trial for trial in trials if trial.foreign]
    return Score(
        takes=len(own),
        right=sum(trial.right and trial.acted(bias) for trial in own),
        wrong=sum(not trial.right and trial.acted(bias) for trial in own),
        foreign=len(foreign),
        acted=sum(trial.acted(bias) for trial in foreign),
        loss=float(np.mean([trial.loss(bias) for trial in trials])) if trials else 0.0,
    )


def align(emissions: Floats, blank: Floats, labels: Sequence[int]) -> tuple[NDArray[np.int32], float]:
    """Which phone each frame emits on the best CTC path that says exactly `labels` (Graves et al., 2006).

    Args:
        emissions: (T, 39) log scores; blank: (T,) log scores; labels: the phones in order.

    Returns:
        (T,) index into `labels`, -1 for blank, and the path's score in nats; all -1 and `NOTHING` where there are no
        labels or too few frames for them.
    """
    frames, size = len(emissions), 2 * len(labels) + 1
    which = np.full(frames, -1, dtype=np.int32)
    if not labels or frames < len(labels):
        return which, float(NOTHING)
    said = np.asarray(labels)
    skips = np.zeros(size, dtype=bool)
    skips[3::2] = said[1:] != said[:-1]
    score = np.full(size, NOTHING)
    score[0], score[1] = blank[0], emissions[0, said[0]]
    steps = np.zeros((frames, size), dtype=np.int32)
    for frame in range(1, frames):
        one = np.concatenate([[NOTHING], score[:-1]])
        two = np.where(skips, np.concatenate([[NOTHING, NOTHING], score[:-2]]), NOTHING)
        ways = np.stack([score, one, two])
        steps[frame] = ways.argmax(axis=0)
        score = ways.max(axis=0)
        score[0::2] += blank[frame]
        score[1::2] += emissions[frame, said]
    place = size - 1 if score[-1] > score[-2] else size - 2
    total = float(score[place])
    if total <= NOTHING / 2:
        return which, float(NOTHING)
    for frame in range(frames - 1, -1, -1):
        which[frame] = place // 2 if place % 2 else -1
        place -= int(steps[frame, place])
    return which, total


def _explains(row: tuple[Floats, Floats], said: Pronunciation) -> float:
    """Nats of phone scores and blank, `row`, with the phones `said`."""
    return align(*row, said)[1] + PHONE_COST * len(said)


def _greedy(emissions: Floats, blank: Floats) -> Pronunciation:
    """The likeliest phone of every frame, repetitions and blanks taken out."""
    top = np.concatenate([emissions, blank[:, None]], axis=1).argmax(axis=1)
    fresh = top[np.concatenate([[True], top[1:] != top[:-1]])] if len(top) else top
    return tuple(int(phone) for phone in fresh if phone != emissions.shape[1])


def _edits(one: Sequence[int], other: Sequence[int]) -> int:
    """Least number of phones to put in, take out or replace (Levenshtein, 1966)."""
    row = list(range(len(other) + 1))
    for at, phone in enumerate(one, 1):
        last, row[0] = row[0], at
        for to, wanted in enumerate(other, 1):
            last, row[to] = row[to], min(row[to] + 1, row[to - 1] + 1, last + (phone != wanted))
    return row[-1]


def loud(sound: Samples, seed: int) -> Samples:
    """`sound` in pink noise `LOUD_DB` below its loudest tenth of a second; the same for the same `seed`."""
    white = np.fft.rfft(np.random.default_rng(seed).standard_normal(len(sound)))
    pink = np.fft.irfft(white / np.sqrt(np.maximum(np.arange(len(white)), 1.0)), len(sound))
    span = RATE // 10
    power = max(
        float(np.mean(np.square(sound[at : at + span], dtype=np.float64))) for at in range(0, max(1, len(sound)), span)
    )
    level = np.sqrt(power / 10.0 ** (LOUD_DB / 10.0) / max(float(np.mean(np.square(pink))), 1e-12))
    return np.asarray(sound + level * pink, dtype=np.float32)
