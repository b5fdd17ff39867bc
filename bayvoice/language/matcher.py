"""The meaning of a whole utterance: every way the tagged automaton accepts it, turned into intents."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence
from typing import Final

from bayvoice.errors import BayError
from bayvoice.language import numbers, units
from bayvoice.language.automaton import CLOSE, MEANS, OPEN, SET, Action, Nfa
from bayvoice.language.intents import Intent
from bayvoice.language.spelling import unspell
from bayvoice.language.texts import tell

_Note = tuple[Action, int]
_Step = tuple[tuple[Action, ...], int]
_Pair = tuple[int, int, bool]
_FIGURES: Final = frozenset({"count", "code", "spelt"})
"""Slots that hold figures: words are turned into them ("two" -> "2", "oh four" -> "04", "kilo four zero" -> "K40")."""


class Matcher:
    """Finds meanings by following all paths of a tagged automaton at once.

    Args:
        nfa: an automaton built with its tags.
        where: what it belongs to, for messages.
        written: words as said -> as a procedure writes them, applied to captures.
    """

    def __init__(self, nfa: Nfa, where: str, written: Mapping[str, str]) -> None:
        self._nfa = nfa
        self._written = written
        self._where = where
        self._ahead: dict[int, tuple[_Step, ...]] = {}
        self._after: dict[int, dict[str, list[_Step]]] = {}

    def meanings(self, words: Sequence[str]) -> tuple[Intent, ...]:
        """All different intents of the whole of `words`, none where they are not accepted or hold no number.

        Raises:
            BayError: the grammar gives the utterance no intent or two, which is a mistake in its tags.
        """
        paths: dict[tuple[int, tuple[_Note, ...]], None] = {(self._nfa.start, ()): None}
        for at, word in enumerate(words):
            reached: dict[tuple[int, tuple[_Note, ...]], None] = {}
            for node, notes in paths:
                for actions, nxt in self._moves(node).get(word, ()):
                    reached[nxt, notes + tuple((action, at) for action in actions)] = None
            paths = reached
        found: dict[Intent, None] = {}
        for node, notes in paths:
            for actions in self._endings(node):
                all_notes = notes + tuple((action, len(words)) for action in actions)
                if (intent := self._intent(words, all_notes)) is not None:
                    found[intent] = None
        return tuple(found)

    def clashes(self, limit: int) -> tuple[tuple[str, ...], ...]:
        """Utterances with two meanings, short ones first, at most `limit`; none where no utterance has two.

        Two paths over the same words are followed together. Notes are tied to places in the utterance, so two
        meanings can differ only where the notes of one place do.
        """
        start = (self._nfa.start, self._nfa.start, False)
        came: dict[_Pair, tuple[_Pair, str] | None] = {start: None}
        queue = deque([start])
        found: list[tuple[str, ...]] = []
        while queue and len(found) < limit:
            pair = queue.popleft()
            one, other, apart = pair
            ends = {apart or a != b for a in self._endings(one) for b in self._endings(other)}
            if True in ends:
                said = _way(came, pair)
                if len(self.meanings(said)) > 1:
                    found.append(said)
            others = self._moves(other)
            for word, steps in self._moves(one).items():
                for actions, nxt in steps:
                    for actions_, nxt_ in others.get(word, ()):
                        new = (min(nxt, nxt_), max(nxt, nxt_), apart or actions != actions_)
                        if new not in came:
                            came[new] = (pair, word)
                            queue.append(new)
        return tuple(found)

    def _moves(self, node: int) -> dict[str, list[_Step]]:
        """Word -> actions on the way to it and node after it, for all words that can follow `node`."""
        if node not in self._after:
            found: dict[str, list[_Step]] = {}
            for actions, stop in self._reach(node):
                for word, nxt in self._nfa.words[stop]:
                    found.setdefault(word, []).append((actions, nxt))
            self._after[node] = found
        return self._after[node]

    def _endings(self, node: int) -> list[tuple[Action, ...]]:
        """Actions on each way from `node` to the end without a word."""
        return [actions for actions, stop in self._reach(node) if stop == self._nfa.final]

    def _reach(self, node: int) -> tuple[_Step, ...]:
        """Nodes with words, or the last one, that empty arcs lead to, with the actions on the way."""
        if node not in self._ahead:
            found: dict[_Step, None] = {}
            stack: list[tuple[int, tuple[Action, ...], frozenset[int]]] = [(node, (), frozenset((node,)))]
            while stack:
                here, actions, passed = stack.pop()
                if self._nfa.words[here] or here == self._nfa.final:
                    found[actions, here] = None
                for action, nxt in self._nfa.empty[here]:
                    if nxt not in passed:
                        stack.append((nxt, (*actions, action) if action else actions, passed | {nxt}))
            self._ahead[node] = tuple(found)
        return self._ahead[node]

    def _intent(self, words: Sequence[str], notes: Sequence[_Note]) -> Intent | None:
        """The intent of one path, with every reading of its number; None where the words are no number after all."""
        names: list[str] = []
        caught: dict[str, str] = {}
        begun: dict[str, int] = {}
        for action, at in notes:
            if action.kind == MEANS:
                names.append(action.text)
            elif action.kind == SET:
                caught[action.key] = action.text
            elif action.kind == OPEN:
                begun[action.key] = at
            elif action.kind == CLOSE and (said := words[begun.pop(action.key) : at]):
                phrase = " ".join(said)
                caught[action.key] = self._written.get(phrase, phrase)
        if len(names) != 1:
            raise BayError(
                tell("language-words-have-many-intents", words=" ".join(words), count=len(names))
                if names
                else tell("language-words-have-no-intent", words=" ".join(words)),
                self._where,
                tell("language-give-each-way-of-saying"),
            )
        value, unit = caught.pop("value", None), caught.pop("unit", None)
        if unit is not None and unit not in units.UNITS:
            raise BayError(tell("language-unit-is-not", unit=unit), self._where, tell("language-see-table-of-units"))
        for key in _FIGURES & caught.keys():
            said = caught[key].split()
            figures = _figures(key, said)
            if figures is None:
                return None
            caught[key] = figures
        slots = tuple(sorted(caught.items()))
        if value is None or "hedge" in caught:
            return Intent(names[0], None, unit, slots)
        readings = numbers.readings(value.split())
        return Intent(names[0], None, unit, slots, readings) if readings else None


def _figures(key: str, said: Sequence[str]) -> str | None:
    if key == "spelt":
        return unspell(said)
    if key == "code":
        return numbers.digits_of(said)
    value = numbers.value_of(said)
    return None if value is None else str(value)


def _way(came: Mapping[_Pair, tuple[_Pair, str] | None], pair: _Pair) -> tuple[str, ...]:
    """The words from the start to `pair`."""
    said: list[str] = []
    step = came[pair]
    while step is not None:
        said.append(step[1])
        step = came[step[0]]
    return tuple(reversed(said))
