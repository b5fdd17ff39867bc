"""The grammars of a language, and the grammar of one dialogue state."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from bayvoice.speech.graph import WordGraph
from bayvoice.speech.intents import Intent


class StateGrammar:
    """What can be said in one dialogue state. Immutable; equal names with equal fills are the same object."""

    name: str
    graph: WordGraph
    words: frozenset[str]

    def match(self, words: Sequence[str]) -> Intent | None:
        """The meaning of a whole utterance, None where the grammar does not accept all of it."""
        raise NotImplementedError

    def jsgf(self) -> str:
        """The state as one self-contained JSGF grammar without imports and tags, for engines that read JSGF."""
        raise NotImplementedError

    def phrases(self, limit: int = 2000) -> tuple[str, ...]:
        """Example utterances, short ones first, together holding every word, for engines that take phrase lists."""
        raise NotImplementedError


class Grammars:
    """All grammars of one language.

    Args:
        texts: file name -> JSGF text, as in ``grammars/en/*.gram``.
        fills: rule name in ``job.gram`` (``thing``, ``measurement``, ``person``) -> phrases the procedure brings.
    """

    def __init__(self, texts: Mapping[str, str], fills: Mapping[str, Sequence[str]] | None = None) -> None:
        raise NotImplementedError

    def states(self) -> tuple[str, ...]:
        """Names of the dialogue states (public rules of ``states.gram``)."""
        raise NotImplementedError

    def state(self, name: str) -> StateGrammar:
        """The grammar of state `name`; "any" is everything a running job could hear. BayError if unknown."""
        raise NotImplementedError
