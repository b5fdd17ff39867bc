"""What the walks are walked on: every procedure that ships, random ones, and the people of three kinds of bay."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from hashlib import scrypt

from bayvoice.host.datafiles import procedure_names, read_grammars, read_procedure
from bayvoice.language.grammar import Grammars
from bayvoice.procedure.fills import fills_of, units_of
from bayvoice.procedure.model import Procedure
from bayvoice.record.sqlite.roster import Entry, Roster
from tests.anyjob import PEOPLE
from tests.anyjob import grammars as any_grammars
from tests.dialogue.reckless.judge import Member

FOREMAN, CODE = "Ruth", "four seven one one"
ROLES = {"Imre": "technician", "Dalia": "technician", "Ruth": "foreman", "Kofi": "technician", "Vera": "inspector"}
CODES = {"Ruth": "4711", "Kofi": "2580", "Imre": "1234"}


@dataclass(frozen=True)
class Bay:
    """Who is there, as the product knows them and as the judge does."""

    roster: Roster
    members: dict[str, Member]


def _cheap(code: str) -> str:
    """A code's hash of the least cost: thousands are compared."""
    salt = b"\x01" * 16
    return f"scrypt$64$1$1${salt.hex()}${scrypt(code.encode(), salt=salt, n=64, r=1, p=1, dklen=32).hex()}"


@cache
def bay(kind: str) -> Bay:
    """A bay that keeps "codes", "roles" or "nothing" of its people."""
    if kind == "nothing":
        return Bay(Roster(), {})
    entries, members = [], {}
    for name in PEOPLE:
        code = CODES.get(name, "") if kind == "codes" else ""
        entries.append(Entry(name, ROLES[name], "", _cheap(code) if code else ""))
        members[name] = Member(ROLES[name], bool(code))
    return Bay(Roster(tuple(entries)), members)


@cache
def shipped() -> tuple[Procedure, ...]:
    """Every procedure that ships."""
    return tuple(read_procedure(name) for name in procedure_names())


@cache
def grammars_of(procedure_id: str) -> Grammars:
    """What can be said in a job that ships; "" for any random one, since they all bring the same names."""
    if procedure_id:
        procedure = next(one for one in shipped() if one.id == procedure_id)
        return Grammars(read_grammars(), fills_of(procedure, PEOPLE), units=units_of(procedure))
    return any_grammars()
