"""The grammars that ship, with the phrases of an invented job, and a few tools for looking at word graphs."""

from __future__ import annotations

import random
from functools import cache
from pathlib import Path
from typing import Final

from bayvoice.language import jsgf
from bayvoice.language.automaton import Nfa, graph_of
from bayvoice.language.grammar import Grammars
from bayvoice.language.graph import WordGraph
from bayvoice.language.jsgf import Ref
from bayvoice.language.linking import Linked

HERE: Final = Path(__file__).parent
FOLDER: Final = HERE.parents[1] / "grammars" / "en"
FILLS: Final = {
    "thing": ("rag", "drain plug", "cover gasket", "guide pin"),
    "measurement": ("gear backlash", "shaft end float", "cover bolt torque"),
    "person": ("Imre", "Dalia", "Kofi", "Ruth"),
    "finding": ("cracked bracket", "sheared stud"),
    "option": ("shaft pin", "cover pin"),
    "waiting": ("sealant", "remover on the cover"),
}


def texts() -> dict[str, str]:
    """File name -> text of the English grammars."""
    return {path.name: path.read_text(encoding="utf-8") for path in sorted(FOLDER.glob("*.gram"))}


@cache
def grammars() -> Grammars:
    """The English grammars with `FILLS`."""
    return Grammars(texts(), FILLS)


@cache
def rule_graph(rule: str) -> WordGraph:
    """The word graph of one rule of the shipped grammars, "numbers.value" for one."""
    linked = Linked([jsgf.read(text, name) for name, text in texts().items()], {})
    return graph_of(Nfa(linked, Ref(rule), tags=False))


def graph_of_text(text: str, rule: str) -> WordGraph:
    """The word graph of `rule` ("grammar.rule") in one grammar text."""
    return graph_of(Nfa(Linked([jsgf.read(text, "here.gram")], {}), Ref(rule), tags=False))


def accepts(graph: WordGraph, said: str) -> bool:
    """Whether the graph accepts the words of `said`."""
    nodes = {graph.start}
    for word in said.split():
        nodes = {arc.dst for arc in graph.arcs if arc.src in nodes and arc.word == word}
    return bool(nodes & graph.finals)


def walk(graph: WordGraph, rng: random.Random) -> list[str]:
    """A random utterance of an acyclic graph in which every node leads to a final one."""
    node, said = graph.start, list[str]()
    while True:
        ahead = [arc for arc in graph.arcs if arc.src == node]
        if node in graph.finals and (not ahead or rng.random() < 0.3):
            return said
        arc = rng.choice(ahead)
        said.append(arc.word)
        node = arc.dst


def utterances(graph: WordGraph, longest: int) -> list[list[str]]:
    """Every utterance of at most `longest` words."""
    found: list[list[str]] = []
    stack: list[tuple[int, list[str]]] = [(graph.start, [])]
    leaving: dict[int, list[tuple[str, int]]] = {}
    for arc in graph.arcs:
        leaving.setdefault(arc.src, []).append((arc.word, arc.dst))
    while stack:
        node, said = stack.pop()
        if node in graph.finals:
            found.append(said)
        if len(said) < longest:
            stack += [(dst, [*said, word]) for word, dst in leaving.get(node, ())]
    return found
