"""How long vetting takes: a procedure of 2,000 steps, and a change to one step of it.

    python -m tests.bench.vetting [--steps N] [--json FILE]

The procedure uses every kind of step, ways back, remedies, waits and times. What is measured: reading and vetting the
whole text (with the ears' dictionary), formatting what is printed, and vetting again after one step was changed (the
median and the worst of 50 changes of different kinds). Times are processor time, so that a busy machine does not count.
"""

from __future__ import annotations

import argparse
import json
import statistics
import sys
import time
from pathlib import Path

from bayvoice.ears.dictionary import sounds
from bayvoice.procedure.load.revet import Vetter

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
        ("Look at the", "Look well at the"), ('high = "0.20"', 'high = "0.25"'), ('"24 N.m"', '"26 N.m"'),
        ('at_least = "9 min"', 'at_least = "12 min"'), ("bright and dry?", "bright?"),
    ):  # fmt: skip
        places = [i for i in range(len(text)) if text.startswith(old, i)]
        some = places[:: max(1, len(places) // (ROUNDS // 5))][: ROUNDS // 5]
        made += [text[:at] + new + text[at + len(old) :] for at in some]
    return made


def measure(steps: int) -> dict[str, float]:
    """Seconds (whole, printed) and milliseconds (changes)."""
    text = procedure_text(steps)
    began = time.process_time()
    ears = sounds()
    ready = time.process_time()
    vetter = Vetter("long.toml", ears)
    vetting = vetter.vet(text)
    whole = time.process_time()
    printed = len("\n".join(vetting.lines())) + len(json.dumps(vetting.as_dict()))
    done = time.process_time()
    took = []
    for changed in changes(text):
        start = time.process_time()
        vetter.vet(changed).timeline  # noqa: B018 - worked out when asked for
        took.append(1000 * (time.process_time() - start))
        vetter.vet(text)
    return {
        "steps": len(vetting.procedure.steps), "characters": len(text), "ears_s": ready - began,
        "whole_s": whole - ready, "printed_s": done - whole, "printed_characters": printed,
        "change_median_ms": statistics.median(took), "change_worst_ms": max(took), "changes": len(took),
        "warnings": len(vetting.warnings),
    }  # fmt: skip


def main() -> int:
    """Command line."""
    parser = argparse.ArgumentParser(description="How long vetting takes.")
    parser.add_argument("--steps", type=int, default=2000)
    parser.add_argument("--json", type=Path, metavar="FILE")
    args = parser.parse_args()
    found = measure(args.steps)
    for name, value in found.items():
        print(f"{name:20} {value:10.3f}" if isinstance(value, float) else f"{name:20} {value:10d}")
    if args.json:
        args.json.write_text(json.dumps(found, indent=2), encoding="utf-8")
    whole = found["whole_s"] + found["printed_s"]
    print(f"goals: whole under 2 s ({whole:.2f}), a change under 10 ms ({found['change_median_ms']:.1f} in the median)")
    return 0


if __name__ == "__main__":
    sys.exit(main())
