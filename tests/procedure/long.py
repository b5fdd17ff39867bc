"""A long procedure, and changes of one step of it."""

from __future__ import annotations

NAMES = ["backlash", "float", "gap", "travel", "lift", "slack", "runout", "preload", "depth", "height"]


PLACES = ["upper", "lower", "left", "right", "front", "rear", "inner", "outer", "middle", "second", "third", "fourth"]


ROUNDS = 50


def procedure_text(steps: int) -> str:
    """A procedure of about `steps` steps: groups of ten, every other one with its way back."""
    head = [
        'format = 1\ntitle = "Long job"\nmachine = "Varrow K40 tow tractor"\n',
        '[[part]]\nid = "seal"\nname = "output seal"\nnumber = "K40-7-112"\none_use = true\nquantity = 9999\n',
        '[[consumable]]\nid = "sealant"\nname = "flange sealant"\n',
    ]
    made = [group for number in range(steps // 10) for group in _group(number)]
    return "\n".join([*head, *made, *_aside()])


def _group(n: int) -> list[str]:
    number = ["one", "two", "three", "four", "five", "six"][n % 6]
    place, name = PLACES[n % len(PLACES)], NAMES[n // len(PLACES) % len(NAMES)]
    bolt, thing = f"{place} {name} bolt", f"{place} {name} cover {'abcdefgh'[n % 8] * (n // 96 + 1)}"
    steps = [
        f'kind = "do"\nsay = "Look at the {place} side of the case."\ntakes = "1 min"',
        f'kind = "fasten"\nsay = "Loosen the bolts of the cover."\nundo = true\ncount = 8\norder = "star"\n'
        f'name = "{bolt}"\noff = ["{thing}"]\nrefit = ["10 N.m", "24 N.m", "60 deg"]\ntakes = "4 min"',
        'kind = "check"\nsay = "Wipe the face."\nask = "Is it bright and dry?"\nremedy = "wipe"\ntakes = "2 min"',
        f'kind = "measure"\nsay = "Measure."\nname = "{place} {name} {number} '
        f'{PLACES[n // 72 % len(PLACES)]}"\nunit = "mm"\nlow = "0.10"\nhigh = "0.20"\ntakes = "3 min"',
        'kind = "replace"\nsay = "Drive the new seal in flush."\npart = "seal"\ntakes = "2 min"',
        f'kind = "wait"\nwait = "settle"\nname = "{place} oil cooling down"\nsay = "Let it cool."\nat_least = "9 min"\n'
        f'gates = ["s{n}-9"]',
        'kind = "do"\nsay = "Lay one bead of sealant round the face."\nuses = { sealant = "5 ml" }\ntakes = "2 min"',
        'kind = "hold"\nsay = "Call the foreman."\nlook = "the open case"\ntakes = "1 min"',
        'kind = "together"\nsay = "Turn it over with a colleague."\ntakes = "1 min"',
    ]
    tables = [f'[[step]]\nid = "s{n}-{i}"\n{body}\n' for i, body in enumerate(steps, 1)]
    return [*tables, f'[[step]]\nkind = "way_back"\nof = ["s{n}-1", "s{n}-9"]\n']


def _aside() -> list[str]:
    return ['[[step]]\nid = "wipe-again"\nkind = "do"\nsay = "Wipe it again."\naside = "wipe"\n']


def changes(text: str) -> list[str]:
    """Texts that differ from `text` in one step: other words, another limit, another torque, another wait."""
    made = []
    for old, new in (
        ("Look at the", "Look well at the"),
        ('high = "0.20"', 'high = "0.25"'),
        ('"24 N.m"', '"26 N.m"'),
        ('at_least = "9 min"', 'at_least = "12 min"'),
        ("bright and dry?", "bright?"),
    ):
        places = [i for i in range(len(text)) if text.startswith(old, i)]
        some = places[:: max(1, len(places) // (ROUNDS // 5))][: ROUNDS // 5]
        made += [text[:at] + new + text[at + len(old) :] for at in some]
    return made
