"""What one person's way of speaking changes in the recogniser `phones`, and where that is kept.

An adaptation is three small things: a matrix that lets a phone also be heard where this person's shows up as another
one, pronunciations of this person's own, and a shift of the odds. It fits one set of learned acoustic data only and is
passed over with any other.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any, Final

import numpy as np
import platformdirs
from numpy.typing import NDArray

from bayvoice.ears.base import Hearing, Samples
from bayvoice.ears.phones import Phones
from bayvoice.ears.phones_acoustics import DATA, Acoustics
from bayvoice.ears.pronounce import INDEX, PHONES, Lexicon, Pronunciation
from bayvoice.errors import BayError
from bayvoice.language.risk import LEAST
from bayvoice.language.texts import tell

Floats = NDArray[np.float32]

FORMAT: Final = 1
"""Version of the files."""
LEAST_BIAS: Final = -0.5
MOST_BIAS: Final = 0.0
"""Bounds of the shift, nats. It holds for whatever the microphone hears, the radio too, so it never makes the ears more
willing: on synthesised people, shifts that did so cost more mistakes than they brought understanding."""
_LONGEST_NAME: Final = 60
_LONGEST_FILE: Final = 1 << 18
_DIGITS: Final = 4
_UNSURE: Final = "ears-not-clear-enough-to-act"


@dataclass(frozen=True, slots=True, eq=False)
class Adaptation:
    """One person's.

    Attributes:
        name: who, as given.
        mixing: (39, 39) rows of shares that sum to one; row k says of which phones' chances the chance of k is made.
        said: word -> this person's own pronunciations of it, beside those it has.
        bias: nats added to the log-odds of all that is heard, within `LEAST_BIAS`..`MOST_BIAS`.
        fingerprint: of the acoustic data it was learned on; see `fingerprint`.
        told: what was found on the takes kept back, for people to read.
    """

    name: str
    mixing: Floats
    said: Mapping[str, tuple[Pronunciation, ...]]
    bias: float
    fingerprint: str
    told: str = ""


def corrected(emissions: Floats, mixing: Floats) -> Floats:
    """(T, 39) log scores of phones as this person says them.

    Args:
        emissions: (T, 39) log scores; mixing: as in `Adaptation`.
    """
    return np.asarray(np.log(np.exp(emissions) @ mixing.T), dtype=np.float32)


class PersonalLexicon(Lexicon):
    """Pronunciations with one person's own beside them.

    Args:
        common: everybody's; said: as in `Adaptation`.
    """

    def __init__(self, common: Lexicon, said: Mapping[str, tuple[Pronunciation, ...]]) -> None:
        super().__init__()
        self._common, self._said = common, said

    def __call__(self, word: str) -> tuple[Pronunciation, ...]:
        """As `Lexicon`: everybody's first."""
        return tuple(dict.fromkeys((*self._common(word), *self._said.get(word, ()))))

    def prepare(self, words: Iterable[str]) -> None:
        """As `Lexicon.prepare`."""
        self._common.prepare(words)


class PersonalAcoustics(Acoustics):
    """Phone scores as one person's speech gives them.

    Args:
        mixing: as in `Adaptation`; may be set to another one between utterances. None changes nothing.
    """

    def __init__(self, mixing: Floats | None = None) -> None:
        super().__init__()
        self.mixing = mixing

    def plain(self, samples: Samples) -> tuple[Floats, Floats]:
        """The scores as they are for everybody; see `Acoustics.scores`."""
        return super().scores(samples)

    def scores(self, samples: Samples) -> tuple[Floats, Floats]:
        """As `Acoustics.scores`."""
        emissions, blank = self.plain(samples)
        return (emissions if self.mixing is None else corrected(emissions, self.mixing)), blank


class PersonalPhones(Phones):
    """The recogniser `phones` adapted to one person.

    Args:
        lexicon: pronunciations; acoustics: phone scores with the person's correction.
        bias: as in `Adaptation`.
    """

    def __init__(self, lexicon: Lexicon, acoustics: Acoustics, bias: float) -> None:
        super().__init__(lexicon, acoustics)
        self._bias = bias

    def guess(self) -> Hearing | None:
        """As `Phones.guess`."""
        found = super().guess()
        return None if found is None else shifted(found, self._bias)

    def finish(self) -> Hearing:
        """As `Phones.finish`."""
        return shifted(super().finish(), self._bias)


def shifted(hearing: Hearing, bias: float) -> Hearing:
    """`hearing` with its odds shifted by `bias` nats; a refusal for want of certainty is decided anew."""
    if hearing.sure is None or not bias:
        return hearing
    sure = hearing.sure + bias
    return replace(hearing, sure=sure, why="" if sure >= LEAST else hearing.why or tell(_UNSURE))


@cache
def fingerprint() -> str:
    """SHA-256 of what an adaptation depends on: the learned data."""
    return hashlib.sha256(DATA.read_bytes()).hexdigest()


def people_folder() -> Path:
    """Where adaptations are kept."""
    return platformdirs.user_data_path("bayvoice") / "people"


def tidy_name(name: str) -> str:
    """`name` with single spaces. BayError where it is not the name of a person."""
    found = unicodedata.normalize("NFC", " ".join(name.split()))
    if not any(letter.isalpha() for letter in found) or not found.isprintable():
        raise BayError(tell("ears-no-persons-name"), repr(name), tell("ears-give-name-with-letters-such"))
    if len(found) > _LONGEST_NAME:
        raise BayError(
            tell("ears-name-has-count-characters", count=len(found)),
            found[:20] + "…",
            tell("ears-give-one-of-at-most", longest_name=_LONGEST_NAME),
        )
    return found


def path_of(name: str) -> Path:
    """The file of a person; small and capital letters are the same."""
    folded = tidy_name(name).casefold()
    readable = re.sub(r"[^a-z0-9]+", "-", folded)[:30].strip("-") or "person"
    return people_folder() / f"{readable}-{hashlib.sha256(folded.encode()).hexdigest()[:8]}.json"


def store(adaptation: Adaptation) -> Path:
    """Write it, replacing an earlier one, whole or not at all. BayError where that is not possible."""
    path = path_of(adaptation.name)
    body = {
        "format": FORMAT,
        "name": adaptation.name,
        "fingerprint": adaptation.fingerprint,
        "bias": round(adaptation.bias, _DIGITS),
        "phones": list(PHONES),
        "said": {
            word: [" ".join(PHONES[phone] for phone in one) for one in own] for word, own in adaptation.said.items()
        },
        "mixing": {
            PHONES[row]: {PHONES[at]: round(float(shares[at]), _DIGITS) for at in np.flatnonzero(shares > 0)}
            for row, shares in enumerate(adaptation.mixing)
            if shares[row] < 1.0
        },
        "told": adaptation.told,
    }
    fresh = path.with_suffix(".new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with fresh.open("w", encoding="utf-8") as file:
            json.dump(body, file, ensure_ascii=False, indent=1)
            file.flush()
            os.fsync(file.fileno())
        fresh.replace(path)
    except OSError as fault:
        raise BayError(
            tell("ears-what-was-learned-cannot-be-kept", strerror=fault.strerror),
            str(path),
            tell("ears-make-room-or-give-yourself"),
        ) from None
    return path


def forget(name: str) -> bool:
    """Remove what is kept of a person; whether there was anything. BayError where it cannot be removed."""
    path = path_of(name)
    try:
        path.unlink()
    except FileNotFoundError:
        return False
    except OSError as fault:
        raise BayError(
            tell("ears-file-cannot-be-removed-strerror", strerror=fault.strerror),
            str(path),
            tell("ears-remove-yourself"),
        ) from None
    return True


def adaptation_of(name: str) -> tuple[Adaptation | None, tuple[str, ...]]:
    """What is kept of a person, and a sentence for the user where it is there and cannot be used. Never raises."""
    try:
        path = path_of(name)
        raw = path.read_bytes()
    except (BayError, FileNotFoundError):
        return None, ()
    except OSError as fault:
        return None, (tell("ears-what-was-learned-of-name", name=name, strerror=fault.strerror),)
    found = _read(raw)
    if found is None:
        return None, (tell("ears-what-was-learned-of-name-is-damaged", name=name),)
    if found.fingerprint != fingerprint():
        return None, (tell("ears-what-was-learned-of-name-is-another", name=name),)
    return found, ()


def _read(raw: bytes) -> Adaptation | None:
    """An adaptation from its file, None where anything in it is not as `store` writes it."""
    if len(raw) > _LONGEST_FILE:
        return None
    try:
        body: dict[str, Any] = json.loads(raw)
        if body["format"] != FORMAT or tuple(body["phones"]) != PHONES:
            return None
        mixing = np.eye(len(PHONES), dtype=np.float32)
        for phone, shares in body["mixing"].items():
            row = PHONES.index(phone)
            mixing[row] = 0.0
            for other, share in shares.items():
                mixing[row, PHONES.index(other)] = float(share)
        own = {
            str(word): tuple(tuple(INDEX[phone] for phone in str(one).split()) for one in several)
            for word, several in body["said"].items()
        }
        bias = float(body["bias"])
        named, print_, told = str(body["name"]), str(body["fingerprint"]), str(body["told"])
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None
    sums = mixing.sum(axis=1)
    sound = bool(np.isfinite(mixing).all() and (mixing >= 0).all() and (np.abs(sums - 1.0) < 0.01).all())
    if not all(one for several in own.values() for one in several):
        return None
    if not sound or not LEAST_BIAS <= bias <= MOST_BIAS:
        return None
    return Adaptation(named, mixing, own, bias, print_, told)
