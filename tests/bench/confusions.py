"""Which phones the recogniser `phones` takes for which: writes ``bayvoice/language/confusions.py``.

Usage: python -m tests.bench.confusions [--each N] [--out FILE]

Words at random are spoken in threes by synthesised voices, in quiet and with noise 10 dB below the voice, and scored by
the networks that ship. The phones that were spoken are laid over the rows (the best CTC path of the words'
pronunciations); at the frame where a phone is strongest, the row says how likely every other phone would have been, and
how likely nothing. The mean over all frames of a phone is its row of confusions. Run it again when the networks change.
"""

from __future__ import annotations

import argparse
import random
from importlib import resources
from itertools import product
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from bayvoice.ears.person import fingerprint
from bayvoice.ears.phones_acoustics import Acoustics
from bayvoice.ears.pronounce import PHONES, Lexicon
from bayvoice.host.datafiles import read_language_file
from tests.bench.hearing import grammar
from tests.espeak import say
from tests.noises import KINDS, at_snr, noise

Floats = NDArray[np.float64]
OUT: Final = Path(__file__).resolve().parents[2] / "bayvoice" / "language" / "confusions.py"
VOICES: Final = ("en-us", "gmw/en", "gmw/en-GB-scotland", "en-gb-x-rp")
FLOOR: Final = 1e-3
"""A phone taken for another less often than this is as far from it as can be."""
HEAD: Final = '''"""How far apart the recogniser hears two phones, and how easily it misses one. Written by a program.

Made by ``python -m tests.bench.confusions``, which says how, of {count} phones in {utterances} utterances. Rows and
columns are `bayvoice.language.phones.PHONES`, hundredths: 0 the same, 99 never taken for each other.
"""

from __future__ import annotations

from typing import Final

SWAPS: Final = """
{swaps}
"""
"""A phone, then what it costs to take it for each of the others; symmetric."""

GAP: Final = {gap}
"""What it costs to hear nothing where a phone was said, or a phone where nothing was: the mean over all phones."""

READ_FROM: Final = "{digest}"
"""SHA-256 of the networks (``edges/ears/data/phones.npz``) this was measured with."""
'''


def aligned(logs: Floats, blank: Floats, phones: tuple[int, ...]) -> tuple[float, list[int]]:
    """Score of the best CTC path that says `phones`, and for each the frame of it where it is strongest.

    Args:
        logs: (T, 39) log scores of phones.
        blank: (T,) log score of blank.
        phones: indices, at least one.
    """
    frames, size = len(logs), 2 * len(phones) + 1
    labels = np.full(size, -1)
    labels[1::2] = phones
    emit = np.where(labels >= 0, logs[:, labels], blank[:, None])
    skips = np.zeros(size, bool)
    skips[3::2] = labels[3::2] != labels[1:-2:2]
    best = np.full(size, -np.inf)
    best[:2] = emit[0, :2]
    came = np.zeros((frames, size), np.int8)
    for frame in range(1, frames):
        ways = np.full((3, size), -np.inf)
        ways[0] = best
        ways[1, 1:] = best[:-1]
        ways[2, 2:] = np.where(skips[2:], best[:-2], -np.inf)
        came[frame] = ways.argmax(axis=0)
        best = ways.max(axis=0) + emit[frame]
    state = size - 1 if best[-1] >= best[-2] else size - 2
    score, strongest = float(best[state]), dict[int, int]()
    for frame in range(frames - 1, -1, -1):
        if labels[state] >= 0:
            at = state // 2
            if at not in strongest or emit[frame, state] > emit[strongest[at], state]:
                strongest[at] = frame
        state -= int(came[frame, state])
    return score, [strongest[at] for at in range(len(phones)) if at in strongest]


def measure(each: int) -> tuple[Floats, Floats, int, int]:
    """Mean row of every phone (39, 39), mean share of blank (39,), phones and utterances counted."""
    lexicon, rng = Lexicon(read_language_file("en", "pronunciations.toml")), random.Random(11)
    listed = (resources.files("bayvoice.ears") / "data" / "common_words.txt").read_text(encoding="utf-8")
    words = [*(line for line in listed.splitlines() if line.isalpha()), *sorted(grammar().words) * 4]
    # One right hearing of every phone to begin with, for those that are rare.
    acoustics, seen = Acoustics(), np.eye(len(PHONES), len(PHONES) + 1)
    counts, utterances = np.ones(len(PHONES)), 0
    for number in range(each * len(VOICES)):
        said = [rng.choice(words) for _ in range(3)]
        variants = list(product(*(lexicon(word)[:3] for word in said)))[:12]
        if not variants:
            continue
        sound = say(" ".join(said), VOICES[number % len(VOICES)], rng.randrange(120, 180))
        if number // len(VOICES) % 2:
            chance = np.random.default_rng(number)
            sound = at_snr(sound, noise(KINDS[number // 8 % (len(KINDS) - 1)], len(sound), chance), 10.0)
        logs, blank = (rows.astype(np.float64) for rows in acoustics.scores(sound))
        phones, (_, frames) = max(
            ((sum(v, ()), aligned(logs, blank, sum(v, ()))) for v in variants), key=lambda one: one[1][0]
        )
        if len(frames) != len(phones):
            continue
        utterances += 1
        for phone, frame in zip(phones, frames, strict=True):
            row = np.append(np.exp(logs[frame]), np.exp(blank[frame]))
            seen[phone] += row / row.sum()
            counts[phone] += 1
    shares = seen / counts[:, None]
    return shares[:, :-1], shares[:, -1], int(counts.sum()), utterances


def distances(shares: Floats) -> Floats:
    """(39, 39) in 0 to 1: logarithm of how often two phones are taken for each other, against how often they are right.

    The ratio is 1 where two are heard the same, and counts as `FLOOR` where it is less.
    """
    right = np.diag(shares)
    ratio = (shares + shares.T) / (right[:, None] + right[None, :])
    return np.asarray(np.log(np.clip(ratio, FLOOR, 1.0)) / np.log(FLOOR), dtype=np.float64)


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--each", type=int, default=300, help="utterances of each voice")
    parser.add_argument("--out", type=Path, default=OUT)
    asked = parser.parse_args()
    shares, missed, count, utterances = measure(asked.each)
    right = np.diag(shares)
    gaps = np.log(np.clip(missed / (missed + right), FLOOR, 1.0)) / np.log(FLOOR)

    def line(values: Floats) -> str:
        return " ".join(f"{min(99, round(100 * value)):02d}" for value in values)

    swaps = distances(shares)
    np.fill_diagonal(swaps, 0.0)
    table = "\n".join(f"{name:<2} {line(row)}" for name, row in zip(PHONES, swaps, strict=True))
    text = HEAD.format(
        count=count, utterances=utterances, swaps=table, gap=round(float(gaps.mean()), 2), digest=fingerprint()
    )
    asked.out.write_text(text, encoding="utf-8")
    near = sorted((swaps[a, b], PHONES[a], PHONES[b]) for a in range(len(PHONES)) for b in range(a))[:25]
    print(f"{count} phones in {utterances} utterances; right {right.mean():.2f} of the score at a phone's frame")
    print("nearest: " + ", ".join(f"{a}-{b} {far:.2f}" for far, a, b in near))


if __name__ == "__main__":
    main()
