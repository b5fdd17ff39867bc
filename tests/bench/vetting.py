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
from tests.procedure.long import changes, procedure_text


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
        "steps": len(vetting.procedure.steps),
        "characters": len(text),
        "ears_s": ready - began,
        "whole_s": whole - ready,
        "printed_s": done - whole,
        "printed_characters": printed,
        "change_median_ms": statistics.median(took),
        "change_worst_ms": max(took),
        "changes": len(took),
        "warnings": len(vetting.warnings),
    }


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
