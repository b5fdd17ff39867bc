"""How long to wait for more, once somebody has paused: what the grammar allows after the words heard so far."""

from __future__ import annotations

from enum import Enum
from typing import Final

from bayvoice.language.grammar import StateGrammar
from bayvoice.language.numbers import DIGITS, PARTS, TEENS, TENS

_NUMERALS: Final = frozenset(
    (
        *DIGITS,
        *TEENS,
        *TENS,
        *PARTS,
        "oh",
        "point",
        "hundred",
        "thousand",
        "and",
        "double",
        "triple",
        "minus",
        "negative",
    )
)
_FEW: Final = 4
"""Ways of going on that are looked at one by one; where there are more, something has to be chosen or named."""


class Ending(Enum):
    """What may still come."""

    OVER = "over"
    """Nothing, or only words that would not change the meaning ("step" after "next")."""
    FEW = "few"
    """One of a few set phrases ("back" after "go"), said in one breath."""
    MORE = "more"
    """Something that is thought about first: a reason, a thing, a value; or the words are no whole phrase yet."""
    NUMBER = "number"
    """More of a number or its unit: read off a dial, with pauses."""


class Endings:
    """The endings of one dialogue state.

    Args:
        grammar: the state.
    """

    def __init__(self, grammar: StateGrammar) -> None:
        self._grammar = grammar
        self._next: dict[int, dict[str, int]] = {}
        for arc in grammar.graph.arcs:
            self._next.setdefault(arc.src, {})[arc.word] = arc.dst
        self._known: dict[tuple[str, ...], Ending] = {}

    def after(self, words: tuple[str, ...]) -> Ending:
        """What may follow `words`, lower case."""
        found = self._known.get(words)
        if found is None:
            found = self._known[words] = self._work_out(words)
        return found

    def _work_out(self, words: tuple[str, ...]) -> Ending:
        graph = self._grammar.graph
        node: int | None = graph.start
        for word in words:
            node = self._next.get(node, {}).get(word) if node is not None else None
        if node is None or not words:
            return Ending.MORE
        if not self._next.get(node):
            return Ending.OVER
        if words[-1] in _NUMERALS:
            return Ending.NUMBER
        if node not in graph.finals:
            return Ending.MORE
        rests = self._rests(node)
        if rests is None:
            return Ending.MORE
        meant = self._grammar.match(words)
        return Ending.OVER if all(self._grammar.match(words + rest) == meant for rest in rests) else Ending.FEW

    def _rests(self, node: int) -> list[tuple[str, ...]] | None:
        """Every way of going on from `node` to the end of an utterance; None where they are more than a few."""
        found: list[tuple[str, ...]] = []
        ways: list[tuple[int, tuple[str, ...]]] = [(node, ())]
        for _ in range(8 * _FEW):
            if not ways:
                return found
            at, said = ways.pop()
            if said and at in self._grammar.graph.finals:
                found.append(said)
            ways.extend((to, (*said, word)) for word, to in self._next.get(at, {}).items())
            if len(found) > _FEW or len(ways) > 4 * _FEW:
                return None
        return None
