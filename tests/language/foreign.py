"""The grammar PocketSphinx makes of a JSGF text, to hold ours against."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import pocketsphinx

from bayvoice.language.graph import WordGraph


@cache
def decoder() -> Any:
    """One PocketSphinx decoder, for its JSGF reader."""
    return pocketsphinx.Decoder(samprate=16000, loglevel="FATAL", lm=None)


class Foreign:
    """The finite-state grammar PocketSphinx makes of a JSGF text, read from the file it writes."""

    def __init__(self, text: str, folder: Path) -> None:
        path = folder / "t.fsg"
        decoder().parse_jsgf(text).writefile(str(path))
        self.arcs: dict[int, list[tuple[str, int]]] = {}
        for line in path.read_text().splitlines():
            key, *rest = line.split(maxsplit=4)
            if key == "START_STATE":
                self.start = int(rest[0])
            elif key == "FINAL_STATE":
                self.final = int(rest[0])
            elif key == "TRANSITION":
                self.arcs.setdefault(int(rest[0]), []).append((rest[3] if len(rest) > 3 else "", int(rest[1])))

    @cache  # noqa: B019 - lives as long as one test
    def closed(self, begin: frozenset[int]) -> frozenset[int]:
        """Nodes reached without a word, `begin` among them."""
        nodes, stack = set(begin), list(begin)
        while stack:
            for word, nxt in self.arcs.get(stack.pop(), ()):
                if not word and nxt not in nodes:
                    nodes.add(nxt)
                    stack.append(nxt)
        return frozenset(nodes)

    @cache  # noqa: B019 - lives as long as one test
    def after(self, nodes: frozenset[int]) -> dict[str, frozenset[int]]:
        """Word -> nodes reached by it."""
        ahead: dict[str, set[int]] = {}
        for node in nodes:
            for word, nxt in self.arcs.get(node, ()):
                if word:
                    ahead.setdefault(word, set()).update(self.closed(frozenset((nxt,))))
        return {word: frozenset(reached) for word, reached in ahead.items()}


def first_difference(ours: WordGraph, theirs: Foreign) -> str | None:
    """The shortest utterance only one of the two accepts, None where they accept the same."""
    ahead = {(arc.src, arc.word): arc.dst for arc in ours.arcs}
    spoken: dict[int, set[str]] = {}
    for arc in ours.arcs:
        spoken.setdefault(arc.src, set()).add(arc.word)
    start = (ours.start, theirs.closed(frozenset((theirs.start,))))
    seen, queue = {start}, [(*start, "")]
    for node, nodes, said in queue:
        if (node in ours.finals) != (theirs.final in nodes):
            return said or "(silence)"
        row = theirs.after(nodes)
        for word in spoken.get(node, set()) | row.keys():
            pair = (ahead.get((node, word), -1), row.get(word, frozenset()))
            if (pair[0] >= 0 or pair[1]) and pair not in seen:
                seen.add(pair)
                queue.append((*pair, f"{said} {word}".strip()))
    return None
