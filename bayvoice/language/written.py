"""A state's grammar written out for recognisers: as one JSGF text, and as a list of phrases."""

from __future__ import annotations

from collections import deque
from itertools import pairwise
from typing import Final

from bayvoice.language import jsgf
from bayvoice.language.graph import Arc, WordGraph
from bayvoice.language.jsgf import Alternatives, Expansion, Ref, Repeat, Tagged, Token
from bayvoice.language.linking import Linked, references

_ROOT: Final = "bay_root"


def flat_grammar(name: str, linked: Linked, body: Expansion) -> str:
    """`body` and all rules it needs as one JSGF grammar without imports, tags and <VOID>."""
    needed = _needed(linked, body)
    unspoken: set[str] = set()
    plain: dict[str, Expansion] = {}
    for full in needed:
        spoken = _plain(linked.body(full), unspoken)
        if spoken is None:
            unspoken.add(full)
        else:
            plain[full] = spoken
    root = _plain(body, unspoken) or Ref(jsgf.VOID)
    lines = ["#JSGF V1.0 UTF-8;", f"grammar {name};", f"public <{_ROOT}> = {_text(root)};"]
    lines += [f"<{_flat(full)}> = {_text(rule)};" for full, rule in reversed(plain.items())]
    return "\n".join(lines) + "\n"


def _needed(linked: Linked, body: Expansion) -> list[str]:
    """Full names of the rules `body` needs, each after those it needs itself."""
    found: list[str] = []

    def visit(part: Expansion) -> None:
        for full in references(part):
            if full not in found:
                visit(linked.body(full))
                found.append(full)

    visit(body)
    return found


def _plain(body: Expansion, unspoken: set[str]) -> Expansion | None:
    """`body` without tags and weights; None where nothing can be said because of a <VOID>."""
    if isinstance(body, Tagged):
        return _plain(body.part, unspoken)
    if isinstance(body, Ref):
        return None if body.name == jsgf.VOID or body.name in unspoken else body
    if isinstance(body, Repeat):
        part = _plain(body.part, unspoken)
        if part is None:
            return None if body.least else Ref(jsgf.NULL)
        return Repeat(part, body.least, body.endless)
    if isinstance(body, jsgf.Sequence):
        parts = [_plain(part, unspoken) for part in body.parts]
        return None if None in parts else jsgf.Sequence(tuple(part for part in parts if part and part != _SILENCE))
    if isinstance(body, Alternatives):
        weights = body.weights or (1.0,) * len(body.choices)
        choices = [_plain(choice, unspoken) for choice, weight in zip(body.choices, weights, strict=True) if weight]
        kept = tuple(choice for choice in choices if choice is not None)
        return Alternatives(kept) if len(kept) > 1 else kept[0] if kept else None
    return body


_SILENCE: Final = Ref(jsgf.NULL)


def _flat(full: str) -> str:
    return full.replace(".", "_")


def _text(body: Expansion) -> str:
    if isinstance(body, Token):
        return body.text.lower()
    if isinstance(body, Ref):
        return f"<{_flat(body.name)}>"
    if isinstance(body, jsgf.Sequence):
        return " ".join(_text(part) for part in body.parts) or f"<{jsgf.NULL}>"
    if isinstance(body, Alternatives):
        return "(" + " | ".join(_text(choice) for choice in body.choices) + ")"
    if isinstance(body, Repeat) and not body.endless:
        return f"[{_text(body.part)}]"
    if isinstance(body, Repeat):
        return f"({_text(body.part)}){'+' if body.least else '*'}"
    return _text(body.part)


def sample_phrases(graph: WordGraph, limit: int) -> tuple[str, ...]:
    """At most `limit` utterances holding every word first and then as many pairs of words as fit; short ones first."""
    leaving: list[list[Arc]] = [[] for _ in range(graph.nodes)]
    entering: list[list[Arc]] = [[] for _ in range(graph.nodes)]
    for arc in graph.arcs:
        leaving[arc.src].append(arc)
        entering[arc.dst].append(arc)
    heads = _shortest({graph.start}, leaving, forward=True)
    tails = _shortest(set(graph.finals), entering, forward=False)
    found: dict[tuple[str, ...], None] = {}
    words: set[str] = set()
    pairs: set[tuple[str, str]] = set()

    def keep(said: tuple[str, ...]) -> None:
        found[said] = None
        words.update(said)
        pairs.update(pairwise(said))

    def length(arc: Arc) -> int:
        return len(heads[arc.src]) + len(tails[arc.dst])

    for arc in sorted(graph.arcs, key=length):
        if arc.word not in words:
            keep((*heads[arc.src], arc.word, *tails[arc.dst]))
    enough = len(found)
    whole = [(arc,) for arc in graph.arcs if arc.src == graph.start and arc.dst in graph.finals]
    double = [(one, two) for one in graph.arcs for two in leaving[one.dst]]
    runs: list[tuple[Arc, ...]] = [*whole, *double]
    for run in sorted(runs, key=lambda run: len(heads[run[0].src]) + len(run) + len(tails[run[-1].dst])):
        said = tuple(arc.word for arc in run)
        if len(found) >= max(limit, enough):
            break
        if len(run) == 1 or said[:2] not in pairs:
            keep((*heads[run[0].src], *said, *tails[run[-1].dst]))
    return tuple(" ".join(said) for said in sorted(found, key=lambda said: (len(said), said)))


def _shortest(begin: set[int], arcs: list[list[Arc]], *, forward: bool) -> dict[int, tuple[str, ...]]:
    """The shortest words from `begin` to each node, or with `forward` false from each node to `begin`."""
    found: dict[int, tuple[str, ...]] = dict.fromkeys(sorted(begin), ())
    queue = deque(found)
    while queue:
        node = queue.popleft()
        for arc in arcs[node]:
            there = arc.dst if forward else arc.src
            if there not in found:
                found[there] = (*found[node], arc.word) if forward else (arc.word, *found[node])
                queue.append(there)
    return found
