"""Measurements through the ears: are they heard, and does the dialogue let a wrong one into the record?

Usage: python -m tests.bench.measures [--quick] [--phrases N] [--db clean,10] [--ears phones] [--seed N] [--json FILE]

Each phrase is a value with its unit, said by one of the synthesised voices of the judging half (never learned from, and
none is what the product speaks with). Two things are counted, in silence and at each level of workshop noise:

* hearing: the share of phrases whose first utterance gives the exact value and unit in a measuring step;
* dialogue: a technician who answers honestly works the whole step: the value is read back, "yes" if it is what was
  meant and "no" if not, both said aloud and heard by the same ears in the same noise; what is not understood is said
  again, four times at most. Counted are right and wrong values in the record, values nobody got in, and wrong hearings
  that the read-back stopped. The core, grammars and recogniser are the real ones.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import sys
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Any, Final

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from bayvoice.dialogue.engine import events as ev
from bayvoice.dialogue.engine.state import MeantAsked, Mode, ReadingAsked, ValueAsked
from bayvoice.ears.base import Recogniser
from bayvoice.ears.choose import choose
from bayvoice.errors import BayError
from bayvoice.language import units
from bayvoice.language.intents import Intent
from bayvoice.language.risk import Verdict, weigh
from bayvoice.procedure.load import load_text
from bayvoice.procedure.model import Procedure
from tests.bench.hearing import TALKERS, condition, hear
from tests.material import PEOPLE, Item, Speakers, chatter, read, voices
from tests.noises import Sound
from tests.stage import Stage

TRIES: Final = 4
"""How often a technician says a thing again before the keys are used instead."""

# Unit, what is measured, lowest and highest value said, places after the point; limits leave a tenth at each end.
KINDS: Final = (
    ("N.m", "cover bolt torque", "8", "180", 1),
    ("mm", "end float", "0.02", "0.60", 2),
    ("mm", "disc height", "8", "95", 1),
    ("deg", "timing mark", "2", "90", 0),
    ("bar", "system pressure", "1", "210", 1),
    ("um", "ovality", "4", "80", 0),
    ("V", "battery voltage", "10", "15", 2),
    ("degC", "oil temperature", "15", "110", 0),
    ("thou", "valve gap", "4", "40", 0),
    ("lbf.ft", "wheel nut torque", "20", "140", 0),
    ("kPa", "boost pressure", "20", "180", 0),
    ("l", "oil fill", "1", "18", 1),
    ("rpm", "idle speed", "450", "950", 0),
    ("psi", "tyre pressure", "20", "110", 0),
    ("A", "standing current", "1", "40", 1),
    ("kg", "counterweight", "10", "400", 0),
)


@dataclass(frozen=True, slots=True)
class Phrase:
    """One measurement to be said: `kind` counts in `KINDS`."""

    kind: int
    value: Decimal
    text: str
    voice: str


@dataclass
class Told:
    """What became of the phrases at one level.

    Attributes:
        first: what the first utterance gave: "right", "wrong", "asked" (say again), "missed".
        ended: how the step ended: "logged right", "logged wrong", "given up".
        stopped: wrong hearings answered with no. utterances: said in all.
        faults: what went wrong in words, for looking into.
    """

    first: Counter[str] = field(default_factory=Counter)
    ended: Counter[str] = field(default_factory=Counter)
    stopped: int = 0
    utterances: int = 0
    faults: list[dict[str, str]] = field(default_factory=list)

    def plain(self) -> dict[str, Any]:
        """As JSON writes it."""
        return {
            "first": dict(self.first),
            "ended": dict(self.ended),
            "stopped": self.stopped,
            "utterances": self.utterances,
            "faults": self.faults,
        }


def procedure(kind: int) -> Procedure:
    """A job with the one measuring step."""
    unit, name, low, high, _ = KINDS[kind]
    band = (Decimal(high) - Decimal(low)) / 10
    return load_text(
        'format = 1\ntitle = "Bench"\nmachine = "Varrow K40 tow tractor"\n[[step]]\nid = "value"\nkind = "measure"\n'
        f'say = "Measure."\nname = "{name}"\nunit = "{unit}"\n'
        f"low = {Decimal(low) + band}\nhigh = {Decimal(high) - band}\n"
        '[[step]]\nid = "end"\nkind = "do"\nsay = "Done."\n',
        "bench.toml",
    )


def phrases(count: int, seed: int) -> list[Phrase]:
    """`count` measurements, the kinds and the voices in turn."""
    rng, found, speaking = random.Random(seed), [], voices()
    for number in range(count):
        kind = number % len(KINDS)
        unit, name, low, high, places = KINDS[kind]
        scale = 10**places
        value = Decimal(rng.randrange(int(Decimal(low) * scale), int(Decimal(high) * scale) + 1)).scaleb(-places)
        said = units.say(value, unit)
        text = rng.choice((said, said, f"record {said}", f"{name} {said}"))
        found.append(Phrase(kind, value, text, speaking[number % len(speaking)]))
    return found


class Bay:
    """One job, heard by `recogniser` at one level of noise."""

    def __init__(self, phrase: Phrase, stage: Stage, recogniser: Recogniser, speakers: Speakers, told: Told) -> None:
        self.phrase, self.stage, self.told = phrase, stage, told
        self.recogniser, self.speakers = recogniser, speakers
        self.used = ""

    def say(self, text: str, level: str, number: int, talk: Sequence[Sound]) -> tuple[Intent | None, bool]:
        """Say `text` aloud; what was made of it, and whether it was sure enough to be acted on."""
        stage, mode = self.stage, self.stage.state.mode
        if mode != self.used:
            self.recogniser.use(stage.grammars.state(mode))
            self.used = mode
        sound = self.speakers.say(self.phrase.voice, text, random.Random(number))
        item = Item("measurements", text, self.phrase.voice, sound)
        heard = hear(self.recogniser, condition(item, level, number, talk))
        intent = None if heard.why else stage.grammars.state(mode).match(heard.words)
        acted = intent is not None and weigh(mode, intent.name, heard.sure) is Verdict.ACT
        self.told.utterances += 1
        stage.mono += 5.0
        stage.take(
            ev.Heard(
                stage.at,
                heard.words,
                intent,
                heard.engine,
                heard.margin,
                stage.mono - 2,
                stage.mono,
                heard.why,
                heard.sure,
            )
        )
        return intent, acted

    def right(self, value: Decimal, unit: str) -> bool:
        """Whether a value read back is what the technician meant."""
        return str(value) == str(self.phrase.value) and unit == KINDS[self.phrase.kind][0]

    def answer(self) -> str:
        """What an honest technician says next, "" where the step is over."""
        asked = self.stage.state.pending
        if isinstance(asked, ValueAsked):
            return "yes" if self.right(asked.said_value, asked.said_unit) else "no"
        if isinstance(asked, MeantAsked):
            plain = units.say(self.phrase.value, KINDS[self.phrase.kind][0])
            return "yes" if self.right(asked.other, asked.asked.said_unit) else plain
        if isinstance(asked, ReadingAsked):
            places = [n for n, value in enumerate(asked.readings) if self.right(value, asked.said_unit)]
            return ("the first", "the second", "the third")[places[0]] if places else "no"
        return self.phrase.text if self.stage.state.mode is Mode.MEASURE else ""


def work(bay: Bay, level: str, number: int, talk: Sequence[Sound]) -> None:
    """The whole step: count the first hearing and how it ended."""
    told, phrase = bay.told, bay.phrase
    intent, acted = bay.say(phrase.text, level, number * 100, talk)
    unit = KINDS[phrase.kind][0]
    exact = intent is not None and intent.name == "record" and intent.value is not None
    exact = exact and bay.right(intent.value or Decimal(0), intent.unit or unit) if intent else False
    first = ("right" if exact else "wrong") if acted else ("missed" if intent is None else "asked")
    told.first[first] += 1
    if first != "right":
        heard = bay.stage.state.heard
        told.faults.append(
            {"said": phrase.text, "voice": phrase.voice, "heard": heard.words if heard else "", "first": first}
        )
    again = Counter[str]()
    for turn in range(1, 40):
        text = bay.answer()
        logged = any(fact.kind == "measured" for fact in bay.stage.facts)
        if logged or not text or max(again.values(), default=0) > TRIES:
            break
        if text == "no":
            told.stopped += 1 if again["no"] == 0 else 0
        before = bay.stage.state.pending
        bay.say(text, level, number * 100 + turn, talk)
        again[text] = again[text] + 1 if bay.stage.state.pending is before else 0
    values = [fact.body for fact in bay.stage.facts if fact.kind == "measured"]
    wrong = [body for body in values if not bay.right(Decimal(body["said_value"]), body["said_unit"])]
    ended = "logged wrong" if wrong else "logged right" if values else "given up"
    told.ended[ended] += 1
    if wrong:
        told.faults.append(
            {"said": phrase.text, "voice": phrase.voice, "logged": str(wrong[0]["said_value"]), "first": first}
        )


def run(said: Sequence[Phrase], levels: Sequence[str], engine: str, keep: Path | None) -> dict[str, Told]:
    """All phrases at all levels; what is known so far is kept in the file `keep`."""
    talk = [read(path) for path in chatter("judging")[:TALKERS]] if PEOPLE.is_dir() else []
    speakers, found = Speakers(), {level: Told() for level in levels}
    recogniser: Recogniser | None = None
    for kind in range(len(KINDS)):
        mine = [(number, phrase) for number, phrase in enumerate(said) if phrase.kind == kind]
        if not mine:
            continue
        job = procedure(kind)
        grammars = Stage(job).grammars
        if recogniser is None:
            recogniser, _ = choose(engine, grammars.state("any").words)
        for level in levels:
            for number, phrase in mine:
                stage = Stage(job)
                stage.grammars = grammars
                stage.take(ev.Began(stage.at, "Imre", "boot-1"))
                work(Bay(phrase, stage, recogniser, speakers, found[level]), level, number, talk)
        if keep is not None:
            keep.write_text(json.dumps({level: told.plain() for level, told in found.items()}, indent=1), "utf-8")
        done = sum(found[levels[0]].first.values())
        print(f"{done} of {len(said)} phrases", file=sys.stderr)
    if recogniser is not None:
        recogniser.close()
    return found


def show(found: dict[str, Told]) -> None:
    """The table."""
    print(
        f"{'level':>6} {'phrases':>8} {'exact':>8} {'wrong':>6} {'asked':>6} {'missed':>7} | {'logged right':>12} "
        f"{'logged WRONG':>12} {'given up':>9} {'stopped by read-back':>21} {'utterances each':>16}"
    )
    for level, told in found.items():
        count = sum(told.first.values())
        print(
            f"{level:>6} {count:>8} {100 * told.first['right'] / count:>7.1f}% {told.first['wrong']:>6} "
            f"{told.first['asked']:>6} {told.first['missed']:>7} | {told.ended['logged right']:>12} "
            f"{told.ended['logged wrong']:>12} {told.ended['given up']:>9} {told.stopped:>21} "
            f"{told.utterances / count:>16.2f}"
        )


def main() -> int:
    """Run from the command line; 1 where a wrong value was logged."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--quick", action="store_true", help="sixteen phrases")
    parser.add_argument("--phrases", type=int, default=200)
    parser.add_argument("--db", default="clean,10", help="levels above the noise, decibels")
    parser.add_argument("--ears", default="phones")
    parser.add_argument("--seed", type=int, default=4)
    parser.add_argument("--json", type=Path, metavar="FILE")
    args = parser.parse_args()
    if len(voices()) < 3:
        print(f"left out: fewer than three voices work here ({', '.join(voices()) or 'none'})")
        return 0
    if not PEOPLE.is_dir():
        print(f"no recordings of people at {PEOPLE}: babble is left out of the noise")
    said = phrases(16 if args.quick else args.phrases, args.seed)
    print("voices:", ", ".join(sorted({phrase.voice for phrase in said})))
    try:
        found = run(said, args.db.split(","), args.ears, args.json)
    except BayError as fault:
        print(f"left out: {fault}")
        return 0
    show(found)
    return 1 if any(told.ended["logged wrong"] for told in found.values()) else 0


if __name__ == "__main__":
    sys.exit(main())
