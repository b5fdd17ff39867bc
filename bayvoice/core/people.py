"""The people of a bay, as far as the core knows them: names, roles, and whether somebody keeps a code. No codes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Person:
    """Someone who may work or sign. `coded`: signs with a code, which the core never sees."""

    name: str
    role: str = ""
    badge: str = ""
    coded: bool = False


def find(roll: Iterable[Person], said: str) -> tuple[Person, ...]:
    """Who is meant by a name, else everyone who has it as a role; capitals do not count."""
    people = tuple(roll)
    named = tuple(p for p in people if p.name.lower() == said.lower())
    return named or tuple(p for p in people if p.role and p.role.lower() == said.lower())


def written(names: Iterable[str], said: str) -> str:
    """`said` with the capitals the people of the bay are written with."""
    return next((name for name in names if name.lower() == said.lower()), said)
