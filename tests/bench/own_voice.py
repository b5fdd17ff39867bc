"""The product's own voice in its microphone: does it act on itself, and is "stop" heard through it?

Usage: python -m tests.bench.own_voice [--people N] [--talk SECONDS] [--json FILE]

Every step of the procedures that ship is rendered by the product's voice and fed to the real gate and recogniser as
an echo 6, 12 and 20 dB under a technician's voice (active levels). "Acted on" counts what the ears would hand to the
dialogue as an intent while the product speaks; the dialogue lets only "stop" through then. "Stop" is said by people of
``../shared/speech`` into that voice, at a place that differs from one to the next, with and without the spotter, and
into the count to a common move as `voice.beat` mixes it. `--half tuning` is for reading limits off.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

# As the command line does it: before numpy is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

from bayvoice.ears.choose import choose
from bayvoice.ears.front import FrontEnd
from bayvoice.ears.listener import Listener, Utterance
from bayvoice.ears.phones import Phones
from bayvoice.host.datafiles import data_folder, read_procedure
from bayvoice.voice.render import SpokenVoice
from tests.bench.hearing import grammar
from tests.bench.outcomes import interval
from tests.ears.own_voice import COUNT, counted, said, scaled, stops
from tests.material import PEOPLE
from tests.noises import RATE, Sound

LEVELS: Final = (-6, -12, -20)


def step_texts() -> Iterator[str]:
    """What is said of every step of every procedure."""
    for path in sorted(data_folder("procedures").glob("*.toml")):
        for number, step in enumerate(read_procedure(path.stem).steps, 1):
            yield f"Step {number}. {step.say}"


def intents(listener: Listener, sound: Sound, saying: str) -> list[tuple[str, float]]:
    """Intents and the second each came at, from `sound`, all of it while the product says `saying`."""
    listener.reset()
    listener.own_voice(saying)
    found = []
    for start in range(0, len(sound), RATE // 50):
        events = listener.feed(sound[start : start + RATE // 50])
        meant = [event.intent for event in events if isinstance(event, Utterance)]
        found += [(intent.name, (start + RATE // 50) / RATE) for intent in meant if intent is not None]
    listener.own_voice(None)
    return found


def spoken_into(listener: Listener, step: Sound, word: Sound, at_s: float, saying: str) -> float | None:
    """Seconds from the end of `word`, said into `step` at `at_s`, to a "stop"; None where none comes."""
    at = int(at_s * RATE)
    sound = np.concatenate([step, np.zeros(RATE, np.float32)])[: at + 3 * RATE]
    piece = scaled(word, 0)[: len(sound) - at]
    sound[at : at + len(piece)] += piece
    got = [second for name, second in intents(listener, sound, saying) if name == "stop"]
    power = np.square(piece[: len(piece) // 160 * 160].reshape(-1, 160)).mean(axis=1)
    over = at_s + (np.flatnonzero(power >= power.max() * 1e-3)[-1] + 1) / 100
    return got[0] - over if got else None


def run(people: int, talk_s: float, half: str = "judging") -> Iterator[tuple[str, dict[str, Any]]]:
    """Counts, for every level with and without the spotter, and across the count of a common move."""
    active = grammar()
    recogniser, _ = choose("phones", active.words)
    assert isinstance(recogniser, Phones)
    voice = SpokenVoice()
    texts = list(step_texts())
    steps = [said(voice, text) for text in texts]
    count = counted(voice)
    voice.close()
    words = stops(people, half)
    for spotting in (False, True):
        listener = Listener(recogniser, FrontEnd(), active, recogniser.spotter() if spotting else None)
        for level in LEVELS:
            rng = np.random.default_rng(4)
            acted: list[str] = []
            length = 0.0
            for text, step in [(COUNT, count), *zip(texts, steps, strict=True)]:
                if length < talk_s:
                    quiet = np.zeros(RATE // 2, np.float32)
                    acted += [name for name, _ in intents(listener, np.concatenate([scaled(step, level), quiet]), text)]
                    length += len(step) / RATE
            waits: dict[str, list[float | None]] = {"reading": [], "count": []}
            for word in words:
                step = scaled(steps[int(rng.integers(len(steps)))], level)
                at_s = rng.uniform(0.5, max(0.6, len(step) / RATE - 1.2))
                waits["reading"].append(spoken_into(listener, step, word, at_s, "a step"))
                at_s = rng.uniform(0.2, len(count) / RATE - 0.8)
                waits["count"].append(spoken_into(listener, scaled(count, level), word, at_s, COUNT))
            for what, found in waits.items():
                heard = [wait for wait in found if wait is not None]
                row = {
                    "acted_on_own_voice": acted,
                    "own_voice_s": round(length),
                    "stops_heard": len(heard),
                    "stops": len(words),
                    "interval": interval(len(heard), len(words)),
                    "wait_median_s": round(float(np.median(heard)), 2) if heard else None,
                }
                yield f"{'with' if spotting else 'without'} spotter, {what}, echo {level} dB", row
    recogniser.close()


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--people", type=int, default=40, help='people who say "stop"')
    parser.add_argument("--talk", type=float, default=400, help="seconds of the product's own voice")
    parser.add_argument("--half", choices=("judging", "tuning"), default="judging")
    parser.add_argument("--json", type=Path)
    args = parser.parse_args()
    if not PEOPLE.is_dir():
        print(f'no recordings of people at {PEOPLE}: nobody says "stop"')
    results: dict[str, Any] = {}
    for name, row in run(args.people, args.talk, args.half):
        results[name] = row
        wait = "" if row["wait_median_s"] is None else f", {row['wait_median_s']} s after its end (median)"
        print(
            f'{name}: "stop" heard {row["stops_heard"]} of {row["stops"]} (95 %: {row["interval"][0]:.2f} to '
            f"{row['interval'][1]:.2f}){wait}; "
            f"acted on itself in {row['own_voice_s']} s: {', '.join(row['acted_on_own_voice']) or 'never'}",
            flush=True,
        )
    if args.json:
        args.json.write_text(json.dumps(results, indent=1), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
