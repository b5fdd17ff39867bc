"""Which recogniser listens, and what the user should know about it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Final
from zipfile import BadZipFile

from bayvoice.ears.base import Recogniser
from bayvoice.ears.pronounce import Lexicon
from bayvoice.ears.vosk_model import find_model
from bayvoice.errors import BayError
from bayvoice.host.datafiles import data_folder
from bayvoice.language.texts import tell

if TYPE_CHECKING:
    from bayvoice.ears.person import Adaptation

KINDS: Final = ("auto", "vosk", "phones", "pocketsphinx")
_NAMED: Final = 12  # words named in a notice


def choose(
    kind: str,
    words: Iterable[str],
    language: str = "en",
    lexicon: Lexicon | None = None,
    adapted: Adaptation | None = None,
) -> tuple[Recogniser, tuple[str, ...]]:
    """A recogniser that works, and notices for the user, one sentence each.

    Args:
        kind: one of `KINDS`; "auto" takes the first usable of vosk (only where there is a model), phones and
            pocketsphinx.
        words: all words of the job's grammars; those the recogniser cannot pronounce are named in a notice.
        language: of the additional pronunciations.
        lexicon: pronunciations, where somebody has read them already; by default `lexicon_of` the language.
        adapted: what was learned of the person who speaks; of use to phones only.

    Raises:
        BayError: `kind` is not one of them, the one asked for does not work, or none does.
    """
    if kind not in KINDS:
        raise BayError(tell("ears-no-recogniser-kind", kind=kind), "", tell("ears-use-kinds", kinds=", ".join(KINDS)))
    notices: list[str] = []
    makers = _makers(lexicon or lexicon_of(language), adapted)
    recogniser = makers[kind]() if kind != "auto" else _first(makers, notices)
    lacking = sorted(recogniser.missing(frozenset(words)))
    if lacking:
        fields = {"recogniser": recogniser.name, "named": ", ".join(lacking[:_NAMED])}
        notices.append(
            tell("ears-many-without-pronunciation", **fields, more=len(lacking) - _NAMED)
            if len(lacking) > _NAMED
            else tell("ears-without-pronunciation", **fields)
        )
    return recogniser, tuple(notices)


def _first(makers: dict[str, Callable[[], Recogniser]], notices: list[str]) -> Recogniser:
    for kind, make in makers.items():
        try:
            if kind == "vosk" and find_model() is None:
                continue
            recogniser = make()
        except BayError as fault:
            notices.append(tell("ears-kind-is-not-used-fault", kind=kind, fault=fault))
        else:
            return recogniser
    raise BayError(
        tell("ears-no-recogniser-works", notices=" ".join(notices)), "", tell("ears-install-bayvoice-again-or-work")
    )


def _makers(lexicon: Lexicon, adapted: Adaptation | None) -> dict[str, Callable[[], Recogniser]]:
    # Imported when wanted: each brings a native library with it.
    def vosk() -> Recogniser:
        from bayvoice.ears.vosk_engine import Vosk

        return Vosk()

    def phones() -> Recogniser:
        from bayvoice.ears import phones_acoustics
        from bayvoice.ears.person import PersonalAcoustics, PersonalLexicon, PersonalPhones
        from bayvoice.ears.phones import Phones

        acoustics = phones_acoustics.Acoustics() if adapted is None else PersonalAcoustics(adapted.mixing)
        try:
            # Now rather than with the first word, so that another recogniser can still be taken.
            acoustics.load()
        except (OSError, EOFError, KeyError, ValueError, BadZipFile) as fault:
            raise BayError(
                tell("ears-speech-network-cannot-be-loaded", fault=fault),
                str(phones_acoustics.DATA),
                tell("ears-install-bayvoice-again"),
            ) from None
        if adapted is None:
            return Phones(lexicon, acoustics)
        return PersonalPhones(PersonalLexicon(lexicon, adapted.said), acoustics, adapted.bias)

    def pocketsphinx() -> Recogniser:
        from bayvoice.ears.sphinx_engine import Sphinx

        return Sphinx(lexicon)

    return {"vosk": vosk, "phones": phones, "pocketsphinx": pocketsphinx}


def lexicon_of(language: str) -> Lexicon:
    """The pronunciations of a language, its own additions included. BayError where these cannot be read."""
    path = data_folder("grammars") / language / "pronunciations.toml"
    try:
        return Lexicon(path.read_text(encoding="utf-8"), str(path))
    except FileNotFoundError:
        return Lexicon()
    except (OSError, UnicodeDecodeError) as fault:
        raise BayError(
            tell("ears-pronunciations-cannot-be-read-fault", fault=fault),
            str(path),
            tell("ears-install-bayvoice-again"),
        ) from None
