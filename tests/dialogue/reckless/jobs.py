"""What the walks are walked on: every procedure that ships, random ones, and the people of three kinds of bay."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from hashlib import scrypt
from random import Random

from bayvoice.host.datafiles import procedure_names, read_grammars, read_procedure
from bayvoice.language.grammar import Grammars
from bayvoice.procedure.fills import fills_of, units_of
from bayvoice.procedure.load import load_text
from bayvoice.procedure.model import Procedure
from bayvoice.record.sqlite.roster import Entry, Roster
from tests.dialogue.reckless.judge import Member

WORKERS = ("Imre", "Dalia")
"""Who works. Ruth, the foreman, Kofi and Vera never do."""
PEOPLE = (*WORKERS, "Ruth", "Kofi", "Vera")
FOREMAN, CODE = "Ruth", "four seven one one"
ROLES = {"Imre": "technician", "Dalia": "technician", "Ruth": "foreman", "Kofi": "technician", "Vera": "inspector"}
CODES = {"Ruth": "4711", "Kofi": "2580", "Imre": "1234"}
WAITING = ("hub", "tank", "hose", "valve", "boom", "mast", "axle", "frame", "oven", "pump")
HEAD = """
format = 1
title = "Any job"
machine = "Hollin 25 lift truck"
[[part]]
id = "ring"
name = "sealing ring"
one_use = true
[[consumable]]
id = "sealant"
name = "flange sealant"
batch = true
shelf_life = true
[[gauge]]
id = "old-gauge"
name = "old gauge"
due = "2020-01-01"
[[gauge]]
id = "any-gauge"
name = "any gauge"
due = "ask"
[[finding]]
say = "sheared stud"
stop = true
[[finding]]
say = "snapped cable"
stop = true
[[finding]]
say = "cracked bracket"
to = "last aside"
"""
DANGER = 'caution = { signal = "DANGER", text = "It will crush you." }\n'
CHECK = 'kind = "check"\nask = "Is it?"\n'
MEASURE = 'kind = "measure"\nname = "gap"\nunit = "mm"\nlow = "0.10"\nhigh = "0.20"\n'


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
    waits = "".join(f'[[step]]\nid = "w{n}"\nsay = "Wait."\n' + _wait("settle", word) for n, word in enumerate(WAITING))
    others = "".join(
        f'[[step]]\nid = "{name}"\nsay = "Do."\n{body}'
        for name, body in (
            ("open", 'kind = "tally"\nopening = "hole"\nthings = ["rag", "pin"]\n'),
            ("gap", MEASURE),
            ("close", 'kind = "tally"\nopening = "hole"\nclose = true\n'),
            ("ring", 'kind = "replace"\npart = "ring"\n'),
            ("hold", 'kind = "hold"\nlook = "it"\n'),
            ("see", 'kind = "hold"\nlook = "it"\nwho = "inspector"\n'),
            ("end", 'kind = "do"\n'),
            ("aside", 'kind = "do"\naside = "last aside"\n'),
        )
    )
    return Grammars(read_grammars(), fills_of(load_text(HEAD + waits + others, "everything.toml"), PEOPLE))


def _wait(kind: str, word: str, rest: str = "") -> str:
    body = f'kind = "wait"\nwait = "{kind}"\nname = "the {word}"\nat_least = "20 min"\n'
    return body + ('at_most = "6 h"\n' if kind == "act" else "") + rest


def procedure_of(rng: Random, passing: bool = True) -> Procedure:
    """A procedure that loads, with more that may kill than any that ships.

    passing: steps say themselves now and then who may pass them.
    """
    count = rng.randint(4, 10)
    names = [f"s{n}" for n in range(count)]
    words = list(WAITING)
    rng.shuffle(words)
    asides: list[str] = []
    bodies: list[str] = []
    opened = False

    def remedy() -> str:
        if rng.random() < 0.6:
            return ""
        asides.append(f"aside {len(asides)}")
        return f'remedy = "{asides[-1]}"\ntries = {rng.randint(1, 2)}\n'

    def body(n: int, kind: str) -> str:
        nonlocal opened
        later = [*names[n + 1 :], "end"]
        if kind == "check":
            return CHECK + f'want = "{rng.choice(("yes", "no"))}"\n' + remedy()
        if kind == "measure":
            gauge = rng.choice(("", "", 'gauge = "old-gauge"\n', 'gauge = "any-gauge"\n'))
            series = rng.choice(("", "", 'times = 2\nspread = "0.05"\n'))
            return MEASURE + gauge + series + remedy()
        if kind in ("settle", "cure", "act") and words:
            gates = ", ".join(f'"{one}"' for one in sorted(set(rng.choices(later, k=rng.choice((1, 1, 2))))))
            rest = f'starts = "{rng.choice(("go", "go", "step"))}"\n'
            rest += f"gates = [{gates}]\n" if rng.random() < 0.8 or kind == "act" else ""
            if kind == "act" and n and rng.random() < 0.6:
                rest += f'recovery = "{names[rng.randrange(n)]}"\n'
            return _wait(kind, words.pop(), rest)
        if kind == "hold":
            until = rng.choice(("", *later))
            who = rng.choice(("foreman", "foreman", "inspector"))
            return f'kind = "hold"\nlook = "place {n}"\nwho = "{who}"\n' + (f'until = "{until}"\n' if until else "")
        if kind == "tally" and not opened:
            opened = True
            return 'kind = "tally"\nopening = "hole"\nthings = ["rag", "pin"]\n'
        if kind == "together":
            return 'kind = "together"\n' + rng.choice(("", 'ask = "Does it sit?"\n'))
        if kind == "fasten":
            each = rng.choice(("", 'each = true\ntolerance = ["5 %"]\n'))
            return 'kind = "fasten"\ncount = 4\norder = "star"\nstages = ["10 N.m", "24 N.m"]\n' + each
        if kind == "replace":
            return 'kind = "replace"\npart = "ring"\n'
        return 'kind = "do"\n' + ('uses = ["sealant"]\n' if kind == "use" else "")

    def step(name: str, text: str, aside: str = "") -> str:
        head = f'[[step]]\nid = "{name}"\nsay = "Step."\n' + (f'aside = "{aside}"\n' if aside else "")
        danger = DANGER if rng.random() < 0.3 and not text.startswith('kind = "tally"') else ""
        own = f'pass = "{rng.choice(("alone", "second", "second", "nobody"))}"\n' if rng.random() < 0.3 else ""
        if "nobody" in own:
            text = text.replace("old-gauge", "any-gauge")  # else no one could ever take the reading
        return head + text + danger + (own if passing else "")

    kinds = (
        "do",
        "check",
        "check",
        "measure",
        "settle",
        "settle",
        "cure",
        "act",
        "hold",
        "replace",
        "tally",
        "together",
        "fasten",
        "use",
    )
    bodies = [step(name, body(n, rng.choice(kinds))) for n, name in enumerate(names)]
    if opened:
        bodies.append(step("closing", 'kind = "tally"\nopening = "hole"\nclose = true\n'))
    bodies.append(step("renew", 'kind = "replace"\npart = "ring"\n'))
    bodies.append(step("end", 'kind = "do"\n'))
    for n, aside in enumerate((*asides, "last aside")):
        first = rng.choice(('kind = "do"\n', CHECK, _wait("settle", words.pop()) if words else 'kind = "do"\n'))
        bodies += [step(f"x{n}", first, aside), step(f"y{n}", 'kind = "do"\n', aside)]
    head = HEAD
    if passing and rng.random() < 0.3:
        head = head.replace('say = "snapped cable"', 'say = "snapped cable"\npass = "nobody"')
    return load_text(head + "\n".join(bodies), "any.toml")


def knows_classes() -> bool:
    """Whether the format has the key that says who may pass a step."""
    try:
        load_text(
            HEAD.replace("one_use = true", "") + '[[step]]\nid = "a"\nsay = "Do."\nkind = "do"\npass = "alone"\n'
            '[[step]]\nid = "b"\nsay = "Do."\nkind = "do"\naside = "last aside"\n',
            "classes.toml",
        )
    except Exception:
        return False
    return True
