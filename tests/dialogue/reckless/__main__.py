"""`python -m tests.dialogue.reckless --walks 2000 --seed 1`: long walks; `--show 17`: all that was done in walk 17."""

from __future__ import annotations

import argparse
import sys
import time

from tests.dialogue.reckless.walker import Tally, walk


def main() -> int:
    """Walk; 1 if anything was got past or anybody was stranded."""
    parser = argparse.ArgumentParser(prog="python -m tests.dialogue.reckless", description=__doc__)
    parser.add_argument("--walks", type=int, default=200)
    parser.add_argument("--seed", type=int, default=0, help="number of the first walk")
    parser.add_argument("--show", type=int, help="walk this one and print what was done")
    parser.add_argument("--near", action="store_true", help="also names that can be taken for another one")
    given = parser.parse_args()
    tally, began = Tally(), time.monotonic()
    if given.show is not None:
        one = walk(given.show, tally, near=given.near)
        print(one.world.procedure.text)
        print("\n".join(one.trace))
    else:
        for seed in range(given.seed, given.seed + given.walks):
            walk(seed, tally, near=given.near)
    print(tally.summary())
    print(f"{time.monotonic() - began:.0f} s")
    return 1 if tally.caught or tally.stranded else 0


if __name__ == "__main__":
    sys.exit(main())
