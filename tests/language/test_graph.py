"""The word graphs recognisers search: small, without dead ends and loops; and the phrase lists made of them."""

from __future__ import annotations

import random
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayvoice.language import units
from bayvoice.language.automaton import minimised
from bayvoice.language.grammar import Grammars
from bayvoice.language.graph import WordGraph
from tests.language.shipped import FILLS, accepts, grammars, graph_of_text, texts, walk

ALL = [*grammars().states(), "any"]


@pytest.mark.parametrize("name", ALL)
def test_a_graph_is_deterministic_trim_and_acyclic(name: str) -> None:
    """One arc per node and word; every node lies on a path from the start to a final node; no loop."""
    graph = grammars().state(name).graph
    assert len({(arc.src, arc.word) for arc in graph.arcs}) == len(graph.arcs)
    forward: dict[int, set[int]] = {}
    backward: dict[int, set[int]] = {}
    for arc in graph.arcs:
        forward.setdefault(arc.src, set()).add(arc.dst)
        backward.setdefault(arc.dst, set()).add(arc.src)
    assert reach({graph.start}, forward) == set(range(graph.nodes)) == reach(set(graph.finals), backward)
    indegree = {node: len([arc for arc in graph.arcs if arc.dst == node]) for node in range(graph.nodes)}
    ready, done = [node for node, count in indegree.items() if not count], 0
    while ready:  # Kahn's topological sort (CACM 5, 1962) ends early where there is a loop
        node, done = ready.pop(), done + 1
        for arc in graph.arcs:
            if arc.src == node:
                indegree[arc.dst] -= 1
                if not indegree[arc.dst]:
                    ready.append(arc.dst)
    assert done == graph.nodes


def reach(begin: set[int], ahead: dict[int, set[int]]) -> set[int]:
    """All nodes reached from `begin`."""
    found, stack = set(begin), list(begin)
    while stack:
        for nxt in ahead.get(stack.pop(), set()) - found:
            found.add(nxt)
            stack.append(nxt)
    return found


@pytest.mark.parametrize("name", ALL)
def test_a_graph_is_minimal(name: str) -> None:
    """No two nodes have the same utterances after them: partition refinement ends with a block for each node."""
    graph = grammars().state(name).graph
    block = {node: int(node in graph.finals) for node in range(graph.nodes)}
    for _ in range(graph.nodes):
        ahead: dict[int, list[tuple[str, int]]] = {node: [] for node in block}
        for arc in graph.arcs:
            ahead[arc.src].append((arc.word, block[arc.dst]))
        keys = {node: (block[node], tuple(sorted(ahead[node]))) for node in block}
        names = {key: number for number, key in enumerate(dict.fromkeys(keys.values()))}
        block = {node: names[key] for node, key in keys.items()}
    assert len(set(block.values())) == graph.nodes


def test_graphs_stay_small() -> None:
    """The whole of a job, numbers in many contexts and spelled numbers included, in a few hundred nodes."""
    assert grammars().state("any").graph.nodes < 310
    assert len(grammars().state("any").graph.arcs) < 6000
    job = Grammars(texts(), FILLS, units=units.active({"N.m", "deg", "mm"}))
    assert len(job.state("any").graph.arcs) < 5200
    assert len(job.state("measure").graph.arcs) < 3600


def test_minimising_drops_what_leads_nowhere() -> None:
    """A dead branch and an unreachable node vanish; equal tails become one."""
    table = [{"a": 1, "b": 2, "c": 3}, {"x": 4}, {"x": 5}, {"y": 3}, {}, {}, {"x": 4}]
    graph = minimised(table, {4, 5})
    assert graph.nodes == 3
    assert sorted((arc.src, arc.word, arc.dst) for arc in graph.arcs) == [(0, "a", 1), (0, "b", 1), (1, "x", 2)]
    assert graph.finals == {2}


def test_a_grammar_of_which_nothing_can_be_said_is_an_empty_graph() -> None:
    """<VOID> alone: one node, no arc, no end."""
    graph = graph_of_text("#JSGF V1.0;\ngrammar t;\npublic <a> = one <VOID>;\n", "t.a")
    assert graph == WordGraph(1, 0, frozenset(), ())


@given(st.lists(st.lists(st.sampled_from("abc"), min_size=1, max_size=4), min_size=1, max_size=6))
def test_a_list_of_phrases_is_accepted_and_nothing_else(phrases: list[list[str]]) -> None:
    """The graph of a list of phrases accepts exactly these."""
    body = " | ".join(" ".join(phrase) for phrase in phrases)
    graph = graph_of_text(f"#JSGF V1.0;\ngrammar t;\npublic <a> = {body};\n", "t.a")
    for phrase in phrases:
        assert accepts(graph, " ".join(phrase))
        assert accepts(graph, " ".join([*phrase, "a"])) == ([*phrase, "a"] in phrases)
        assert accepts(graph, " ".join(phrase[:-1])) == (phrase[:-1] in phrases)


@pytest.mark.parametrize("name", ALL)
def test_phrases_are_utterances_and_hold_every_word(name: str) -> None:
    """Short ones first; each is accepted; no word of the state is missing; the limit is kept."""
    state = grammars().state(name)
    for limit in (320, 2000):
        phrases = state.phrases(limit)
        assert len(phrases) <= limit
        assert [len(p.split()) for p in phrases] == sorted(len(p.split()) for p in phrases)
        assert all(state.accepts(phrase.split()) for phrase in phrases)
        assert {word for phrase in phrases for word in phrase.split()} == state.words


def test_phrases_hold_the_pairs_of_words() -> None:
    """With room enough, every pair of neighbouring words of the grammar is in the list."""
    state = grammars().state("any")
    pairs = {(one.word, two.word) for one in state.graph.arcs for two in state.graph.arcs if one.dst == two.src}
    held = {pair for phrase in state.phrases(10_000) for pair in pairwise(phrase.split())}
    assert held == pairs


def test_a_phrase_list_smaller_than_the_words_still_holds_them() -> None:
    """Words come before the limit: a word the engine never hears of is worse than a long list."""
    state = grammars().state("paused")
    assert {word for phrase in state.phrases(1) for word in phrase.split()} == state.words


@pytest.mark.parametrize("name", grammars().states())
def test_what_is_said_elsewhere_is_all_the_state_does_not_know(name: str) -> None:
    """Random utterances of everything and of the state itself: each is in exactly one of the two graphs."""
    state, whole, rng = grammars().state(name), grammars().state("any"), random.Random(7)
    assert state.elsewhere is not None
    for graph in (whole.graph, state.graph, state.elsewhere):
        for _ in range(60):
            said = " ".join(walk(graph, rng))
            assert accepts(whole.graph, said)
            assert accepts(state.graph, said) != accepts(state.elsewhere, said)


def test_nothing_is_said_elsewhere_where_everything_may_be_said() -> None:
    """ "any" has no other states."""
    assert grammars().state("any").elsewhere is None
