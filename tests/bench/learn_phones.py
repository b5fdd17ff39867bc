"""Learn ``bayvoice/edges/ears/data/phones.npz``: the phone network and the judge of the recogniser `phones`.

Usage: python -m tests.bench.learn_phones FOLDER [--small N] [--kokoro N MODEL VOCAB VOICES] [--seconds S] [--width N]
       [--threads N] [--more] [--keep-judge] [--out FILE]

Needs torch (2.14 was used) and scipy for learning only; the product runs the result with numpy. Sources of speech and
their licences: `learn_speech`. FOLDER keeps the inputs so that a second run goes on from them.

1. Every utterance is taken once or twice clean and two to four times with room, pace, colour, level and noise (-3 to
   30 dB) changed, and kept as the rows of `Acoustics.inputs` beside its words.
2. A convolutional network is trained on them with the CTC loss; words with several pronunciations draw one each time,
   and utterances are joined in pairs so that words stand in every context. `--more` goes on from what ships. The
   weights kept are a running mean over the last steps.
3. The judge is a logistic rule on the evidence of utterances of the tuning half, right ones against wrong ones and
   foreign talk; its threshold lets through the given share of the foreign ones.
"""

from __future__ import annotations

import argparse
import pickle
import random
import sys
import time
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
import soxr
from numpy.typing import NDArray
from scipy.optimize import minimize  # type: ignore[import-untyped, import-not-found, unused-ignore]
from scipy.signal import fftconvolve  # type: ignore[import-untyped, import-not-found, unused-ignore]

from bayvoice.edges.ears.phones import Phones
from bayvoice.edges.ears.phones_acoustics import BANDS, FEATURES, Acoustics, learned
from bayvoice.edges.ears.pronounce import PHONES, Lexicon
from tests.bench.hearing import GRAMMARS, grammar
from tests.bench.learn_speech import Kokoro, Said, small_voices, tuning_chatter, tuning_people
from tests.bench.material import FOREIGN, same
from tests.bench.noises import KINDS, RATE, Sound, at_snr, noise

OUT: Final = Path(__file__).resolve().parents[2] / "bayvoice" / "edges" / "ears" / "data" / "phones.npz"
Floats = NDArray[np.float32]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Taken:
    """One utterance as the network sees it: kind, words, who speaks, and the rows of `Acoustics.inputs`."""

    kind: str
    text: str
    voice: str
    rows: NDArray[np.float16]


class Booth:
    """Changes sounds the way rooms, people and workshops do."""

    def __init__(self, talk: list[Sound], seed: int) -> None:
        self._talk = talk
        self._rng = np.random.default_rng(seed)

    def take(self, sound: Sound, noisy: bool) -> Sound:
        """One changed copy."""
        rng = self._rng
        if rng.random() < 0.6:
            sound = soxr.resample(sound, RATE, int(RATE * rng.uniform(0.88, 1.14)))
        if rng.random() < 0.1:
            sound = soxr.resample(soxr.resample(sound, RATE, 8000), 8000, RATE)
        if rng.random() < 0.4:
            sound = self._coloured(sound, 8)
        if rng.random() < 0.35:
            room = rng.standard_normal(int(RATE * rng.uniform(0.1, 0.4)))
            room *= np.exp(-np.arange(len(room)) / RATE * 6.9 / rng.uniform(0.15, 0.6))
            room *= rng.uniform(0.1, 0.7) / np.sqrt((room**2).sum())
            room[0] = 1.0
            sound = fftconvolve(sound, room)[: len(sound) + 1600]
        before, after = (np.zeros(int(RATE * rng.uniform(0.05, 0.45)), np.float32) for _ in range(2))
        sound = np.concatenate([before, sound, after]).astype(np.float32)
        if noisy:
            level = rng.uniform(-3, 20) if rng.random() < 0.85 else rng.uniform(20, 30)
            sound = at_snr(sound, self._noise(len(sound)), float(level))
        sound = sound / (np.abs(sound).max() + 1e-6) + rng.standard_normal(len(sound)) * 10 ** rng.uniform(-5, -3)
        return np.asarray(sound * (0.5 / np.abs(sound).max()), dtype=np.float32)

    def _coloured(self, sound: Sound, most_db: float) -> Sound:
        """`sound` through a filter drawn at random, as another microphone or place would have it."""
        size = len(sound)
        knots = np.array([0, 150, 400, 1000, 2000, 4000, 8000])
        gain = np.interp(np.fft.rfftfreq(size, 1 / RATE), knots, self._rng.uniform(-most_db, most_db, len(knots)))
        return np.asarray(np.fft.irfft(np.fft.rfft(sound) * 10 ** (gain / 20), size), dtype=np.float32)

    def _noise(self, size: int) -> Sound:
        """Noise of one kind or two, its colour changed now and then: no bay sounds like our noises exactly."""
        rng = self._rng
        kind = "babble" if rng.random() < 0.25 else KINDS[int(rng.integers(4))]
        out = noise(kind, size, rng, self._talk)
        if rng.random() < 0.25:
            out = out + noise(KINDS[int(rng.integers(5))], size, rng, self._talk) * rng.uniform(0.2, 0.8)
        if rng.random() < 0.4:
            out = self._coloured(out, 10)
        if rng.random() < 0.2:
            swell = np.interp(np.arange(size), np.linspace(0, size, 5), rng.uniform(0.3, 1.5, 5))
            out = out * swell.astype(np.float32)
        return np.asarray(out, dtype=np.float32)


def take_all(spoken: Iterable[Said], booth: Booth, acoustics: Acoustics) -> list[Taken]:
    """Clean and noisy takes of every utterance; of people, who are few, more."""
    out = []
    for kind, words, voice, sound in spoken:
        noisy = (False, False, True, True, True, True) if kind == "people" else (False, True, True, True)
        for one in noisy:
            rows = acoustics.inputs(booth.take(sound, one))
            out.append(Taken(kind, words, voice, rows.astype(np.float16)))
    return out


def paired(pool: list[Taken], rng: random.Random) -> list[Taken]:
    """`pool` with some neighbours joined into one take, 5.5 s at most."""
    out, at = list[Taken](), 0
    while at < len(pool):
        one, at = pool[at], at + 1
        if at < len(pool) and rng.random() < 0.25 and len(one.rows) + len(pool[at].rows) < 230:
            two, at = pool[at], at + 1
            one = Taken("joined", f"{one.text} {two.text}", one.voice, np.concatenate([one.rows, two.rows]))
        out.append(one)
    return out


def batch_of(takes: list[Taken], rng: random.Random) -> Floats:
    """(batch, T, inputs) with holes: now and then one of the two witnesses is silent, or a moment, or some bands."""
    longest = max(len(one.rows) for one in takes)
    out = np.zeros((len(takes), longest, takes[0].rows.shape[1]), np.float32)
    for at, one in enumerate(takes):
        size = len(one.rows)
        out[at, :size] = one.rows
        if rng.random() < 0.25:
            out[at, :, FEATURES:] = 0
        for _ in range(2):
            if rng.random() < 0.4:
                frame = rng.randrange(size)
                out[at, frame : frame + rng.randrange(1, 5)] = 0
        if rng.random() < 0.5:
            band = rng.randrange(BANDS)
            stop = min(BANDS, band + rng.randrange(2, 10))
            for first in (FEATURES, FEATURES + BANDS):
                out[at, :, first + band : first + stop] = 0
    out[:, :, :FEATURES] += np.random.default_rng(rng.randrange(1 << 30)).normal(0, 0.1, (*out.shape[:2], FEATURES))
    return out


def train(
    takes: list[Taken],
    lexicon: Lexicon,
    seconds: float,
    width: int,
    rate: float,
    people: float,
    start: dict[str, Floats] | None = None,
    seed: int = 0,
) -> dict[str, Floats]:
    """Weights for `Acoustics`, trained for `seconds`.

    Args:
        takes: what to learn from; lexicon: how its words are said.
        width: units of a layer; rate: step size at most.
        people: recordings of people in each round, as a share of all takes. They say few different words here: with
            too many of them the network learns the words by heart.
        start: weights to go on from.
    """
    import torch  # type: ignore[import-not-found, unused-ignore]
    from torch import nn  # type: ignore[import-not-found, unused-ignore]
    from torch.nn import functional  # type: ignore[import-not-found, unused-ignore]

    torch.manual_seed(seed)
    rng = random.Random(seed)
    inputs, labels_of = takes[0].rows.shape[1], len(PHONES) + 1

    class Reader(nn.Module):  # type: ignore[misc, unused-ignore]
        def __init__(self) -> None:
            super().__init__()
            later = [nn.Conv1d(width, width, 5, padding=2) for _ in range(2)]
            self.c = nn.ModuleList([nn.Conv1d(inputs, width, 3, padding=1), *later])
            self.o = nn.Conv1d(width, labels_of, 1)
            self.drop, self.first_drop = nn.Dropout(0.15), nn.Dropout(0.1)

        def forward(self, rows: Any) -> Any:
            hidden = self.drop(functional.relu(self.c[0](self.first_drop(rows))))
            for layer in self.c[1:]:
                hidden = self.drop(hidden + functional.relu(layer(hidden)))
            return self.o(hidden)

    def target(words: str) -> list[int]:
        out: list[int] = []
        for word in words.split():
            said = lexicon(word)
            out += said[0] if rng.random() < 0.7 else rng.choice(said)
        return out

    net = Reader()
    if start:
        net.load_state_dict({name: torch.from_numpy(value.astype(np.float32)) for name, value in start.items()})
    mean = {name: value.detach().clone() for name, value in net.state_dict().items()}
    optimiser = torch.optim.AdamW(net.parameters(), lr=rate, weight_decay=1e-2)
    lexicon.prepare({word for one in takes for word in one.text.split()})
    takes = [one for one in takes if one.text and all(lexicon(word) for word in one.text.split())]
    said = [one for one in takes if one.kind == "people"]
    natural = [one for one in takes if one.kind != "people" and one.voice[2:3] == "_"]
    others = [one for one in takes if one.kind != "people" and one.voice[2:3] != "_"]
    began, step, part = time.monotonic(), 0, 0.0
    while part < 1.0:
        pool = natural + rng.sample(others, len(others) * 6 // 10)
        pool += rng.sample(said, min(len(said), int(people * len(natural + others))))
        rng.shuffle(pool)
        pool = paired(pool, rng)
        pool = [
            one for at in range(0, len(pool), 960) for one in sorted(pool[at : at + 960], key=lambda x: len(x.rows))
        ]
        batches = [pool[at : at + 32] for at in range(0, len(pool), 32)]
        rng.shuffle(batches)
        for batch in batches:
            part = (time.monotonic() - began) / seconds
            for group in optimiser.param_groups:
                group["lr"] = rate * min(1.0, (step + 1) / 200) * max(0.02, 0.5 * (1 + np.cos(np.pi * min(1, part))))
            labels = [target(one.text) for one in batch]
            out = net(torch.from_numpy(batch_of(batch, rng)).transpose(1, 2)).permute(2, 0, 1)
            loss = functional.ctc_loss(
                functional.log_softmax(out, -1),
                torch.tensor([phone for label in labels for phone in label]),
                torch.tensor([len(one.rows) for one in batch]),
                torch.tensor([len(label) for label in labels]),
                blank=len(PHONES),
                zero_infinity=True,
            )
            optimiser.zero_grad()
            loss.backward()
            nn.utils.clip_grad_norm_(net.parameters(), 5.0)
            optimiser.step()
            step += 1
            kept = min(0.999, step / (step + 20))
            for name, value in net.state_dict().items():
                mean[name].mul_(kept).add_(value, alpha=1 - kept)
            if step % 200 == 0:
                print(f"step {step}, {part:.0%}, loss {loss.item():.3f}", flush=True)
            if part >= 1.0:
                break
    return {name: value.detach().numpy() for name, value in mean.items()}


def judge(
    features: Floats, right: Bools, foreign: Bools, words: Floats, through: tuple[float, float]
) -> dict[str, Any]:
    """Logistic rules for single words and for more; `through` of all foreign ones stand by either."""
    rows: dict[str, list[Any]] = {"weight": [], "bias": [], "least": []}
    # A wrong value is caught when it is read back; foreign talk that acts is not.
    weight, sign = np.where(right, 1.0, np.where(foreign, 2.5, 0.3)), np.where(right, 1.0, -1.0)
    for part, share in zip((words == 1, words > 1), through, strict=True):
        mean, spread = features[part].mean(axis=0), features[part].std(axis=0) + 1e-6
        at = _logistic((features[part] - mean) / spread, sign[part], weight[part])
        plain = at[:-1] / spread
        bias = at[-1] - float(plain @ mean)
        odds = np.sort(features[part & foreign] @ plain + bias)[::-1]
        rows["weight"].append(plain)
        rows["bias"].append(bias)
        rows["least"].append(odds[min(len(odds) - 1, int(share * foreign.sum()))])
    return {name: np.asarray(value, np.float32) for name, value in rows.items()}


def _logistic(scaled: Floats, sign: NDArray[np.float64], weight: NDArray[np.float64]) -> NDArray[np.float64]:
    """Weights and bias (last) of a logistic rule with a quadratic penalty."""

    def loss(at: NDArray[np.float64]) -> tuple[float, NDArray[np.float64]]:
        odds = scaled @ at[:-1] + at[-1]
        slope = -sign / (1 + np.exp(sign * odds)) * weight
        value = (weight * np.logaddexp(0, -sign * odds)).sum() + (at[:-1] ** 2).sum()
        return float(value), np.append(scaled.T @ slope + 2 * at[:-1], slope.sum())

    found = minimize(loss, np.zeros(scaled.shape[1] + 1), jac=True, method="L-BFGS-B").x
    return np.asarray(found, dtype=np.float64)


def evidence(recogniser: Phones, heard: Iterable[tuple[str, Sound]]) -> tuple[Floats, Bools, Bools, Floats]:
    """Features of the judge, whether each was right or foreign, and how many words it has, for texts and sounds."""
    active = grammar()
    recogniser.use(active)
    features, right, foreign, words_found = [], [], [], []
    for words, sound in heard:
        found = recogniser.examine(sound)
        if found is None:
            continue
        meant = active.match(words.split()) if words else None
        if meant is None and words and not active.words.isdisjoint(words.split()):
            continue  # half of it is the product's own talk: neither right nor foreign
        features.append(found[1].features())
        right.append(same(meant, active.match(found[0].words)) and meant is not None)
        foreign.append(meant is None)
        words_found.append(found[1].words)
    return np.stack(features), np.array(right), np.array(foreign), np.array(words_found, np.float32)


def write(out: Path, weights: dict[str, Floats], rule: dict[str, Any]) -> None:
    """Pack both into `out`, by default the product's data file."""
    arrays: dict[str, Any] = {f"net_{name}": value.astype(np.float16) for name, value in weights.items()}
    arrays |= {f"judge_{name}": value for name, value in rule.items()}
    np.savez_compressed(out, **arrays)


def trials(spoken: list[Said], talk: list[Sound], others: int) -> list[tuple[str, Sound]]:
    """Texts and sounds the judge learns from, "" where nothing may be acted on."""
    rng, booth = random.Random(4), Booth(talk, 5)
    out = [
        (words, booth.take(sound, rng.random() < 0.65))
        for _, words, _, sound in rng.sample(spoken, min(1600, len(spoken)))
    ]
    # What is nearest to a command is another single word in noise: more of those than chance would bring.
    known = grammar().words
    outside = [(words, sound) for _, words, _, sound in spoken if len(words.split()) == 1 and words not in known]
    out += [(words, booth.take(sound, rng.random() < 0.7)) for words, sound in rng.choices(outside, k=others)]
    out += [("", sound) for sound in talk] + [("", booth.take(sound, True)) for sound in talk for _ in range(2)]
    out += [("", noise(kind, 2 * RATE, np.random.default_rng(seed), talk)) for kind in KINDS for seed in range(4)]
    return out


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--small", type=int, default=3000)
    parser.add_argument("--kokoro", nargs=4, metavar=("N", "MODEL", "VOCAB", "VOICES"))
    parser.add_argument("--others", type=int, default=500, help="foreign single words the judge learns from")
    parser.add_argument("--seconds", type=float, default=1380)
    parser.add_argument("--width", type=int, default=192)
    parser.add_argument("--rate", type=float, default=2e-3)
    parser.add_argument("--people", type=float, default=0.12, help="recordings of people, as a share of all takes")
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--more", action="store_true", help="go on from what ships")
    parser.add_argument("--keep-judge", action="store_true", help="learn the acoustic part only")
    parser.add_argument("--out", type=Path, default=OUT)
    parser.add_argument("--through", type=float, nargs=2, default=(0.01, 0.004))
    args = parser.parse_args()
    args.folder.mkdir(parents=True, exist_ok=True)
    lexicon = Lexicon((GRAMMARS / "pronunciations.toml").read_text("utf-8"))
    listed = (OUT.parent / "common_words.txt").read_text("utf-8").split("\n")
    common = [line for line in listed if line and not line.startswith("#")]
    talk = tuning_chatter()
    kept = args.folder / "takes.pkl"
    if kept.exists():
        takes, rest = pickle.loads(kept.read_bytes())
    else:
        spoken = [*tuning_people(), *small_voices(args.small, 1, common)]
        if args.kokoro:
            model, vocabulary, folder = (Path(path) for path in args.kokoro[1:])
            spoken += Kokoro(model, vocabulary, folder).utterances(int(args.kokoro[0]), 2, common)
        takes = take_all(spoken, Booth(talk, 3), Acoustics())
        rest = trials(spoken, talk, args.others)
        kept.write_bytes(pickle.dumps((takes, rest)))
    print(len(takes), "takes", len(FOREIGN), "sentences are kept for judging")
    import torch

    torch.set_num_threads(args.threads)
    start = learned("net_") if args.more else None
    weights = train(takes, lexicon, args.seconds, args.width, args.rate, args.people, start)
    rule = learned("judge_")
    if not args.keep_judge:
        acoustics = Acoustics()
        acoustics.use(weights)
        rule = judge(*evidence(Phones(lexicon, acoustics), rest), tuple(args.through))
    write(args.out, weights, rule)
    return 0


if __name__ == "__main__":
    sys.exit(main())
