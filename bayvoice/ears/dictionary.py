"""What the recogniser's dictionary knows of the words of a procedure, for vetting."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import chain

from bayvoice.ears.pronounce import PHONES, Lexicon, Pronunciation
from bayvoice.host.datafiles import read_language_file
from bayvoice.language.distance import MEASURED
from bayvoice.procedure.sounds import Sounds

MOST_WORKED_OUT = 300
"""Words in no dictionary whose pronunciation is worked out; each takes some milliseconds."""


def sounds(language: str = "en") -> Sounds:
    """What the recogniser's dictionary of `language` knows of words; it is read when first asked."""
    lexicon = Lexicon(read_language_file(language, "pronunciations.toml"))
    worked_out: set[str] = set()

    def said(words: Iterable[str]) -> dict[str, str]:
        words = list(words)
        lexicon.prepare(chain(words, (word[:-1] for word in words if word.endswith("s"))))
        unlisted = [word for word in words if not lexicon.listed(word)]
        worked_out.update(unlisted[: MOST_WORKED_OUT - len(worked_out)])
        found = {word: _written(lexicon(word)) if word in worked_out else "not worked out" for word in unlisted}
        return {word: found.get(word, "") for word in words}

    return Sounds(said, lexicon, MEASURED)


def _written(said: tuple[Pronunciation, ...]) -> str:
    return " ".join(PHONES[phone] for phone in said[0]) if said else "nobody knows how"
