"""How fast phrases are understood, and how large the grammars are that the ears search.

Usage: python -m tests.bench.phrases [--count N] [--json FILE]

Random values with every unit are said as the product says them and matched in the grammar of a measuring step, on one
core, by processor time. Sizes are nodes and arcs of a state's word graph: with all units, and with those that each
procedure that ships makes a job listen for.
"""

from __future__ import annotations

import argparse
import json
import random
import time
from decimal import Decimal
from pathlib import Path
from typing import Any, Final

from bayvoice.host.datafiles import read_procedure
from bayvoice.language import units
from bayvoice.language.grammar import Grammars
from bayvoice.runtime.grammars import grammars_for

PROCEDURES: Final = Path(__file__).resolve().parents[2] / "procedures"
STATES: Final = ("measure", "confirm", "step", "any")


def said(count: int) -> list[tuple[Decimal, str, list[str]]]:
    """Values, their units, and the words for them."""
    rng, codes, found = random.Random(3), list(units.UNITS), []
    for number in range(count):
        places, size = rng.randrange(5), rng.randrange(1, 7)
        value = Decimal(rng.randrange(1, 10 ** (size + places))).scaleb(-places) * rng.choice((1, 1, -1))
        code = codes[number % len(codes)]
        found.append((value, code, units.say(value, code).split()))
    return found


def sizes(grammars: Grammars) -> dict[str, tuple[int, int]]:
    """State -> nodes and arcs."""
    return {name: (g.nodes, len(g.arcs)) for name in STATES for g in [grammars.state(name).graph]}


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--count", type=int, default=10_000)
    parser.add_argument("--json", type=Path)
    asked = parser.parse_args()
    everything = grammars_for(None)
    measure = everything.state("measure")
    phrases = said(asked.count)
    began = time.process_time()
    found = [measure.match(words) for _, _, words in phrases]
    spent = time.process_time() - began
    wrong = [
        " ".join(words)
        for (value, code, words), intent in zip(phrases, found, strict=True)
        if intent is None or (str(intent.value), intent.unit) != (f"{value:f}", code)
    ]
    print(f"{asked.count} phrases understood in {spent:.2f} s of one core, {len(wrong)} wrong {wrong[:3]}")
    table: dict[str, Any] = {"all units": sizes(everything)}
    for path in sorted(PROCEDURES.glob("*.toml")):
        table[path.stem] = sizes(grammars_for(read_procedure(str(path)), ("Imre", "Dalia", "Kofi", "Ruth")))
    for name, row in table.items():
        print(f"{name:<24}" + "  ".join(f"{state} {nodes}/{arcs}" for state, (nodes, arcs) in row.items()))
    if asked.json:
        body = {"count": asked.count, "seconds": round(spent, 3), "wrong": wrong, "sizes": table}
        asked.json.write_text(json.dumps(body, indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()
