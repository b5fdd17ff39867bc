"""Words as ARPAbet phones: the CMU dictionary, the language's own additions, and letter-to-sound for the rest.

Phones are the 39 of the CMU pronouncing dictionary without stress, in the order of `PHONES`.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from importlib import resources
from pathlib import Path
from typing import Any, Final

from bayvoice.errors import BayError
from bayvoice.language.phones import INDEX as INDEX
from bayvoice.language.phones import PHONES as PHONES
from bayvoice.language.phones import Pronunciation as Pronunciation
from bayvoice.language.texts import tell

IPA: Final[Mapping[str, str]] = {
    "ɑ": "AA",
    "ɒ": "AA",
    "a": "AA",
    "æ": "AE",
    "ʌ": "AH",
    "ə": "AH",
    "ɐ": "AH",
    "ɔ": "AO",
    "aʊ": "AW",
    "aɪ": "AY",
    "b": "B",
    "t͡ʃ": "CH",
    "d": "D",
    "ð": "DH",
    "ɛ": "EH",
    "e": "EH",
    "ɝ": "ER",
    "ɚ": "ER",
    "ɜ": "ER",
    "eɪ": "EY",
    "f": "F",
    "ɡ": "G",
    "g": "G",
    "h": "HH",
    "ɦ": "HH",
    "ɪ": "IH",
    "ɨ": "IH",
    "i": "IY",
    "d͡ʒ": "JH",
    "k": "K",
    "c": "K",
    "l": "L",
    "ɫ": "L",
    "m": "M",
    "n": "N",
    "ŋ": "NG",
    "oʊ": "OW",
    "o": "OW",
    "ɔɪ": "OY",
    "p": "P",
    "ɹ": "R",
    "r": "R",
    "ɾ": "T",
    "s": "S",
    "ʃ": "SH",
    "t": "T",
    "ʔ": "T",
    "θ": "TH",
    "ʊ": "UH",
    "u": "UW",
    "ʉ": "UW",
    "v": "V",
    "w": "W",
    "j": "Y",
    "ɟ": "Y",
    "ʝ": "Y",
    "z": "Z",
    "ʒ": "ZH",
}
"""IPA symbols of English as the letter-to-sound network writes them, one ARPAbet phone each (IPA chart, 2020)."""

_GROUPS = {"ju": ("Y", "UW"), "eə": ("EH", "R"), "ɪə": ("IH", "R")}
_VOICELESS = frozenset(("CH", "F", "HH", "K", "P", "S", "SH", "T", "TH"))
_SIBILANT = frozenset(("CH", "JH", "S", "SH", "Z", "ZH"))


class Lexicon:
    """Pronunciations of English words, read when first asked for.

    Args:
        additions: TOML text, a table ``[words]`` of word -> list of pronunciations in ARPAbet ("TH AW"); a word
            listed there has these pronunciations only, and ``[also]`` adds to what the dictionary says.
        where: name of that text for error messages.

    Raises:
        BayError: the additions are not TOML or name an unknown phone.
    """

    def __init__(self, additions: str = "", where: str = "pronunciations.toml") -> None:
        try:
            tables: dict[str, Any] = tomllib.loads(additions)
        except tomllib.TOMLDecodeError as error:
            raise BayError(
                tell("ears-not-valid-toml-error", error=error), where, tell("ears-mend-line-names")
            ) from None
        self._only = _table(tables, "words", where)
        self._also = _table(tables, "also", where)
        self._text: bytes | None = None
        self._listed: dict[str, tuple[Pronunciation, ...]] = {}
        self._found: dict[str, tuple[Pronunciation, ...]] = {}
        self._spell: Any = None

    def __call__(self, word: str) -> tuple[Pronunciation, ...]:
        """All pronunciations of `word` (lower case), the dictionary's first; empty where there is none."""
        if word not in self._found:
            self._found[word] = self._look_up(word)
        return self._found[word]

    def prepare(self, words: Iterable[str]) -> None:
        """Look `words` up in one pass over the dictionary, so that many cost as much as one."""
        wanted = {word.encode() for word in words if word not in self._listed}
        if not wanted:
            return
        found: dict[str, list[Pronunciation]] = {word.decode(): [] for word in wanted}
        for line in self._lines():
            head, _, said = line.partition(b" ")
            key = head.partition(b"(")[0]
            if key in wanted:
                found[key.decode()].append(tuple(INDEX[phone] for phone in said.decode().split()))
        self._listed.update({word: tuple(dict.fromkeys(said)) for word, said in found.items()})

    def listed(self, word: str) -> bool:
        """Whether `word` (lower case), its parts or what it is the plural of are in the dictionary or the additions."""
        if word in self._only or word in self._also or self._dictionary(word):
            return True
        if "-" in word or "'" in word:
            return all(len(part) < 2 or self.listed(part) for part in re.split("[-']", word) if part)
        return word.endswith("s") and len(word) > 3 and bool(self._dictionary(word[:-1]))

    def _look_up(self, word: str) -> tuple[Pronunciation, ...]:
        if word in self._only:
            return self._only[word]
        found = self._dictionary(word) + self._also.get(word, ())
        if found:
            return tuple(dict.fromkeys(found))
        if "-" in word or "'" in word:
            parts = [self(part) for part in re.split("[-']", word) if part]
            if parts and all(parts):
                return (tuple(phone for part in parts for phone in part[0]),)
        stem = word[:-1] if word.endswith("s") and len(word) > 3 else ""
        if stem and (said := self._dictionary(stem)):
            return tuple(one + _plural(one[-1]) for one in said)
        return self._letters(word)

    def _dictionary(self, word: str) -> tuple[Pronunciation, ...]:
        self.prepare((word,))
        return self._listed[word]

    def _lines(self) -> list[bytes]:
        if self._text is None:
            self._text = _dictionary_bytes()
        return self._text.split(b"\n")

    def _letters(self, word: str) -> tuple[Pronunciation, ...]:
        """Letter-to-sound by the model of the package hama; empty where a symbol is not an English phone."""
        if not re.fullmatch(r"[a-z]+", word):
            return ()
        if self._spell is None:
            from hama import G2PModel

            self._spell = G2PModel()
        phones: list[str] = []
        for item in self._spell.predict(word).alignments:
            symbol = item.phoneme
            if symbol in _GROUPS:
                phones += _GROUPS[symbol]
            elif symbol in IPA and not (phones and IPA[symbol] == phones[-1]):
                phones.append(IPA[symbol])
        return (tuple(INDEX[phone] for phone in phones),) if phones else ()


def _plural(last: int) -> Pronunciation:
    """The regular English plural ending after phone `last` (common practice, no source)."""
    name = PHONES[last]
    if name in _SIBILANT:
        return (INDEX["IH"], INDEX["Z"])
    return (INDEX["S"] if name in _VOICELESS else INDEX["Z"],)


def _table(tables: Mapping[str, Any], key: str, where: str) -> dict[str, tuple[Pronunciation, ...]]:
    found: dict[str, tuple[Pronunciation, ...]] = {}
    for word, said in tables.get(key, {}).items():
        forms = [said] if isinstance(said, str) else said
        out = []
        for form in forms:
            wrong = [phone for phone in str(form).split() if phone not in INDEX]
            if wrong:
                mend = tell("ears-use-39-phones-of-cmu")
                raise BayError(tell("ears-pronunciation-of-word-names-unknown", word=word, wrong=wrong[0]), where, mend)
            out.append(tuple(INDEX[phone] for phone in str(form).split()))
        found[word.lower()] = tuple(out)
    return found


def _dictionary_bytes() -> bytes:
    """The CMU dictionary as the pocketsphinx wheel carries it, about 3.4 MB; empty where that is not installed."""
    try:
        folder = Path(str(resources.files("pocketsphinx"))) / "model" / "en-us"
        return (folder / "cmudict-en-us.dict").read_bytes()
    except (ModuleNotFoundError, OSError):
        return b""
