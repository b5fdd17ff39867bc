"""How sure `phones` is of right, wrong and foreign utterances: what the levels of `language.risk` are read off.

Usage: python -m tests.bench.certainty [--each N] [--people N] [--db clean,10,5]

The material and the noise are those of `tests.bench.hearing`, the tuning half. For each class of risk, the table gives
how many utterances of each kind are at least as sure as the odds at the head of the column; then what the levels in
force do.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter, defaultdict
from typing import Final

from bayvoice.ears.choose import choose
from bayvoice.language.risk import LEAST, LEVELS, Risk, risk_of, weigh
from tests.bench.hearing import LEAD_S, condition, grammar, hear
from tests.material import people, same, synthesised

ODDS: Final = (-1.0, -0.7, -0.5, -0.3, 0.0, 0.3, 0.7, 1.0, 2.0)


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--each", type=int, default=5, help="utterances of a group for each voice")
    parser.add_argument("--people", type=int, default=40, help="recordings of people of each kind")
    parser.add_argument("--db", default="clean,10,5", help="levels above the noise, decibels")
    args = parser.parse_args()
    active = grammar()
    recogniser, _ = choose("phones", active.words)
    recogniser.use(active)
    items = [*people(args.people, "tuning"), *synthesised(args.each, half="tuning")]
    talk = [item.sound for item in items if item.group == "foreign sentences"][:8]
    found: dict[tuple[Risk, str], list[float]] = defaultdict(list)
    done: Counter[tuple[str, str]] = Counter()
    for number, item in enumerate(items):
        meant = active.match(item.text.split()) if item.text else None
        for level in args.db.split(","):
            lead_s = 0.0 if level == "clean" else LEAD_S
            hearing = hear(recogniser, condition(item, level, number, talk, lead_s=lead_s), lead_s)
            intent = active.match(hearing.words)
            right = meant is not None and same(meant, intent)
            kind = "right" if right else "foreign" if item.group.startswith("foreign") else "wrong"
            if intent is None or hearing.sure is None:
                done[kind, "nothing"] += 1
                continue
            found[risk_of("any", intent.name), kind].append(hearing.sure)
            done[kind, weigh("any", intent.name, hearing.sure).value] += 1
    print(f"{'risk':12}{'utterances':10}{'all':>6}" + "".join(f"{odds:>7}" for odds in ODDS))
    for risk in LEVELS:
        for kind in ("right", "wrong", "foreign"):
            if sure := found[risk, kind]:
                counts = "".join(f"{sum(one >= odds for one in sure):7}" for odds in ODDS)
                print(f"{risk.value:12}{kind:10}{len(sure):6}{counts}")
    print(f"below {LEAST} nothing is asked about; with the levels in force:")
    for kind in ("right", "wrong", "foreign"):
        print(f"  {kind:8}", ", ".join(f"{what} {n}" for (k, what), n in sorted(done.items()) if k == kind))
    return 0


if __name__ == "__main__":
    sys.exit(main())
