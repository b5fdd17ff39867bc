"""End of speech to intent: how long a technician waits, and what the early end of an utterance costs.

Usage: python -m tests.bench.latency [--each N] [--people N] [--db clean,10,5,0] [--fixed SECONDS] [--json FILE]

The sound runs through the real gate and recogniser in blocks of 20 ms. The wait is the time in the stream from the
last loud 10 ms of the recording (within 30 dB of the loudest) to the block that ended the utterance, and the
processor time which that block then took, so that other programs on the machine do not count. `--fixed` switches
guessing off and ends after so much silence instead, for comparison. People come from ``../shared/speech`` beside the
checkout and are left out with a line where it is absent.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import time
from collections import defaultdict
from pathlib import Path
from typing import Any, Final

# As the command line does it: before numpy is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from bayvoice.ears.choose import choose
from bayvoice.ears.front import FrontEnd, FrontSettings
from bayvoice.ears.listener import Listener, Utterance
from bayvoice.language.grammar import StateGrammar
from tests.bench.hearing import condition, grammar
from tests.material import PEOPLE, Item, people, same, synthesised
from tests.noises import RATE, Sound

BLOCK: Final = RATE // 50
AFTER_S: Final = 1.2
"""Sound after the last word, seconds: longer than the longest wait."""


def end_of_speech(sound: Sound) -> float:
    """Seconds to the end of the last 10 ms that is within 30 dB of the loudest."""
    frames = sound[: len(sound) // 160 * 160].astype(np.float64).reshape(-1, 160)
    power = (frames**2).mean(axis=1)
    return float((np.flatnonzero(power >= power.max() * 1e-3)[-1] + 1) * 0.01)


def follow(listener: Listener, sound: Sound) -> tuple[list[tuple[Utterance, float, float]], float]:
    """Utterances with stream time and computing time of the block that gave them; seconds of computing in all."""
    found: list[tuple[Utterance, float, float]] = []
    whole = time.process_time()
    for start in range(0, len(sound), BLOCK):
        began = time.process_time()
        events = listener.feed(sound[start : start + BLOCK])
        spent = time.process_time() - began
        found += [(one, (start + BLOCK) / RATE, spent) for one in events if isinstance(one, Utterance)]
    end = len(sound) / RATE
    found += [(one, end, 0.0) for one in listener.end() if isinstance(one, Utterance)]
    return found, time.process_time() - whole


def in_the_bay(item: Item) -> Item:
    """The item with quiet before and after it, as a gate that listens all day meets it."""
    sound = np.concatenate([np.zeros(RATE * 7 // 10), item.sound, np.zeros(int(AFTER_S * RATE))])
    return Item(item.group, item.text, item.voice, sound.astype(np.float32))


def fixed(listener: Listener, seconds: float) -> None:
    """Take guessing from `listener`: an utterance then ends after `seconds` of silence, as without this bench."""
    listener.front.settings = FrontSettings(pause_s=10.0, hangover_s=seconds)
    listener.front.wait(seconds)


def run(items: list[Item], levels: list[str], active: StateGrammar, hangover_s: float | None) -> dict[str, Any]:
    """Rows: group -> level -> figures; and the computing per second of sound."""
    recogniser, _ = choose("phones", active.words)
    listener = Listener(recogniser, FrontEnd(), active)
    talk = [item.sound for item in items if item.group == "foreign sentences"][:8]
    rows: dict[str, dict[str, Any]] = defaultdict(dict)
    waits: dict[tuple[str, str], list[tuple[float, float]]] = defaultdict(list)
    counts: dict[tuple[str, str], list[int]] = defaultdict(lambda: [0, 0, 0])
    spent = length = 0.0
    for number, item in enumerate(items):
        meant = active.match(item.text.split()) if item.text else None
        placed = in_the_bay(item)
        over = end_of_speech(placed.sound)
        for level in levels:
            sound = condition(placed, level, number, talk)
            listener.reset()
            if hangover_s is not None:
                fixed(listener, hangover_s)
            found, took = follow(listener, sound)
            spent, length = spent + took, length + len(sound) / RATE
            key = (item.group, level)
            acted = [one for one in found if one[0].intent is not None]
            good = len(acted) == 1 and same(meant, acted[0][0].intent) if meant else not acted
            counts[key][0] += good
            counts[key][1] += 1
            counts[key][2] += len(found) > 1
            if good and meant:
                waits[key].append((acted[0][1] - over, acted[0][2]))
    for (group, level), (right, all_, split) in counts.items():
        row: dict[str, Any] = {"right": right, "of": all_, "more_than_one": split}
        if found_waits := waits[group, level]:
            pairs = np.array(found_waits)
            whole = pairs.sum(axis=1)
            row |= {
                "median_ms": round(1000 * float(np.median(whole))),
                "p95_ms": round(1000 * float(np.quantile(whole, 0.95))),
                "stream_median_ms": round(1000 * float(np.median(pairs[:, 0]))),
                "computing_median_ms": round(1000 * float(np.median(pairs[:, 1]))),
            }
        rows[group][level] = row
    recogniser.close()
    return {"rows": rows, "seconds_per_second": spent / max(length, 1e-9), "fixed_s": hangover_s}


def of_material(items: list[Item], levels: list[str]) -> dict[str, Any]:
    """The figures on `items` with everything a running job could hear active."""
    return run(items, levels, grammar(), None)


def show(result: dict[str, Any]) -> None:
    """The table."""
    print(f"{result['seconds_per_second']:.3f} s of computing a second of sound")
    print(f"{'':20}{'level':>7}{'right':>14}{'split':>7}{'median':>9}{'95 %':>8}{'stream':>8}{'computing':>11}  (ms)")
    for group, levels in result["rows"].items():
        for level, row in levels.items():
            share = f"{100 * row['right'] / row['of']:.1f} % of {row['of']}"
            times = [row.get(key, "") for key in ("median_ms", "p95_ms", "stream_median_ms", "computing_median_ms")]
            print(
                f"{group:20}{level:>7}{share:>14}{row['more_than_one']:>7}"
                f"{times[0]:>9}{times[1]:>8}{times[2]:>8}{times[3]:>11}"
            )


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--each", type=int, default=6, help="utterances of a group for each voice")
    parser.add_argument("--people", type=int, default=25, help="recordings of people of each kind")
    parser.add_argument("--db", default="clean,10,5,0", help="levels above the noise, decibels")
    parser.add_argument("--fixed", type=float, metavar="SECONDS", help="end after so much silence, without guessing")
    parser.add_argument("--json", type=Path)
    args = parser.parse_args()
    items = list(people(args.people))
    if not items:
        print(f"no recordings of people at {PEOPLE}: they are left out")
    items += list(synthesised(args.each))
    result = run(items, args.db.split(","), grammar(), args.fixed)
    show(result)
    if args.json:
        args.json.write_text(json.dumps(result, indent=1), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
