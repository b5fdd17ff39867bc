"""Recognition bench: every recogniser on the same sounds, with every grammar of a running job active.

Usage: python -m tests.bench.hearing [--each N] [--ears phones,pocketsphinx] [--db clean,10,5,0] [--json FILE]

People come from ``../shared/speech`` beside the checkout and are left out with a line where it is absent. Noise has
fixed seeds and is mixed by the power of the active speech. A figure is the share of utterances whose intent, value and
unit arrive; for foreign talk it is the share that is acted on.
"""

from __future__ import annotations

import argparse
import json
import resource
import sys
import time
from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path
from typing import Any, Final

import numpy as np

from bayvoice.edges.ears.base import Hearing, Recogniser
from bayvoice.edges.ears.choose import choose
from bayvoice.errors import BayError
from bayvoice.speech.grammar import Grammars, StateGrammar
from bayvoice.speech.risk import Verdict, weigh
from tests.bench.material import PEOPLE, Item, people, same, synthesised, voices
from tests.bench.noises import KINDS, RATE, Sound, at_snr, noise

GRAMMARS: Final = Path(__file__).resolve().parents[2] / "grammars" / "en"
FILLS: Final = {
    "thing": ("rag", "drain plug", "cover gasket", "guide pin"),
    "measurement": ("gear backlash", "shaft end float", "cover bolt torque"),
    "person": ("Imre", "Dalia", "Kofi", "Ruth"),
}


def grammar() -> StateGrammar:
    """Everything a running job could hear."""
    texts = {path.name: path.read_text(encoding="utf-8") for path in sorted(GRAMMARS.glob("*.gram"))}
    return Grammars(texts, FILLS).state("any")


def hear(recogniser: Recogniser, sound: Sound) -> Hearing:
    """One utterance."""
    recogniser.begin()
    recogniser.feed(sound)
    return recogniser.finish()


def condition(item: Item, decibels: str, number: int, talk: list[Sound]) -> Sound:
    """The item's sound in one condition; the kind of noise goes round with `number`."""
    if decibels == "clean":
        return item.sound
    rng = np.random.default_rng(number)
    kinds = KINDS if talk else KINDS[:-1]
    return at_snr(item.sound, noise(kinds[number % len(kinds)], len(item.sound), rng, talk), float(decibels))


def run(names: Iterable[str], items: list[Item], levels: list[str]) -> dict[str, Any]:
    """Results: engine -> group -> condition -> counts; and what each engine costs."""
    active = grammar()
    talk = [item.sound for item in items if item.group == "foreign sentences"][:8]
    out: dict[str, Any] = {}
    for name in names:
        try:
            recogniser, notices = choose(name, active.words)
        except BayError as fault:
            out[name] = {"why": str(fault)}
            continue
        recogniser.use(active)
        right: dict[str, dict[str, list[int]]] = defaultdict(lambda: defaultdict(lambda: [0, 0]))
        wrong: list[dict[str, Any]] = []
        spent = length = 0.0
        for number, item in enumerate(items):
            meant = active.match(item.text.split()) if item.text else None
            if item.group.startswith("foreign") and meant is not None:
                continue  # a single word that the active grammar knows, a digit say
            for level in levels:
                sound = condition(item, level, number, talk)
                began = time.process_time()
                hearing = hear(recogniser, sound)
                spent, length = spent + time.process_time() - began, length + len(sound) / RATE
                intent = None if hearing.why else active.match(hearing.words)
                if intent is not None and weigh("any", intent.name, hearing.sure) is not Verdict.ACT:
                    intent = None
                # A foreign word that the active grammar knows (a digit) may be heard as itself.
                good = same(meant, intent)
                counts = right[item.group][level]
                counts[0] += good
                counts[1] += 1
                if not good:
                    wrong.append(
                        {
                            "group": item.group, "level": level, "voice": item.voice, "text": item.text,
                            "heard": " ".join(hearing.words), "why": hearing.why, "margin": hearing.margin,
                        }
                    )  # fmt: skip
        out[name] = {
            "groups": {group: dict(levels_) for group, levels_ in right.items()},
            "seconds_per_second": spent / max(length, 1e-9),
            "peak_memory_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
            "notices": list(notices),
            "wrong": wrong,
        }
        recogniser.close()
    return out


def show(results: dict[str, Any], levels: list[str]) -> None:
    """The table."""
    for engine, result in results.items():
        if "why" in result:
            print(f"\n{engine}: left out, {result['why']}")
            continue
        cost = f"{result['seconds_per_second']:.3f} s a second, peak {result['peak_memory_mb']:.0f} MB"
        print(f"\n{engine}: {cost}\n{'':22}" + "".join(f"{level:>16}" for level in levels))
        for group, found in result["groups"].items():
            foreign = group.startswith("foreign")
            cells = []
            for level in levels:
                good, all_ = found[level]
                part = (all_ - good if foreign else good) / all_
                cells.append(f"{100 * part:6.1f} % of {all_:<4}".rjust(16))
            print(f"{group + (' acted on' if foreign else ''):30}"[:30] + "".join(cells))


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--each", type=int, default=12, help="utterances of a group for each voice")
    parser.add_argument("--people", type=int, default=60, help="recordings of people of each kind")
    parser.add_argument("--ears", default="phones,pocketsphinx,vosk")
    parser.add_argument("--db", default="clean,20,10,5,0", help="levels above the noise, decibels")
    parser.add_argument("--json", type=Path)
    args = parser.parse_args()
    items = list(people(args.people))
    if not items:
        print(f"no recordings of people at {PEOPLE}: people, digits and foreign recordings are left out")
    print("voices:", ", ".join(voices()) or "none")
    items += list(synthesised(args.each))
    levels = args.db.split(",")
    results = run(args.ears.split(","), items, levels)
    show(results, levels)
    if args.json:
        args.json.write_text(json.dumps(results, indent=1), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
