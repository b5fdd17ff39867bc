"""From linked rules to finite automata: with tags for meaning, without for the word graph.

The nondeterministic automaton is Thompson's construction (K. Thompson, CACM 11, 1968); the subset construction and
Moore's partition refinement (E. F. Moore, Gedanken-experiments on sequential machines, 1956) then give the smallest
deterministic graph of the same utterances.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from bayvoice.errors import BayError
from bayvoice.language import jsgf
from bayvoice.language.graph import Arc, WordGraph
from bayvoice.language.intents import NAMES
from bayvoice.language.jsgf import Alternatives, Expansion, Ref, Repeat, Tagged, Token
from bayvoice.language.linking import Linked
from bayvoice.language.phrases import speakable
from bayvoice.language.texts import tell

OPEN: Final = "open"
CLOSE: Final = "close"
SET: Final = "set"
MEANS: Final = "means"


@dataclass(frozen=True, slots=True)
class Action:
    """What passing an empty arc notes.

    ``open``/``close`` bound the words captured as `key`; ``set`` gives `key` the constant `text`; ``means`` names the
    intent `text`.
    """

    kind: str
    key: str
    text: str = ""


class Nfa:
    """A nondeterministic automaton with empty arcs.

    Attributes:
        words: words[node] lists (word, next node).
        empty: empty[node] lists (action or None, next node).
        start, final: the one first and the one last node.
    """

    def __init__(self, linked: Linked, body: Expansion, *, tags: bool) -> None:
        self.words: list[list[tuple[str, int]]] = []
        self.empty: list[list[tuple[Action | None, int]]] = []
        self._linked = linked
        self._tags = tags
        self.start, self.final = self._node(), self._node()
        self._build(body, self.start, self.final, "")

    def _node(self) -> int:
        self.words.append([])
        self.empty.append([])
        return len(self.words) - 1

    def _skip(self, src: int, dst: int, action: Action | None = None) -> None:
        self.empty[src].append((action, dst))

    def _build(self, body: Expansion, src: int, dst: int, where: str) -> None:
        """Lay `body` between two nodes."""
        if isinstance(body, Token):
            words = body.text.lower().split()
            for word in words[:-1]:
                nxt = self._node()
                self._word(word, src, nxt, where)
                src = nxt
            self._word(words[-1], src, dst, where)
        elif isinstance(body, Ref):
            if body.name == jsgf.NULL:
                self._skip(src, dst)
            elif body.name != jsgf.VOID:
                rule = self._linked.rules[body.name]
                self._build(rule.body, src, dst, rule.where)
        elif isinstance(body, jsgf.Sequence):
            for part in body.parts[:-1]:
                nxt = self._node()
                self._build(part, src, nxt, where)
                src = nxt
            if body.parts:
                self._build(body.parts[-1], src, dst, where)
            else:
                self._skip(src, dst)
        elif isinstance(body, Alternatives):
            for choice, weight in zip(body.choices, body.weights or (1.0,) * len(body.choices), strict=True):
                if weight:  # the note: weight 0 is never spoken
                    self._build(choice, src, dst, where)
        elif isinstance(body, Repeat):
            self._repeat(body, src, dst, where)
        else:
            self._tagged(body, src, dst, where)

    def _word(self, word: str, src: int, dst: int, where: str) -> None:
        if not speakable(word):
            raise BayError(
                tell("language-word-cannot-be-spoken-as-stands", word=word),
                where,
                tell("language-write-in-letters-as-is-said"),
            )
        self.words[src].append((word, dst))

    def _repeat(self, body: Repeat, src: int, dst: int, where: str) -> None:
        # Nodes of its own keep the loop from being entered by arcs that belong to the neighbours.
        first, last = self._node(), self._node()
        self._skip(src, first)
        self._skip(last, dst)
        self._build(body.part, first, last, where)
        if body.endless:
            self._skip(last, first)
        if not body.least:
            self._skip(src, dst)

    def _tagged(self, body: Tagged, src: int, dst: int, where: str) -> None:
        if not self._tags:
            self._build(body.part, src, dst, where)
            return
        actions = [action_of(tag, where) for tag in body.tags]
        for action in actions:
            nxt = self._node()
            self._skip(src, nxt, action)
            src = nxt
        last = self._node()
        self._build(body.part, src, last, where)
        for action in reversed(actions):
            if action.kind == OPEN:
                nxt = self._node()
                self._skip(last, nxt, Action(CLOSE, action.key))
                last = nxt
        self._skip(last, dst)


def action_of(tag: str, where: str) -> Action:
    """The action of a tag: ``{next}`` an intent, ``{key=}`` a capture, ``{key=text}`` a constant.

    Raises:
        BayError: the tag is none of these, or names no intent of the product.
    """
    key, sep, text = (part.strip() for part in tag.partition("="))
    if not sep:
        if key not in NAMES:
            raise BayError(tell("language-tag-names-no-intent", tag=tag), where, tell("language-see-list-of-intents"))
        return Action(MEANS, "", key)
    if not key.isidentifier():
        raise BayError(tell("language-tag-has-no-usable-key", tag=tag), where, tell("language-write-tag-with-key"))
    return Action(SET, key, text) if text else Action(OPEN, key)


def graph_of(nfa: Nfa) -> WordGraph:
    """The smallest deterministic word graph with the utterances of `nfa`; nodes are numbered breadth first."""
    return minimised(*_subsets(nfa))


def difference(whole: WordGraph, part: WordGraph) -> WordGraph:
    """The smallest graph of the utterances of `whole` that `part` does not allow; both are deterministic."""
    after: list[list[Arc]] = [[] for _ in range(whole.nodes)]
    for arc in whole.arcs:
        after[arc.src].append(arc)
    beside = {(arc.src, arc.word): arc.dst for arc in part.arcs}
    first: tuple[int, int | None] = (whole.start, part.start)
    number = {first: 0}
    table: list[dict[str, int]] = [{}]
    finals: set[int] = set()
    queue = deque([first])
    while queue:
        pair = queue.popleft()
        node, other = pair
        if node in whole.finals and other not in part.finals:
            finals.add(number[pair])
        for arc in after[node]:
            reached = (arc.dst, None if other is None else beside.get((other, arc.word)))
            if reached not in number:
                number[reached] = len(table)
                table.append({})
                queue.append(reached)
            table[number[pair]][arc.word] = number[reached]
    return minimised(table, finals)


def _closure(nfa: Nfa, nodes: Iterable[int]) -> frozenset[int]:
    seen = set(nodes)
    stack = list(seen)
    while stack:
        for _, nxt in nfa.empty[stack.pop()]:
            if nxt not in seen:
                seen.add(nxt)
                stack.append(nxt)
    # Only nodes with words, and the last one, tell sets apart.
    return frozenset(node for node in seen if nfa.words[node] or node == nfa.final)


def _subsets(nfa: Nfa) -> tuple[list[dict[str, int]], set[int]]:
    """Transitions and final nodes of the deterministic automaton; node 0 is the start."""
    closures: dict[int, frozenset[int]] = {}

    def closed(node: int) -> frozenset[int]:
        if node not in closures:
            closures[node] = _closure(nfa, (node,))
        return closures[node]

    first = closed(nfa.start)
    number = {first: 0}
    table: list[dict[str, int]] = [{}]
    queue = deque([first])
    while queue:
        subset = queue.popleft()
        reached: dict[str, set[int]] = {}
        for node in subset:
            for word, nxt in nfa.words[node]:
                reached.setdefault(word, set()).update(closed(nxt))
        row = table[number[subset]]
        for word in sorted(reached):
            target = frozenset(reached[word])
            if target not in number:
                number[target] = len(table)
                table.append({})
                queue.append(target)
            row[word] = number[target]
    return table, {n for subset, n in number.items() if nfa.final in subset}


def minimised(table: list[dict[str, int]], finals: set[int]) -> WordGraph:
    """The minimal graph equal to a deterministic automaton with start 0; what cannot reach a final node is dropped."""
    before: list[list[int]] = [[] for _ in table]
    for src, row in enumerate(table):
        for dst in row.values():
            before[dst].append(src)
    alive, stack = set(finals), list(finals)
    while stack:
        for src in before[stack.pop()]:
            if src not in alive:
                alive.add(src)
                stack.append(src)
    rows = [{w: d for w, d in row.items() if d in alive} for row in table]
    block = [int(node in finals) for node in range(len(rows))]
    count = 0
    while True:
        keys: dict[object, int] = {}
        block = [
            keys.setdefault((block[node], tuple((w, block[d]) for w, d in row.items())), len(keys))
            for node, row in enumerate(rows)
        ]
        if len(keys) == count:
            break
        count = len(keys)
    return _numbered(rows, block, finals)


def _numbered(rows: list[dict[str, int]], block: list[int], finals: set[int]) -> WordGraph:
    sample: dict[int, int] = {}
    for node, owner in enumerate(block):
        sample.setdefault(owner, node)
    number = {block[0]: 0}
    queue = deque([block[0]])
    arcs: list[Arc] = []
    while queue:
        owner = queue.popleft()
        for word, dst in rows[sample[owner]].items():
            if block[dst] not in number:
                number[block[dst]] = len(number)
                queue.append(block[dst])
            arcs.append(Arc(number[owner], number[block[dst]], word))
    ends = frozenset(number[block[node]] for node in finals if block[node] in number)
    return WordGraph(len(number), 0, ends, tuple(arcs))
