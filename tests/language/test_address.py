"""The address word: what it lets through in each mode, what it costs the word graph, which words are in its way."""

from __future__ import annotations

import random
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bayvoice.errors import BayError
from bayvoice.language.address import Address, AddressMode, rivals
from bayvoice.language.grammar import Grammars, StateGrammar
from bayvoice.language.intents import GUARDED
from tests.language.foreign import Foreign, first_difference
from tests.language.shipped import FILLS, accepts, grammars, graph_of_text, texts, walk

WORD = "bay"
ALL = [*grammars().states(), "any"]
HEARD = [AddressMode.ALWAYS, AddressMode.GUARDED]


@cache
def addressed(mode: AddressMode) -> Grammars:
    """The English grammars with `FILLS` and the address word."""
    return Grammars(texts(), FILLS, Address(mode, WORD))


def pair(mode: AddressMode, state: str) -> tuple[StateGrammar, StateGrammar]:
    """A state without and with the address word."""
    return grammars().state(state), addressed(mode).state(state)


@pytest.mark.parametrize("mode", list(AddressMode))
@pytest.mark.parametrize("state", ALL)
@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 2**32))
def test_the_word_lets_through_what_the_mode_says(mode: AddressMode, state: str, seed: int) -> None:
    """Any utterance with the word means what it means without the mode; without the word, only where none is needed."""
    plain, ours = pair(mode, state)
    said = walk(plain.graph, random.Random(seed))
    meant = plain.match(said)
    assert meant is not None
    barred = mode is AddressMode.ALWAYS or (mode is AddressMode.GUARDED and meant.name in GUARDED)
    assert ours.match(said) == (None if barred else meant)
    assert ours.unaddressed(said) == barred
    assert ours.match([WORD, *said]) == (None if mode is AddressMode.NEVER else meant)
    assert not ours.unaddressed([WORD, *said])
    assert ours.match(said, spoken=False) == meant


@pytest.mark.parametrize("mode", HEARD)
@pytest.mark.parametrize("state", ALL)
@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 2**32))
def test_the_language_is_the_state_with_and_without_the_word_before_it(
    mode: AddressMode, state: str, seed: int
) -> None:
    """S ∪ address·S ∪ {address} and nothing more, on utterances with a word put in, taken out or exchanged."""
    plain, ours = pair(mode, state)
    rng = random.Random(seed)
    said = walk(ours.graph, rng)
    for _ in range(rng.randrange(3)):
        at = rng.randrange(len(said) + 1)
        said[at : at + rng.randrange(2)] = rng.choice([[], [WORD], [rng.choice(sorted(ours.words))]])
    addressed_one = said[:1] == [WORD] and plain.accepts(said[1:])
    assert ours.accepts(said) == (plain.accepts(said) or addressed_one or said == [WORD])
    assert ours.match([WORD]) is None
    assert not ours.unaddressed([WORD])


@pytest.mark.parametrize("state", ALL)
def test_the_word_costs_one_node_and_the_first_words_once_more(state: str) -> None:
    """The graph stays small; in mode never it is what it was."""
    plain = grammars().state(state).graph
    first = sum(arc.src == plain.start for arc in plain.arcs)
    for mode in HEARD:
        ours = addressed(mode).state(state).graph
        assert ours.nodes == plain.nodes + 1
        assert len(ours.arcs) == len(plain.arcs) + first + 1
    assert addressed(AddressMode.NEVER).state(state).graph == plain


@pytest.mark.slow
@pytest.mark.parametrize("state", ALL)
def test_pocketsphinx_reads_the_same_grammar(state: str, tmp_path: Path) -> None:
    """Outside check: the JSGF with the word, read by CMU PocketSphinx, has exactly the utterances of our graph."""
    grammar = addressed(AddressMode.GUARDED).state(state)
    assert "<job_address> = bay;" in grammar.jsgf()
    assert first_difference(grammar.graph, Foreign(grammar.jsgf(), tmp_path)) is None


@pytest.mark.parametrize("word", ["", "two words", "bay2", "Bay", "#"])
def test_what_is_not_one_word_is_refused(word: str) -> None:
    """In one sentence that names the option."""
    with pytest.raises(BayError, match=r"^--address-word: .* cannot be the address word"):
        Address(AddressMode.GUARDED, word)


def test_rivals_are_the_words_that_could_stand_in_its_place() -> None:
    """A word alone, or one before an utterance that is whole without it."""
    text = "#JSGF V1.0;\ngrammar t;\npublic <a> = go | no <n> | <n> | be quiet | point <n>;\n<n> = one | two [<m>];\n"
    text += "<m> = three;\n"
    graph = graph_of_text(text, "t.a")
    assert rivals(graph) == {"go", "no", "one", "two", "point"}
    # The same by trying: every first word, and every utterance with and without it.
    alone = {w for w in ("go", "no", "be", "one", "two", "point", "quiet", "three") if accepts(graph, w)}
    assert alone == {"go", "one", "two"}


def test_rivals_of_the_jobs_grammar_hold_its_one_word_commands() -> None:
    """And leave out "be", whose rest means nothing."""
    found = rivals(grammars().state("any").graph)
    assert {"next", "yes", "no", "go", "stop", "repeat", "back", "pause", "help", "two", "a"} <= found
    assert not {"be", "say", "where", "count", "take"} & found
