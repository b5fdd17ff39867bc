"""Random procedures: every kind of step, with asides, remedies, deferred holds, nested counts, gauges and danger.

All of them bring the same names, so that one grammar (`grammars`) knows what can be said in any of them.
"""

from __future__ import annotations

from functools import cache
from random import Random

from bayvoice.host.datafiles import read_grammars
from bayvoice.language.grammar import Grammars
from bayvoice.procedure.fills import fills_of
from bayvoice.procedure.load import load_text
from bayvoice.procedure.model import Procedure

WORKERS = ("Imre", "Dalia")
"""Who works. Ruth, the foreman, Kofi and Vera never do."""
PEOPLE = (*WORKERS, "Ruth", "Kofi", "Vera")
WAITING = ("hub", "tank", "hose", "valve", "boom", "mast", "axle", "frame", "oven", "pump")
HEAD = """
format = 1
title = "Any job"
machine = "Hollin 25 lift truck"
[[part]]
id = "ring"
name = "sealing ring"
one_use = true
[[part]]
id = "clip"
name = "retaining clip"
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


@cache
def grammars() -> Grammars:
    """What can be said in any of these jobs."""
    waits = "".join(f'[[step]]\nid = "w{n}"\nsay = "Wait."\n' + _wait("settle", word) for n, word in enumerate(WAITING))
    others = "".join(
        f'[[step]]\nid = "{name}"\nsay = "Do."\n{body}'
        for name, body in (
            ("open", 'kind = "tally"\nopening = "hole"\nthings = ["rag", "pin"]\n'),
            ("gap", MEASURE),
            ("close", 'kind = "tally"\nopening = "hole"\nclose = true\n'),
            ("ring", 'kind = "replace"\npart = "ring"\n'),
            ("clip", 'kind = "replace"\npart = "clip"\n'),
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
    """A procedure that vetting lets through, with more that may kill than any that ships.

    passing: steps say themselves now and then who may pass them.
    """
    count = rng.randint(4, 10)
    names = [f"s{n}" for n in range(count)]
    words = list(WAITING)
    rng.shuffle(words)
    asides: list[str] = []
    bodies: list[str] = []
    opened: list[str] = []
    renewed: set[str] = set()

    def remedy() -> str:
        if rng.random() < 0.6:
            return ""
        asides.append(f"aside {len(asides)}")
        return f'remedy = "{asides[-1]}"\ntries = {rng.randint(1, 2)}\n'

    def body(n: int, kind: str) -> str:
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
        if kind == "tally" and (not opened or rng.random() < 0.5):
            opened.append(f"hole {n}")
            return f'kind = "tally"\nopening = "{opened[-1]}"\nthings = ["rag", "pin"]\n'
        if kind == "tally":
            return f'kind = "tally"\nopening = "{opened.pop()}"\nclose = true\n'
        if kind == "together":
            return 'kind = "together"\n' + rng.choice(("", "beats = 2\n", 'ask = "Does it sit?"\n'))
        if kind == "fasten":
            each = rng.choice(("", 'each = true\ntolerance = ["5 %"]\n'))
            return 'kind = "fasten"\ncount = 4\norder = "star"\nstages = ["10 N.m", "24 N.m"]\n' + each
        if kind == "replace":
            part = rng.choice(("ring", "clip"))
            renewed.add(part)
            return f'kind = "replace"\npart = "{part}"\n'
        return 'kind = "do"\n' + ('uses = ["sealant"]\n' if kind == "use" else "")

    def step(name: str, text: str, aside: str = "") -> str:
        head = f'[[step]]\nid = "{name}"\nsay = "Step."\n' + (f'aside = "{aside}"\n' if aside else "")
        danger = DANGER if rng.random() < 0.3 and not text.startswith('kind = "tally"') else ""
        own = f'pass = "{rng.choice(("alone", "second", "second", "nobody"))}"\n' if rng.random() < 0.3 else ""
        if "nobody" in own:
            text = text.replace("old-gauge", "any-gauge")  # else no one could ever take the reading
        return head + text + danger + (own if passing else "")

    kinds = ["do", "check", "check", "measure", "settle", "settle", "cure", "act", "hold", "replace"]
    kinds += ["tally", "tally", "together", "fasten", "use"]
    bodies = [step(name, body(n, rng.choice(kinds))) for n, name in enumerate(names)]
    for n, opening in enumerate(reversed(opened)):
        bodies.append(step(f"closing{n}", f'kind = "tally"\nopening = "{opening}"\nclose = true\n'))
    if "ring" not in renewed:
        # Fitted before it is renewed: the gate must turn it round.
        bodies.insert(0, '[[step]]\nid = "pull"\nsay = "Pull."\nkind = "do"\noff = ["sealing ring"]\n')
        bodies.append('[[step]]\nid = "fit"\nsay = "Fit."\nkind = "do"\nputs_back = ["sealing ring"]\n')
    for part in ("ring", "clip"):
        if part not in renewed:
            bodies.append(step(f"renew-{part}", f'kind = "replace"\npart = "{part}"\n'))
    bodies.append(step("end", 'kind = "do"\n'))
    for n, aside in enumerate((*asides, "last aside")):
        deeper = f'remedy = "aside {n + 1}"\n' if n + 1 < len(asides) and rng.random() < 0.5 else ""
        wait = _wait("settle", words.pop()) if words else 'kind = "do"\n'
        first = rng.choice(('kind = "do"\n', CHECK + deeper, wait, 'kind = "replace"\npart = "ring"\n'))
        bodies += [step(f"x{n}", first, aside), step(f"y{n}", 'kind = "do"\n', aside)]
    head = HEAD
    if passing and rng.random() < 0.3:
        head = head.replace('say = "snapped cable"', 'say = "snapped cable"\npass = "nobody"')
    return load_text(head + "\n".join(bodies), "any.toml")
