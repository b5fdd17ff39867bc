"""Every sentence a person reads or hears, by key, in the reader's language.

Sentences stand in Fluent files (Project Fluent's syntax 1.0) in ``grammars/<language>/<room>.ftl``; a key begins with
its room: ``trade-...`` is in ``trade.ftl``. A sentence is made when it is read or said, never stored: facts hold codes.

The language is that of the process: `speak` chooses it, at the latest before the first sentence; English is the default
and fills what another language lacks.

The library `fluent.runtime` makes the sentences. It costs a twentieth of a second to load, so a message that is nothing
but one line of words and plain fields is filled in here; one that chooses (singular or plural, say) is the library's.
"""

from __future__ import annotations

import re
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any, Final

import bayvoice

ENGLISH: Final = "en"
_LANGUAGE: Final = re.compile(r"[a-z]{2,3}(-[A-Za-z0-9]{2,8})*")
_MESSAGE: Final = re.compile(r"^(?=[a-zA-Z][\w-]* *=)", re.MULTILINE)
_KEY: Final = re.compile(r"[a-zA-Z][\w-]*")
_COMMENT: Final = re.compile(r"^#.*\n?", re.MULTILINE)
_PLACE: Final = re.compile(r'\{ *(?:\$([a-zA-Z][\w-]*)|"((?:[^"\\{}]|\\u[0-9A-Fa-f]{4})*|[{}])") *\}')
_SIGN: Final = re.compile(r"\\u([0-9A-Fa-f]{4})")


class Text(str):
    """A sentence as it is read, which still knows the key and the fields it was made from."""

    __slots__ = ("fields", "key")
    key: str
    fields: dict[str, Any]

    def __new__(cls, made: str, key: str, fields: dict[str, Any]) -> Text:
        new = super().__new__(cls, made)
        new.key, new.fields = key, fields
        return new

    def __reduce__(self) -> tuple[Any, ...]:
        return Text, (str(self), self.key, self.fields)


def folder() -> Path:
    """Where the languages lie that ship with the product: in a wheel within the package, in a checkout beside it."""
    package = Path(bayvoice.__file__).parent
    inside = package / "data" / "grammars"
    return inside if inside.is_dir() else package.parent / "grammars"


_spoken: list[tuple[str, Path]] = [(ENGLISH, folder())]
"""The language of the process and the folder its folder lies in."""


def speak(language: str, where: Path | None = None) -> None:
    """Choose the language of the process: one that ships, or one of the folder `where`.

    Raises:
        LookupError: there is no such language.
    """
    root = where or folder()
    if not _LANGUAGE.fullmatch(language) or not (root / language).is_dir():
        raise LookupError(language)
    _spoken[0] = language, root


def language() -> str:
    """The language of the process."""
    return _spoken[0][0]


def tell(key: str, /, **fields: Any) -> Text:
    """The sentence `key` with its fields filled in. Whole numbers choose between singular and plural.

    Raises:
        KeyError: no language has the key, or a field of it is missing.
    """
    catalogue = _having(key)
    if catalogue is None:
        raise KeyError(f"no sentence {key!r}; add it to grammars/en/{_room(key)}.ftl")
    return Text(catalogue.make(key, fields), key, fields)


def known(key: str) -> bool:
    """True where there is a sentence `key`."""
    return _having(key) is not None


def keys(room: str) -> tuple[str, ...]:
    """Keys of the sentences of `room`, in the order of its file; those of English, which has all."""
    return tuple(_catalogue(ENGLISH, folder(), room).sources)


def fields(key: str) -> frozenset[str]:
    """Names of the fields of the sentence `key`. KeyError: there is none."""
    catalogue = _having(key)
    if catalogue is None:
        raise KeyError(key)
    return frozenset(re.findall(r"\$([a-zA-Z][\w-]*)", catalogue.sources[key]))


def _room(key: str) -> str:
    return key.partition("-")[0]


def _having(key: str) -> _Catalogue | None:
    for lang, root in (_spoken[0], (ENGLISH, folder())):
        catalogue = _catalogue(lang, root, _room(key))
        if key in catalogue.sources:
            return catalogue
    return None


@cache
def _catalogue(lang: str, root: Path, room: str) -> _Catalogue:
    try:
        text = (root / lang / f"{room}.ftl").read_text(encoding="utf-8")
    except FileNotFoundError:
        text = ""
    return _Catalogue(lang, text)


class _Catalogue:
    """One room's sentences. A sentence is parsed when it is first wanted: a start parses the few it says."""

    def __init__(self, lang: str, text: str) -> None:
        self.lang = lang
        self.sources = {found[0]: one for one in _MESSAGE.split(_COMMENT.sub("", text)) if (found := _KEY.match(one))}
        self._plain: dict[str, list[str] | None] = {}
        self._bundle: Any = None

    def make(self, key: str, fields: dict[str, Any]) -> str:
        """The sentence `key`, which is here."""
        if key not in self._plain:
            self._plain[key] = plain_pieces(self.sources[key])
        pieces = self._plain[key]
        if pieces is None:
            return self.by_library(key, fields)
        try:
            return "".join([_shown(fields[one]) if at % 2 else one for at, one in enumerate(pieces)])
        except KeyError as gap:
            raise KeyError(f"sentence {key!r} lacks its field {gap}") from None

    def by_library(self, key: str, fields: dict[str, Any]) -> str:
        """The same, made by the library."""
        from fluent.runtime import FluentBundle, FluentResource
        from fluent.runtime.types import fluent_number

        if self._bundle is None:
            self._bundle = FluentBundle([self.lang, ENGLISH], use_isolating=False)
        if not self._bundle.has_message(key):
            self._bundle.add_resource(FluentResource(self.sources[key]))
        given = {
            name: fluent_number(value, useGrouping=False)
            if isinstance(value, int) and not isinstance(value, bool)
            else _shown(value)
            for name, value in fields.items()
        }
        made, wrong = self._bundle.format_pattern(self._bundle.get_message(key).value, given)
        if wrong:
            raise KeyError(f"sentence {key!r}: {wrong[0]}")
        return str(made)


def plain_pieces(source: str) -> list[str] | None:
    """Words, field, words, field, … words of a message of one line without a choice; None for any other."""
    body = source.partition("=")[2].strip()
    found = _PLACE.split(body)
    # words, name or None, literal or None, words, …
    pieces = [found[0]]
    for name, literal, words in zip(found[1::3], found[2::3], found[3::3], strict=True):
        if name is not None:
            pieces += [name, words]
        else:
            pieces[-1] += _SIGN.sub(lambda sign: chr(int(sign[1], 16)), literal) + words
    plain = _PLACE.sub("", body)
    return None if set("{}\n") & set(plain) else pieces


def _shown(value: Any) -> str:
    return f"{value:f}" if isinstance(value, Decimal) else str(value)
