"""The recogniser `pocketsphinx`: hidden Markov models with the state's grammar, a second opinion.

It has no honest measure of its own for speech outside the grammar, so `Hearing.margin` is None; the posterior of each
word is passed on as `HeardWord.sure` and means little. Commands of other states do not compete in it, as they do in
`phones`: even at a ten-thousandth of the likelihood, "yes" took the place of a plain "next". So it may take a command
of another state for an answer.
"""

from __future__ import annotations

import re
from typing import Any, Final

import numpy as np

from bayvoice.ears.base import HeardWord, Hearing, Samples
from bayvoice.ears.pronounce import PHONES, Lexicon
from bayvoice.errors import BayError
from bayvoice.language.grammar import StateGrammar
from bayvoice.language.texts import tell

_FRAMES_S: Final = 100  # the engine's frames per second
_VARIANT: Final = re.compile(r"\(\d+\)$")  # "next(2)" is the second pronunciation of "next"
_FILLER: Final = re.compile(r"[<\[+]")  # <sil>, [NOISE], ++BREATH++
_HELD: Final = 32  # grammars kept compiled


class Sphinx:
    """PocketSphinx with the US English model of its wheel (see `base.Recogniser`).

    Grammars go in as finite-state machines made from `StateGrammar.graph`, not as JSGF text: the engine's own JSGF
    compiler keeps all empty arcs, which made a compile 20 times and a search 50 times slower, and refuses a grammar
    as a whole for one word it cannot pronounce.

    Args:
        lexicon: pronunciations for words its dictionary lacks.

    Raises:
        BayError: the package or its model cannot be loaded.
    """

    name = "pocketsphinx"

    def __init__(self, lexicon: Lexicon | None = None) -> None:
        try:
            import pocketsphinx

            self._decoder: Any = pocketsphinx.Decoder(lm=None, loglevel="FATAL")
        except (ImportError, OSError, RuntimeError, ValueError) as fault:
            raise BayError(
                tell("ears-pocketsphinx-cannot-be-loaded-fault", fault=_short(fault)),
                "pocketsphinx",
                tell("ears-install-bayvoice-again"),
            ) from None
        self._lexicon = lexicon or Lexicon()
        self._held: dict[str, StateGrammar] = {}  # search name -> grammar; the reference keeps its id from reuse
        self._ready = False
        self._open = False

    def missing(self, words: frozenset[str]) -> frozenset[str]:
        """Those of `words` that neither its dictionary nor the lexicon can pronounce."""
        return frozenset(word for word in words if not self._knows(word))

    def use(self, grammar: StateGrammar) -> None:
        """Make `grammar` the active one; phrases with a word that has no pronunciation cannot be heard."""
        if self._open:
            raise RuntimeError("a grammar cannot change in the middle of an utterance")
        search = f"grammar{id(grammar)}"
        if search not in self._held:
            if len(self._held) >= _HELD:
                self._held.pop(oldest := next(iter(self._held)))
                self._decoder.remove_search(oldest)
            graph = grammar.graph
            end = graph.nodes
            # Decoder.create_fsg takes arcs without a word (empty arcs) as triples.
            arcs: list[tuple[Any, ...]] = [
                (arc.src, arc.dst, 1.0, arc.word) for arc in graph.arcs if self._knows(arc.word)
            ]
            arcs += [(node, end, 1.0) for node in graph.finals]
            self._decoder.add_fsg(search, self._decoder.create_fsg(search, graph.start, end, arcs))
            self._held[search] = grammar
        self._decoder.activate_search(search)
        self._ready = True

    def begin(self) -> None:
        """An utterance begins."""
        if not self._ready:
            raise RuntimeError("no grammar is active")
        self._decoder.start_utt()
        self._open = True

    def feed(self, block: Samples) -> tuple[str, ...]:
        """Take more of the utterance; the words so far."""
        if len(block):
            self._decoder.process_raw(pcm16(block), False, False)
        found = self._decoder.hyp()
        return _words(found.hypstr) if found is not None else ()

    def guess(self) -> Hearing | None:
        """None: the engine's words so far are no whole phrase yet."""
        return None

    def finish(self) -> Hearing:
        """The utterance has ended."""
        self._decoder.end_utt()
        self._open = False
        found = self._decoder.hyp()
        words = _words(found.hypstr) if found is not None else ()
        timed = tuple(
            HeardWord(
                _VARIANT.sub("", part.word),
                part.start_frame / _FRAMES_S,
                (part.end_frame + 1) / _FRAMES_S,
                min(1.0, float(part.prob)),
            )
            for part in (self._decoder.seg() or ())
            if not _FILLER.match(part.word) and part.word != "(NULL)"
        )
        return Hearing(self.name, words, timed=timed if words else ())

    def drop(self) -> None:
        """The utterance has ended and is not wanted."""
        self.finish()

    def close(self) -> None:
        """Free the engine."""
        self._ready = False
        self._held.clear()
        self._decoder = None

    def _knows(self, word: str) -> bool:
        if self._decoder.lookup_word(word) is not None:
            return True
        for number, said in enumerate(self._lexicon(word)):
            key = word if number == 0 else f"{word}({number + 1})"
            self._decoder.add_word(key, " ".join(PHONES[phone] for phone in said), False)
        return self._decoder.lookup_word(word) is not None


def pcm16(block: Samples) -> bytes:
    """Samples in -1..1 as little-endian 16-bit PCM."""
    return bytes(np.clip(np.rint(block * 32767.0), -32768, 32767).astype("<i2").tobytes())


def _words(text: str) -> tuple[str, ...]:
    return tuple(_VARIANT.sub("", word) for word in text.split() if not _FILLER.match(word))


def _short(fault: Exception) -> str:
    return (str(fault).splitlines() or [type(fault).__name__])[0]
