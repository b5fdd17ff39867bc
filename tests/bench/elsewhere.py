"""Commands of other dialogue states: is one of them ever acted on, as a "yes" say?

Usage: python -m tests.bench.elsewhere [--states check,confirm,sure] [--words next,done,help,stop] [--seeds N]
       [--noises white,...] [--db 10] [--voices flite:kal,...] [--people N] [--half tuning|judging] [--json FILE]

Each word is said by each voice into noise of each kind (a seed a try) that began before it and goes on after it, and
goes through the real gate and recogniser with each state's grammar, with the fills of a job that ships. A word that the
state knows is *own*, and counted as done, asked about (what the levels of `language.risk` call doubtful) or lost; any
other is *foreign* and must be lost: done or asked about, it is named with what it was taken for. People say what the
recordings beside the checkout hold (`../shared/speech/words`).
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, Final

# As the command line does it: before numpy is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


from bayvoice.ears.choose import choose
from bayvoice.ears.front import FrontEnd
from bayvoice.ears.listener import Listener
from bayvoice.host.datafiles import read_procedure
from bayvoice.language.risk import Verdict
from bayvoice.runtime.grammars import grammars_for
from tests.ears.elsewhere import JOB, STATES, Got, Try, judge, mixed, tries
from tests.material import PEOPLE, chatter, judging, read
from tests.noises import KINDS, RATE

WORDS: Final = ("next", "done", "help", "stop", "yes", "no")
VOICES: Final = ("flite:kal", "flite:awb", "flite:rms", "flite:slt")


def persons(most: int, half: str, kinds: Sequence[str]) -> Iterator[Try]:
    """Recordings of people of one half of the speakers, each once in each kind of noise."""
    for word in ("yes", "no", "stop", "go", "other"):
        files = [p for p in sorted((PEOPLE / "words" / word).glob("*.wav")) if judging(p.name) is (half == "judging")]
        for number, path in enumerate(files[:most]):
            for kind in kinds:
                yield Try(path.name.split("_")[0] if word == "other" else word, "person", kind, number, read(path))


def run(made: Sequence[Try], states: Sequence[str], decibels: float, kind: str = "phones") -> tuple[list[Got], float]:
    """Every try in every state, and seconds of computing for a second of sound."""
    grammars = grammars_for(read_procedure(JOB), ("Imre", "Dalia", "Kofi", "Ruth"))
    recogniser, _ = choose(kind, grammars.state("any").words)
    talk = [read(path) for path in chatter("tuning")[:8]] if PEOPLE.is_dir() else []
    sounds = [mixed(one, decibels, talk) for one in made]
    found: list[Got] = []
    spent = 0.0
    for state in states:
        listener = Listener(recogniser, FrontEnd(), grammars.state(state))
        began = time.process_time()
        found += [judge(listener, one, sound) for one, sound in zip(made, sounds, strict=True)]
        spent += time.process_time() - began
    recogniser.close()
    return found, spent / max(1e-9, len(states) * sum(map(len, sounds)) / RATE)


def table(found: Sequence[Got]) -> list[str]:
    """A line for each state, word and noise, a column for each voice.

    Own words: done rightly / asked rightly / wrongly done or asked, of all. Foreign words: done / asked, of all.
    """
    voices = sorted({one.voice for one in found})
    lines = [f"{'state':10}{'word':8}{'noise':8}{'':8}" + "".join(f"{voice[-16:]:>18}" for voice in voices) + "  as"]
    for state, word, kind, own in dict.fromkeys((one.state, one.word, one.kind, one.own) for one in found):
        line = f"{state:10}{word:8}{kind:8}{'own' if own else 'foreign':8}"
        taken: Counter[str] = Counter()
        for voice in voices:
            here = [o for o in found if (o.state, o.word, o.kind, o.voice) == (state, word, kind, voice)]
            taken.update(o.heard for o in here if not o.right and o.verdict is not Verdict.REFUSE)
            done = sum(o.right and o.verdict is Verdict.ACT for o in here)
            asked = sum(o.right and o.verdict is Verdict.DOUBTFUL for o in here)
            wrong = sum(not o.right and o.verdict is Verdict.ACT for o in here)
            wrongly = sum(not o.right and o.verdict is Verdict.DOUBTFUL for o in here)
            cell = f"{done}/{asked} w{wrong}/{wrongly}" if own else f"{wrong}/{wrongly}"
            line += f"{f'{cell} of {len(here)}' if here else '-':>18}"
        lines.append(line + "  " + ", ".join(f"{heard} {n}" for heard, n in taken.most_common(4)))
    return lines


def totals(found: Sequence[Got]) -> list[str]:
    """The sums over voices of synthesis and of people: own and foreign words."""
    lines = []
    for who in ("voices", "people"):
        for own in (True, False):
            here = [one for one in found if (one.voice == "person") is (who == "people") and one.own is own]
            if not here:
                continue
            kinds = {v: [one for one in here if one.verdict is v] for v in Verdict}
            if own:
                right = sum(one.right for one in kinds[Verdict.ACT]), sum(one.right for one in kinds[Verdict.DOUBTFUL])
                text = f"done {right[0]}, asked about {right[1]}, done wrongly {len(kinds[Verdict.ACT]) - right[0]}"
            else:
                text = f"done {len(kinds[Verdict.ACT])}, asked about {len(kinds[Verdict.DOUBTFUL])}"
            lines.append(f"{who}, {'own' if own else 'foreign'} words: {text} of {len(here)}")
    return lines


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--states", default=",".join(STATES))
    parser.add_argument("--words", default=",".join(WORDS))
    parser.add_argument("--voices", default=",".join(VOICES))
    parser.add_argument("--noises", default="white", help=f"quiet, white, {', '.join(KINDS)}")
    parser.add_argument("--db", type=float, default=10.0, help="level of the voice above the noise, decibels")
    parser.add_argument("--seeds", type=int, default=8)
    parser.add_argument("--people", type=int, default=0, help="recordings of people of each word")
    parser.add_argument("--half", choices=("judging", "tuning"), default="tuning", help="of people")
    parser.add_argument("--ears", default="phones")
    parser.add_argument("--json", type=Path)
    args = parser.parse_args()
    kinds = args.noises.split(",")
    made = list(tries(args.words.split(","), [v for v in args.voices.split(",") if v], kinds, args.seeds))
    if args.people and PEOPLE.is_dir():
        made += persons(args.people, args.half, kinds)
    found, cost = run(made, args.states.split(","), args.db, args.ears)
    print("own words: done/asked about, w: wrongly; foreign words: done/asked about; as: what they were taken for")
    print("\n".join(table(found)))
    print("\n".join(totals(found)))
    print(f"{cost:.3f} s of computing for a second of sound")
    if args.json:
        rows: list[dict[str, Any]] = [{name: getattr(one, name) for name in Got.__dataclass_fields__} for one in found]
        args.json.write_text(json.dumps(rows, indent=1), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
