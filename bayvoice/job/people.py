"""The people of a bay, as far as the core knows them, and the one check of who somebody is. No codes.

Two spellings are the same name where they look the same: Unicode Technical Standard #39 (Unicode Security Mechanisms),
section 4, skeletons, from the table of the package ``confusable-homoglyphs``; then without case, accents, titles,
punctuation and blanks, and with i, l and 1 as one letter. Two names are too like each other where one letter more,
less, other or exchanged makes the same of them (from four letters on), or where one is a part of the other: a person
who is known in this bay is told apart from another only by what nobody takes for a slip.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from confusable_homoglyphs.confusables import confusables_data

UNKNOWN, WRONG_ROLE, WORKED, SEVERAL = "sign_unknown", "sign_role", "sign_yourself", "sign_several"
LIKE: Final = "sign_like"
"""Why somebody may not sign: keys of the wording."""

TITLES: Final = frozenset(("mr", "mrs", "ms", "miss", "dr", "prof", "professor", "sir", "madam", "herr", "frau", "ing"))
"""Words before a name that do not tell people apart."""

NO_NAMES: Final = frozenset(
    (
        *("nobody", "noone", "none", "no", "nil", "null", "na", "nn", "tbd", "unknown", "anonymous", "test", "me"),
        *("somebody", "someone", "somebodyelse", "anybody", "anyone", "everybody", "everyone", "myself", "person"),
        *("user", "admin", "root", "operator", "technician", "mechanic", "foreman", "supervisor", "manager"),
        *("inspector", "colleague", "helper", "worker", "apprentice", "boss", "chief", "guest"),
    )
)
"""What names nobody: said instead of a name, or a role alone."""

LONG_ENOUGH: Final = 4
"""Letters from which on one of them may be a slip."""


@dataclass(frozen=True, slots=True)
class Person:
    """Someone who may work or sign. `coded`: signs with a code, which the core never sees."""

    name: str
    role: str = ""
    badge: str = ""
    coded: bool = False


@lru_cache(maxsize=4096)
def _prototype(sign: str) -> str:
    """What UTS #39 has `sign` look like: the table links each sign to its prototype, and a prototype to all of its."""
    found = [unicodedata.normalize("NFC", _seen(one["c"])) for one in confusables_data.get(sign, ())]
    if len(found) != 1:
        return sign
    # Two signs that only look like each other: which of them is the prototype makes no difference.
    return found[0] if len(confusables_data.get(found[0], ())) > 1 else min(sign, found[0])


def _seen(text: str) -> str:
    """`text` without what is not seen: accents, marks that only join or turn the direction of writing."""
    return "".join(sign for sign in text if unicodedata.category(sign) not in ("Mn", "Cf", "Cc"))


@lru_cache(maxsize=4096)
def _words(name: str, whole: bool) -> tuple[str, ...]:
    """The words of `name` as they look, i as l; `whole`: signs that look like two others are written as those."""
    text = name
    # As it stands, and once more in small letters: capitals have look-alikes of their own.
    for _ in range(2):
        shown = _seen(unicodedata.normalize("NFKD", text))
        looks = ((sign, _prototype(sign)) for sign in shown)
        text = "".join(new if whole or len(new) == 1 else sign for sign, new in looks).casefold()
    found = "".join(sign if sign.isalnum() else " " if sign.isspace() or sign == "." else "" for sign in text)
    return tuple(found.replace("i", "l").split())


@lru_cache(maxsize=256)
def _folded(words: frozenset[str], whole: bool) -> frozenset[str]:
    return frozenset("".join(_words(word, whole)) for word in words)


def _named(name: str, whole: bool) -> tuple[str, ...]:
    """The words of `name` without titles; none where it is only a title."""
    words, titles = _words(name, whole), _folded(TITLES, whole)
    while words and words[0] in titles:
        words = words[1:]
    return words


def same(one: str, other: str) -> bool:
    """Whether two spellings are one name."""
    key = "".join(_named(one, True))
    return bool(key) and key == "".join(_named(other, True))


def like(one: str, other: str) -> bool:
    """Whether two names are one, or so close that they may be meant for one."""
    if same(one, other):
        return True
    words, others = _named(one, False), _named(other, False)
    if not words or not others:
        return False
    if set(words) < set(others) or set(others) < set(words):
        return True
    return _slip("".join(words), "".join(others))


def _slip(one: str, other: str) -> bool:
    """Whether one letter more, less or other, or two exchanged, makes `other` of `one`; at least one is long enough."""
    short, long = sorted((one, other), key=len)
    if len(long) < LONG_ENOUGH or len(long) - len(short) > 1:
        return False
    at = next((n for n, (a, b) in enumerate(zip(short, long, strict=False)) if a != b), len(short))
    if len(short) < len(long):
        return short[at:] == long[at + 1 :]
    exchanged = short[at : at + 2] == long[at : at + 2][::-1] and short[at + 2 :] == long[at + 2 :]
    return exchanged or short[at + 1 :] == long[at + 1 :]


def names_nobody(said: str, roles: Iterable[str] = ()) -> bool:
    """Whether `said` stands where a name should: nothing, one letter, "nobody", or a role alone, also of `roles`."""
    words = _named(said, False)
    if words and words[0] in _folded(frozenset(("a", "an", "the")), False):
        words = words[1:]
    key = "".join(words)
    return len(key) < 2 or key in _folded(NO_NAMES, False) or any(same(key, role) for role in roles if role)


def find(roll: Iterable[Person], said: str) -> tuple[Person, ...]:
    """Who is meant by a name, else everyone who has it as a role."""
    people = tuple(roll)
    named = tuple(p for p in people if same(p.name, said))
    return named or tuple(p for p in people if p.role and same(p.role, said))


def written(names: Iterable[str], said: str) -> str:
    """`said` as it is written where the same name stands in `names`."""
    return next((name for name in names if same(name, said)), said)


def signer(
    roll: Iterable[Person], names: Iterable[str], hands: Iterable[str], said: str, role: str
) -> tuple[Person | None, str]:
    """Who is meant by `said`, or why that person may not: the one check wherever somebody answers for something.

    Args:
        roll: who is kept in this bay; where anybody is, nobody else counts.
        names: others whose names are known, as they are written.
        hands: who has worked on the job and so cannot answer for it.
        said: the name, or a role that one person of the roll has.
        role: the role that is asked for, "" for any.

    Returns:
        The person and "", or None and a key of the wording. Whether a code is to be asked for is in the person.
    """
    people, worked = tuple(roll), tuple(hands)
    meant = find(people, said)
    if len(meant) > 1:
        return None, SEVERAL
    if meant:
        person = meant[0]
        others = tuple(one.name for one in people if one is not person)
        # Two who are both kept here are two, however close their names are.
        if any(same(hand, person.name) for hand in worked):
            return None, WORKED
        if any(like(hand, person.name) and not any(same(hand, name) for name in others) for hand in worked):
            return None, LIKE
        return (None, WRONG_ROLE) if role and not same(person.role, role) else (person, "")
    if any(same(hand, said) for hand in worked):
        return None, WORKED
    if people:
        close = not names_nobody(said) and any(like(one.name, said) for one in people)
        return None, LIKE if close else UNKNOWN
    # In a bay that keeps nobody a role is all that can be said of whoever looks.
    if names_nobody(said) and not (role and same(said, role)):
        return None, UNKNOWN
    if any(like(hand, said) for hand in worked):
        return None, LIKE
    return Person(written(names, said)), ""


def settled(roll: Iterable[Person], hands: Iterable[str], said: str) -> tuple[str, str]:
    """The name of somebody who begins to work, as it is written already, and whom it is too like, "" for nobody.

    With the second given the first is not to be used: whether the two are one person has to be asked.
    """
    known = (*(one.name for one in roll), *hands)
    name = written(known, said)
    if name in known:
        return name, ""
    return name, next((one for one in known if like(one, said)), "")
