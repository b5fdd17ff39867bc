"""The recogniser `vosk`: Kaldi networks with the state's phrases as list, where the user has a model.

What its list means (from its source): a bigram model over the phrases, so it also joins them into sentences nobody
wrote, which `StateGrammar.match` refuses; words the model lacks are dropped in silence, so they are asked for first;
confidence inside the list says little, so `Hearing.margin` is None. Short commands of other states are in the list too,
so that they are heard for what they are and mean nothing, rather than for the likest answer.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, Final

from bayvoice.ears.base import RATE, HeardWord, Hearing, Samples
from bayvoice.ears.sphinx_engine import pcm16
from bayvoice.ears.vosk_model import find_model, look_at, try_out
from bayvoice.errors import BayError
from bayvoice.language.grammar import StateGrammar
from bayvoice.language.texts import tell

_UNKNOWN: Final = "[unk]"
_PHRASES: Final = 2000


class Vosk:
    """Vosk with the model in `folder` (see `base.Recogniser`).

    Args:
        folder: the model; by default the user's, see `vosk_model.find_model`.

    Raises:
        BayError: there is no model, it is not whole, takes no lists or does not load.
    """

    name = "vosk"

    def __init__(self, folder: Path | None = None) -> None:
        model = folder or find_model()
        if model is None:
            raise BayError(tell("ears-no-vosk-model"), "", tell("ears-name-folder-in-bayvoice-vosk"))
        look_at(model)
        try_out(model)
        try:
            import vosk

            vosk.SetLogLevel(-1)
            self._model: Any = vosk.Model(str(model))
            self._make = vosk.KaldiRecognizer
        # The package raises the bare Exception class where the library gives no model.
        except Exception as fault:
            raise BayError(
                tell("ears-vosk-cannot-be-loaded-fault", fault=fault), str(model), tell("ears-install-bayvoice-again")
            ) from None
        self._recogniser: Any = None
        self._knows_unknown = self._knows(_UNKNOWN)
        self._open = False
        self._taken = 0  # samples since the recogniser was made: its times count from there
        self._began = 0
        self._parts: list[dict[str, Any]] = []

    def missing(self, words: frozenset[str]) -> frozenset[str]:
        """Those of `words` the model has not."""
        return frozenset(word for word in words if not self._knows(word))

    def use(self, grammar: StateGrammar) -> None:
        """Make `grammar` the active one; phrases with a word the model lacks cannot be heard."""
        if self._open:
            # The library may abort the process when a list changes while it decodes.
            raise RuntimeError("a grammar cannot change in the middle of an utterance")
        own, foreign = grammar.phrases(_PHRASES), grammar.foreign_phrases()
        lacking = self.missing(frozenset(word for phrase in (*own, *foreign) for word in phrase.split()))
        phrases = [phrase for phrase in own if not lacking.intersection(phrase.split())]
        if not phrases:
            raise BayError(tell("ears-vosk-model-knows-no-phrase"), grammar.name, tell("ears-use-model-of-language"))
        # Commands of other states compete: heard, they are no phrase of this one and mean nothing.
        phrases += [phrase for phrase in foreign if not lacking.intersection(phrase.split())]
        texts = json.dumps([*phrases, _UNKNOWN] if self._knows_unknown else phrases, ensure_ascii=False)
        if self._recogniser is None:
            self._recogniser = self._make(self._model, float(RATE), texts)
            self._recogniser.SetWords(True)
        else:
            self._recogniser.SetGrammar(texts)

    def begin(self) -> None:
        """An utterance begins."""
        if self._recogniser is None:
            raise RuntimeError("no grammar is active")
        self._open = True
        self._parts = []
        self._began = self._taken

    def feed(self, block: Samples) -> tuple[str, ...]:
        """Take more of the utterance; the words so far."""
        words: list[str] = []
        if len(block):
            self._taken += len(block)
            # The engine may see an end of its own in a pause; what it heard up to there belongs to the utterance.
            if self._recogniser.AcceptWaveform(pcm16(block)):
                self._parts.append(json.loads(self._recogniser.Result()))
            else:
                words = json.loads(self._recogniser.PartialResult()).get("partial", "").split()
        return tuple(word for part in self._parts for word in part.get("text", "").split()) + tuple(words)

    def guess(self) -> Hearing | None:
        """None: the engine's words so far are no whole phrase yet."""
        return None

    def finish(self) -> Hearing:
        """The utterance has ended."""
        self._parts.append(json.loads(self._recogniser.FinalResult()))
        self._open = False
        offset = self._began / RATE
        timed = tuple(
            HeardWord(word["word"], word["start"] - offset, word["end"] - offset, float(word["conf"]))
            for part in self._parts
            for word in part.get("result", ())
        )
        words = tuple(word.text for word in timed)
        if _UNKNOWN in words:
            return Hearing(
                self.name, tuple(word for word in words if word != _UNKNOWN), why=tell("ears-other-words-were-heard")
            )
        return Hearing(self.name, words, timed=timed)

    def drop(self) -> None:
        """The utterance has ended and is not wanted."""
        self.finish()

    def close(self) -> None:
        """Free the engine."""
        # The recogniser holds a pointer into the model, so it goes first.
        self._recogniser = None
        self._model = None

    def _knows(self, word: str) -> bool:
        return int(self._model.vosk_model_find_word(word)) >= 0
