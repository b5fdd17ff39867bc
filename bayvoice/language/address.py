"""The address word: a word that may have to be said before an intent, so that talk in the bay is not taken for one."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from bayvoice.errors import BayError
from bayvoice.language.graph import WordGraph
from bayvoice.language.intents import GUARDED
from bayvoice.language.phrases import speakable
from bayvoice.language.texts import tell

DEFAULT_WORD: Final = "bay"


class AddressMode(StrEnum):
    """Before which intents the address word must be said."""

    ALWAYS = "always"
    GUARDED = "guarded"
    """Before those that advance, log or override (`intents.GUARDED`)."""
    NEVER = "never"
    """The word means nothing, and is not listened for."""


@dataclass(frozen=True, slots=True)
class Address:
    """A mode and its word, one word in lower case.

    Raises:
        BayError: the word is not one word that can be spoken.
    """

    mode: AddressMode = AddressMode.NEVER
    word: str = DEFAULT_WORD

    def __post_init__(self) -> None:
        if not speakable(self.word) or self.word != self.word.lower():
            raise BayError(
                tell("language-word-cannot-be-address", word=self.word),
                "--address-word",
                tell("language-give-one-word-in-small"),
            )

    @property
    def heard(self) -> bool:
        """Whether the word is listened for at all."""
        return self.mode is not AddressMode.NEVER

    def needed(self, intent: str) -> bool:
        """Whether `intent` counts only with the word before it."""
        return self.mode is AddressMode.ALWAYS or (self.mode is AddressMode.GUARDED and intent in GUARDED)


NO_ADDRESS: Final = Address()


def rivals(graph: WordGraph) -> frozenset[str]:
    """Words of a grammar that could stand where an address word would: alone, or before another whole utterance.

    "no" in "no two" is one, "be" in "be quiet" is not, since "quiet" alone is no utterance.
    """
    after: list[dict[str, int]] = [{} for _ in range(graph.nodes)]
    for arc in graph.arcs:
        after[arc.src][arc.word] = arc.dst
    return frozenset(
        word
        for word, node in after[graph.start].items()
        if node in graph.finals or _share(after, graph.finals, node, graph.start)
    )


def _share(after: list[dict[str, int]], finals: frozenset[int], one: int, other: int) -> bool:
    """Whether some sequence of words leads from both nodes to a final node."""
    seen = {(one, other)}
    queue = deque(seen)
    while queue:
        here, there = queue.popleft()
        if here in finals and there in finals:
            return True
        for word, nxt in after[here].items():
            pair = (nxt, after[there].get(word, -1))
            if pair[1] >= 0 and pair not in seen:
                seen.add(pair)
                queue.append(pair)
    return False
