"""The exact search, held against plain enumeration of everything a small grammar allows."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from numpy.typing import NDArray

from bayvoice.ears.decoder import Search, free_path
from bayvoice.ears.network import compile_graph
from bayvoice.ears.pronounce import Pronunciation
from bayvoice.language.graph import Arc, WordGraph

SAID: dict[str, tuple[Pronunciation, ...]] = {
    "ab": ((0, 1),),
    "b": ((1,),),
    "cab": ((2, 0, 1), (2, 1)),
    "dd": ((3, 3),),
    "e": ((4,),),
    "oh": ((5,),),
}
GRAPHS = (
    WordGraph(2, 0, frozenset({1}), tuple(Arc(0, 1, word) for word in SAID)),
    WordGraph(
        4,
        0,
        frozenset({2, 3}),
        (
            Arc(0, 1, "ab"),
            Arc(0, 1, "b"),
            Arc(0, 2, "cab"),
            Arc(1, 2, "dd"),
            Arc(1, 3, "e"),
            Arc(2, 3, "oh"),
            Arc(2, 2, "b"),
        ),
    ),
)


def cost(word: str, said: Pronunciation) -> float:
    return -0.3 - 0.2 * len(said) - (0.5 if word == "oh" else 0.0)


def utterances(graph: WordGraph, most: int) -> Iterator[tuple[tuple[str, ...], tuple[int, ...], float]]:
    """Every utterance of up to `most` words: words, phones, summed cost."""
    ways: list[tuple[int, tuple[str, ...], tuple[int, ...], float]] = [(graph.start, (), (), 0.0)]
    for _ in range(most):
        ways = [
            (arc.dst, (*words, arc.word), (*phones, *said), total + cost(arc.word, said))
            for node, words, phones, total in ways
            for arc in graph.arcs
            if arc.src == node
            for said in SAID[arc.word]
        ]
        for node, words, phones, total in ways:
            if node in graph.finals:
                yield words, phones, total


def aligned(phones: tuple[int, ...], emit: NDArray[np.float32], blank: NDArray[np.float32]) -> float:
    """Best score of `phones` in order, each for one frame or more, blanks anywhere between; by plain recursion."""
    best: dict[tuple[int, bool], float] = {(-1, True): 0.0}  # (last phone begun, in blank after it) -> score
    for frame in range(len(emit)):
        after: dict[tuple[int, bool], float] = {}
        for (at, quiet), score in best.items():
            steps = [(at, True, float(blank[frame]))]
            if at >= 0 and not quiet:
                steps.append((at, False, float(emit[frame, phones[at]])))
            if at + 1 < len(phones):
                steps.append((at + 1, False, float(emit[frame, phones[at + 1]])))
            for to, rest, gain in steps:
                after[to, rest] = max(after.get((to, rest), -1e30), score + gain)
        best = after
    end = len(phones) - 1
    return max(best.get((end, True), -1e30), best.get((end, False), -1e30))


@pytest.mark.parametrize("graph", GRAPHS)
@pytest.mark.parametrize("seed", range(12))
def test_best_and_runner_up_are_those_of_enumeration(graph: WordGraph, seed: int) -> None:
    """The winner, and the best path with another arc, have the words and scores that plain enumeration gives."""
    rng = np.random.default_rng(seed)
    frames = int(rng.integers(4, 11))
    emit = np.log(rng.dirichlet(np.full(7, 0.3), frames) + 1e-4).astype(np.float32)
    scores: dict[tuple[str, ...], float] = {}
    for words, phones, total in utterances(graph, 6):
        score = total + aligned(phones, emit[:, :6], emit[:, 6])
        scores[words] = max(score, scores.get(words, -1e30))
    ranked = sorted(scores.items(), key=lambda item: -item[1])
    search = Search(compile_graph(graph, lambda word: SAID[word], cost), emit[:, :6], emit[:, 6])
    best = search.best()
    assert best is not None
    assert best.words == ranked[0][0]
    assert best.score == pytest.approx(ranked[0][1], abs=1e-3)
    assert search.score() == best.score
    used = set(best.words)
    other = next(search.others(best))
    # The runner-up must use an arc the best has not; in these graphs that is a word the best has not.
    expected = max(score for words, score in ranked if set(words) - used)
    assert other.score == pytest.approx(expected, abs=1e-3)
    assert scores[other.words] == pytest.approx(expected, abs=1e-3)


def test_word_times_are_where_the_phones_are() -> None:
    """With phones spelt out frame by frame the words' frames are exactly those."""
    said = [6, 0, 0, 1, 6, 6, 4, 4, 6]  # blank, a, a, b, blank, blank, e, e, blank
    emit = np.log(np.eye(7)[said] * 0.9 + 1e-3).astype(np.float32)
    search = Search(compile_graph(GRAPHS[1], lambda word: SAID[word], cost), emit[:, :6], emit[:, 6])
    best = search.best()
    assert best is not None
    assert [(one.word, one.began, one.ended) for one in best.spoken] == [("ab", 1, 3), ("e", 6, 7)]


def test_free_path_is_the_best_of_all_sequences() -> None:
    """Without costs the free path takes the best label of every frame."""
    rng = np.random.default_rng(5)
    emit = np.log(rng.dirichlet(np.ones(7), 20)).astype(np.float32)
    best = free_path(emit[:, :6], emit[:, 6], np.zeros((7, 6), dtype=np.float32))
    assert best[-1] == pytest.approx(float(emit.max(axis=1).sum()), abs=1e-3)


def test_too_few_frames_for_any_word_give_nothing() -> None:
    """A grammar whose shortest utterance is longer than the sound has no path."""
    graph = WordGraph(2, 0, frozenset({1}), (Arc(0, 1, "cab"),))
    network = compile_graph(graph, lambda word: ((2, 0, 1),), cost)
    assert Search(network, np.zeros((2, 6), np.float32), np.zeros(2, np.float32)).best() is None
