"""Recognition bench: every recogniser on the same sounds, with every grammar of a running job active.

Usage: python -m tests.bench.hearing [--quick] [--half judging|tuning] [--people N] [--each N] [--db clean,20,10,5,0]
       [--all-noises] [--ears phones,pocketsphinx,vosk] [--peers-every N] [--no-latency] [--json FILE]

People come from ``../shared/speech`` beside the checkout and are left out with a line where it is absent. The judging
half are speakers and synthesised voices nothing was learned or tuned on. Noise has fixed seeds and is mixed by the
power of the active speech; each utterance meets one kind of noise at each level, in turn (`--all-noises`: every kind).
Engines other than phones hear every N-th utterance, and phones is counted on the same ones beside them. Each engine
runs in a process of its own, so that its memory is its own.

A figure is the share of utterances whose intent, value and unit arrive, with Wilson's 95 % interval; for foreign talk
it is the share that is acted on. A single foreign word that the active grammar knows, a digit say, is left out.
"""

from __future__ import annotations

import argparse
import itertools
import json
import multiprocessing
import os
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

# As the command line does it: before numpy is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from bayvoice.ears.base import Hearing, Recogniser, Surrounded
from bayvoice.ears.choose import choose
from bayvoice.ears.front import FrontSettings
from bayvoice.errors import BayError
from bayvoice.language.grammar import Grammars, StateGrammar
from tests.bench.outcomes import Outcome, outcome, table
from tests.material import PEOPLE, Item, chatter, people, read, synthesised, voices
from tests.noises import KINDS, RATE, Sound, at_snr, noise

GRAMMARS: Final = Path(__file__).resolve().parents[2] / "grammars" / "en"
FILLS: Final = {
    "thing": ("rag", "drain plug", "cover gasket", "guide pin"),
    "measurement": ("gear backlash", "shaft end float", "cover bolt torque"),
    "person": ("Imre", "Dalia", "Kofi", "Ruth"),
}
LEAD_S: Final = FrontSettings().bay_s
"""Seconds of noise before an utterance that the gate keeps for the recogniser."""
TALKERS: Final = 8
"""Sentences that babble is made of."""


def grammar() -> StateGrammar:
    """Everything a running job could hear."""
    texts = {path.name: path.read_text(encoding="utf-8") for path in sorted(GRAMMARS.glob("*.gram"))}
    return Grammars(texts, FILLS).state("any")


def hear(recogniser: Recogniser, sound: Sound, lead_s: float = 0.0) -> Hearing:
    """One utterance, the first `lead_s` seconds of which are the bay before it."""
    lead = round(lead_s * RATE)
    recogniser.begin()
    if lead and isinstance(recogniser, Surrounded):
        recogniser.before(sound[:lead])
    recogniser.feed(sound[lead:])
    return recogniser.finish()


def condition(
    item: Item, decibels: str, number: int, talk: Sequence[Sound], kind: str = "", lead_s: float = 0.0
) -> Sound:
    """The item's sound in one condition, with `lead_s` seconds of the noise before it, of silence in "clean".

    By default the kind of noise goes round with `number`, the seed.
    """
    spoken = np.concatenate([np.zeros(round(lead_s * RATE), np.float32), item.sound])
    if decibels == "clean":
        return spoken
    kinds = KINDS if talk else KINDS[:-1]
    kind = kind or kinds[number % len(kinds)]
    rng = np.random.default_rng(number)
    return at_snr(spoken, noise(kind, len(spoken), rng, talk), float(decibels))


@dataclass(frozen=True, slots=True)
class Take:
    """One item in one condition."""

    number: int
    level: str
    kind: str


def takes(items: Sequence[Item], levels: Sequence[str], kinds: Sequence[str], every_kind: bool) -> list[Take]:
    """What is played: each item clean, and at each level in one kind of noise, or in all."""
    out = []
    for number in range(len(items)):
        for place, level in enumerate(levels):
            if level == "clean":
                out.append(Take(number, level, ""))
            elif every_kind:
                out += [Take(number, level, kind) for kind in kinds]
            else:
                out.append(Take(number, level, kinds[(number + place) % len(kinds)]))
    return out


class Shelf:
    """Items kept in a folder, so that the process that measures an engine holds one sound at a time."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def keep(self, items: Sequence[Item], talk: Sequence[Sound]) -> None:
        """Write all of it."""
        rows = [{"group": one.group, "text": one.text, "voice": one.voice} for one in items]
        for name, sounds in (("item", [one.sound for one in items]), ("talk", list(talk))):
            np.save(self._folder / f"{name}.npy", np.concatenate([np.zeros(1, np.float32), *sounds]))
            np.save(self._folder / f"{name}_ends.npy", np.cumsum([1, *map(len, sounds)]))
        (self._folder / "rows.json").write_text(json.dumps(rows), "utf-8")

    def _sounds(self, name: str) -> Iterator[Sound]:
        whole = np.load(self._folder / f"{name}.npy", mmap_mode="r")
        ends = np.load(self._folder / f"{name}_ends.npy")
        for low, high in itertools.pairwise(ends):
            yield whole[low:high]

    def items(self) -> list[Item]:
        """The items; their sounds stay on the disk until they are used."""
        rows = json.loads((self._folder / "rows.json").read_text("utf-8"))
        return [
            Item(row["group"], row["text"], row["voice"], sound)
            for row, sound in zip(rows, self._sounds("item"), strict=True)
        ]

    def talk(self) -> list[Sound]:
        """What babble is made of."""
        return [np.array(sound) for sound in self._sounds("talk")]


def measure(folder: Path, name: str, played: Sequence[Take]) -> dict[str, Any]:
    """One engine on `played`: outcomes, seconds of computing for a second of sound, memory. Or why it cannot run."""
    shelf, active = Shelf(folder), grammar()
    items, talk = shelf.items(), shelf.talk()
    before = highest_memory_mb()
    try:
        recogniser, notices = choose(name, active.words)
        recogniser.use(active)
    except BayError as fault:
        return {"why": str(fault)}
    found: list[Outcome] = []
    spent = length = 0.0
    for take in played:
        item = items[take.number]
        # As the gate hands it on: noise is heard before the voice, silence is not.
        lead_s = 0.0 if take.level == "clean" else LEAD_S
        sound = condition(item, take.level, take.number, talk, take.kind, lead_s)
        began = time.process_time()
        hearing = hear(recogniser, sound, lead_s)
        spent, length = spent + time.process_time() - began, length + len(sound) / RATE - lead_s
        found.append(outcome(item, take.level, take.kind, hearing, active))
    recogniser.close()
    return {
        "outcomes": found,
        "seconds_per_second": spent / max(length, 1e-9),
        "seconds_of_sound": length,
        "memory_mb": highest_memory_mb(),
        "memory_before_mb": before,
        "notices": list(notices),
    }


def gather(half: str, of_people: int, each: int) -> list[Item]:
    """The material, less single foreign words that the active grammar knows."""
    active = grammar()
    found = [*people(of_people, half), *synthesised(each, half=half)]
    return [one for one in found if not (one.group.startswith("foreign") and active.accepts(one.text.split()))]


def show(name: str, result: dict[str, Any], levels: Sequence[str]) -> None:
    """The tables of one engine."""
    if "why" in result:
        print(f"\n{name}: left out, {result['why']}")
        return
    found = result["outcomes"]
    cost = f"{result['seconds_per_second']:.3f} s of computing a second of sound, {result['memory_mb']:.0f} MB"
    print(f"\n{name}: {len(found)} utterances, {cost} ({result['memory_before_mb']:.0f} before it was loaded)")
    print("% right (95 % interval) of how many, w: acted on wrongly; foreign: % acted on; by decibels over the noise")
    print("\n".join(table(found, lambda one: one.level, levels)))
    print("by kind of noise, all levels but clean")
    print("\n".join(table([one for one in found if one.kind], lambda one: one.kind, KINDS)))
    spoken = [one for one in found if one.level in ("clean", "5") and ":" in one.voice]
    print("by voice, clean and 5 dB together")
    print("\n".join(table(spoken, lambda one: one.voice, sorted({one.voice for one in spoken}))))


def highest_memory_mb() -> float:
    """Highest resident memory of this process since it was begun (VmHWM of Linux's proc file system), else 0.

    `resource.getrusage` would count the parent's, from which the process was forked.
    """
    try:
        lines = Path("/proc/self/status").read_text("utf-8").split("\n")
    except OSError:
        return 0.0
    return next((int(line.split()[1]) / 1024 for line in lines if line.startswith("VmHWM")), 0.0)


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--quick", action="store_true", help="a few utterances of everything, two levels")
    parser.add_argument("--half", choices=("judging", "tuning"), default="judging")
    parser.add_argument("--each", type=int, default=30, help="utterances of a group for each voice")
    parser.add_argument("--people", type=int, default=60, help="recordings of people of each kind")
    parser.add_argument("--ears", default="phones,pocketsphinx,vosk")
    parser.add_argument("--peers-every", type=int, default=6, help="engines but phones hear every N-th utterance")
    parser.add_argument("--db", default="clean,20,10,5,0", help="levels above the noise, decibels")
    parser.add_argument("--all-noises", action="store_true", help="every utterance in every kind of noise")
    parser.add_argument("--no-latency", action="store_true")
    parser.add_argument("--json", type=Path)
    args = parser.parse_args()
    if args.quick:
        args.each, args.people, args.db, args.peers_every = 3, 5, "clean,5", 2
    items = gather(args.half, args.people, args.each)
    if not PEOPLE.is_dir():
        print(f"no recordings of people at {PEOPLE}: people, digits, foreign recordings and babble are left out")
    print(f"{args.half} half, {len(items)} recordings; synthesised voices:", ", ".join(voices(args.half)) or "none")
    talk = [read(path) for path in chatter(args.half)[:TALKERS]] if PEOPLE.is_dir() else []
    levels = args.db.split(",")
    played = takes(items, levels, KINDS if talk else KINDS[:-1], args.all_noises)
    results: dict[str, Any] = {}
    # A process each, begun anew: memory is measured by its highest mark.
    context = multiprocessing.get_context("spawn")
    with tempfile.TemporaryDirectory() as name:
        Shelf(Path(name)).keep(items, talk)
        for engine in args.ears.split(","):
            share = played if engine == "phones" else _sample(played, args.peers_every)
            with context.Pool(1) as pool:
                results[engine] = pool.apply(measure, (Path(name), engine, share))
            show(engine, results[engine], levels)
        if "phones" in results and args.peers_every > 1 and len(results) > 1:
            kept = set(_sample(played, args.peers_every))
            pairs = zip(results["phones"]["outcomes"], played, strict=True)
            beside = [one for one, take in pairs if take in kept]
            print(f"\nphones on the {len(beside)} utterances the others heard")
            print("\n".join(table(beside, lambda one: one.level, levels)))
        if not args.no_latency:
            from tests.bench.latency import of_material

            with context.Pool(1) as pool:
                results["latency"] = pool.apply(of_material, (items[:: max(1, len(items) // 160)], levels))
            from tests.bench.latency import show as show_latency

            show_latency(results["latency"])
    if args.json:
        for result in results.values():
            if "outcomes" in result:
                result["outcomes"] = [one.plain() for one in result["outcomes"]]
        args.json.write_text(json.dumps({"half": args.half, "engines": results}, indent=1), encoding="utf-8")
    return 0


def _sample(played: Sequence[Take], every: int) -> list[Take]:
    """All conditions of every `every`-th item."""
    return [take for take in played if take.number % every == 0]


if __name__ == "__main__":
    sys.exit(main())
