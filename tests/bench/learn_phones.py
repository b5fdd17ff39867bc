"""Learn ``bayvoice/edges/ears/data/phones.npz``: the acoustic correction and the judge of the recogniser `phones`.

Usage: python -m tests.bench.learn_phones FOLDER [--small N] [--kokoro N MODEL VOCAB VOICES] [--seconds S] [--width N]
       [--every N] [--fresh] [--keep-judge] [--out FILE]

Needs torch (2.13 was used) and scipy for learning only; the product runs the result with numpy. Sources of speech and
their licences: `learn_speech`. FOLDER keeps the inputs so that a second run goes on from them.

1. Every utterance is taken once clean and once or twice with room, pace, level and noise (-1 to 22 dB) changed, and
   kept as rows of the speech network and mel rows beside its words.
2. A mixture of the network's tokens into phones and a convolutional correction of it are trained together with the CTC
   loss; words with several pronunciations draw one each time, and utterances are joined in pairs so that words stand in
   every context. Training goes on from the weights that ship, widened where `--width` asks for more units, or with
   `--fresh` begins from the IPA chart. The weights kept are a running mean over the last steps.
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
from itertools import islice
from pathlib import Path
from typing import Any, Final

import numpy as np
import soxr
from numpy.typing import NDArray
from scipy.optimize import minimize  # type: ignore[import-untyped, import-not-found, unused-ignore]
from scipy.signal import fftconvolve  # type: ignore[import-untyped, import-not-found, unused-ignore]

from bayvoice.edges.ears.phones import Phones
from bayvoice.edges.ears.phones_acoustics import BANDS, MIXING_FLOOR, Acoustics, learned, mel_bank, mel_rows
from bayvoice.edges.ears.pronounce import INDEX, IPA, PHONES, Lexicon
from tests.bench.hearing import GRAMMARS, grammar
from tests.bench.learn_speech import Kokoro, Said, small_voices, tuning_chatter, tuning_people
from tests.bench.material import FOREIGN, same
from tests.bench.noises import KINDS, RATE, Sound, at_snr, noise

OUT: Final = Path(__file__).resolve().parents[2] / "bayvoice" / "edges" / "ears" / "data" / "phones.npz"
Floats = NDArray[np.float32]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Taken:
    """One utterance as the network and the judge see it; `sound` only where the judge learns from it."""

    kind: str
    text: str
    voice: str
    rows: NDArray[np.float16]
    mel: NDArray[np.float16]


class Booth:
    """Changes sounds the way rooms, people and workshops do."""

    def __init__(self, talk: list[Sound], seed: int) -> None:
        self._talk = talk
        self._rng = np.random.default_rng(seed)

    def take(self, sound: Sound, noisy: bool) -> Sound:
        """One changed copy."""
        rng = self._rng
        if rng.random() < 0.7:
            sound = soxr.resample(sound, RATE, int(RATE * rng.uniform(0.86, 1.16)))
        if rng.random() < 0.12:
            sound = soxr.resample(soxr.resample(sound, RATE, 8000), 8000, RATE)
        if rng.random() < 0.35:
            room = rng.standard_normal(int(RATE * rng.uniform(0.1, 0.4)))
            room *= np.exp(-np.arange(len(room)) / RATE * 6.9 / rng.uniform(0.15, 0.6))
            room *= rng.uniform(0.1, 0.7) / np.sqrt((room**2).sum())
            room[0] = 1.0
            sound = fftconvolve(sound, room)[: len(sound) + 1600]
        before, after = (np.zeros(int(RATE * rng.uniform(0.05, 0.45)), np.float32) for _ in range(2))
        sound = np.concatenate([before, sound, after]).astype(np.float32)
        if noisy:
            kind = KINDS[int(rng.integers(len(KINDS) if self._talk else len(KINDS) - 1))]
            sound = at_snr(sound, noise(kind, len(sound), rng, self._talk), float(rng.uniform(-1, 22)))
        hiss = rng.standard_normal(len(sound)) * 10 ** rng.uniform(-5, -3)
        sound = sound / (np.abs(sound).max() + 1e-6) + hiss
        return np.asarray(sound * 10 ** rng.uniform(-1.0, -0.05), dtype=np.float32)


def take_all(spoken: Iterable[Said], booth: Booth, acoustics: Acoustics) -> list[Taken]:
    """Clean and noisy takes of every utterance."""
    bank, out = mel_bank(), []
    for kind, words, voice, sound in spoken:
        for noisy in (False, True) if voice != "person" else (False, True, True):
            changed = booth.take(sound, noisy)
            rows = acoustics.rows(changed)
            mel = mel_rows(changed, len(rows), bank)
            out.append(Taken(kind, words, voice, rows.astype(np.float16), mel.astype(np.float16)))
    return out


def first_mixing() -> Floats:
    """(tokens, phones + 1) by the IPA chart; what it does not name may still mean any phone, a little."""
    from hama import ASRModel

    tokens = ASRModel().decoder_tokens
    mixing = np.full((len(tokens), len(PHONES) + 1), 2e-3, np.float32)
    for number, token in enumerate(tokens):
        if token in ("<blank>", "<wb>"):
            mixing[number, -1] = 1.0
        elif token in IPA:
            mixing[number, INDEX[IPA[token]]] = 1.0
    return mixing


def widened(weights: dict[str, Floats], width: int, seed: int) -> dict[str, Floats]:
    """The same scores from `width` units in every layer: the new ones are random and nothing listens to them yet."""
    rng = np.random.default_rng(seed)
    had, inputs = weights["c1.weight"].shape[:2]
    more = width - had
    if more <= 0:
        return weights
    out = {name: value.astype(np.float32) for name, value in weights.items()}

    def drawn(rows: int, columns: int, gain: float) -> Floats:
        kernel = rng.standard_normal((rows, columns, 5)) * gain / np.sqrt(5 * columns)
        return np.asarray(kernel, dtype=np.float32)

    out["c1.weight"] = np.concatenate([out["c1.weight"], drawn(more, inputs, 1.4)])
    for name in ("c2", "c3"):
        kernel = drawn(width, width, 1.0)
        kernel[:had, :had], kernel[:had, had:] = out[f"{name}.weight"], 0
        out[f"{name}.weight"] = kernel
    for name in ("c1", "c2", "c3"):
        out[f"{name}.bias"] = np.append(out[f"{name}.bias"], np.zeros(more, np.float32))
    out["o.weight"] = np.pad(out["o.weight"], ((0, 0), (0, more), (0, 0)))
    return out


def paired(pool: list[Taken], rng: random.Random) -> list[Taken]:
    """`pool` with some neighbours joined into one take, 5 s at most."""
    out, at = list[Taken](), 0
    while at < len(pool):
        one, at = pool[at], at + 1
        if at < len(pool) and rng.random() < 0.3 and len(one.rows) + len(pool[at].rows) < 260:
            two, at = pool[at], at + 1
            rows, mel = np.concatenate([one.rows, two.rows]), np.concatenate([one.mel, two.mel])
            one = Taken("joined", f"{one.text} {two.text}", one.voice, rows, mel)
        out.append(one)
    return out


def train(
    takes: list[Taken], lexicon: Lexicon, seconds: float, start: dict[str, Floats], rate: float, seed: int = 0
) -> dict[str, Floats]:
    """Weights for `Acoustics`, trained for `seconds` from `start` with steps of `rate` at most."""
    import torch  # type: ignore[import-not-found, unused-ignore]
    from torch import nn  # type: ignore[import-not-found, unused-ignore]
    from torch.nn import functional  # type: ignore[import-not-found, unused-ignore]

    torch.manual_seed(seed)
    rng = random.Random(seed)
    tokens = takes[0].rows.shape[1]
    inputs = tokens + takes[0].mel.shape[1]
    width = len(start["c1.bias"])

    class Correction(nn.Module):  # type: ignore[misc, unused-ignore]
        def __init__(self) -> None:
            super().__init__()
            self.c1 = nn.Conv1d(inputs, width, 5, padding=2)
            self.c2 = nn.Conv1d(width, width, 5, padding=2)
            self.c3 = nn.Conv1d(width, width, 5, padding=4, dilation=2)
            self.o = nn.Conv1d(width, len(PHONES) + 1, 1)
            self.mixing = nn.Parameter(torch.zeros(tokens, len(PHONES) + 1))
            self.drop = nn.Dropout(0.15)

        def forward(self, joined: Any, chances: Any) -> Any:
            hidden = self.drop(functional.relu(self.c1(joined)))
            hidden = self.drop(hidden + functional.relu(self.c2(hidden)))
            hidden = self.drop(hidden + functional.relu(self.c3(hidden)))
            return self.o(hidden) + torch.log(torch.exp(self.mixing).t() @ chances + MIXING_FLOOR)

    def target(words: str) -> list[int]:
        out: list[int] = []
        for word in words.split():
            said = lexicon(word)
            out += said[0] if rng.random() < 0.7 else rng.choice(said)
        return out

    net = Correction()
    state = {name: torch.from_numpy(value.astype(np.float32)) for name, value in start.items()}
    state["mixing"] = torch.log(state["mixing"].clamp_min(1e-6))
    net.load_state_dict(state)
    mean = {name: value.detach().clone() for name, value in net.state_dict().items()}
    optimiser = torch.optim.AdamW(net.parameters(), lr=rate, weight_decay=1e-3)
    lexicon.prepare({word for one in takes for word in one.text.split()})
    takes = [one for one in takes if all(lexicon(word) for word in one.text.split())]
    people = [one for one in takes if one.kind == "people"]
    others = [one for one in takes if one.kind != "people"]
    began, step, part = time.monotonic(), 0, 0.0
    while part < 1.0:
        # People say few different words here: more of them than this and the network learns the words by heart.
        pool = others + rng.sample(people, min(len(people), len(others) * 30 // 100))
        rng.shuffle(pool)
        pool = paired(pool, rng)
        pool = [
            one for at in range(0, len(pool), 640) for one in sorted(pool[at : at + 640], key=lambda x: len(x.rows))
        ]
        batches = [pool[at : at + 32] for at in range(0, len(pool), 32)]
        rng.shuffle(batches)
        for batch in batches:
            part = (time.monotonic() - began) / seconds
            for group in optimiser.param_groups:
                group["lr"] = rate * min(1.0, (step + 1) / 100) * max(0.03, 0.5 * (1 + np.cos(np.pi * min(1, part))))
            labels = [target(one.text) for one in batch]
            longest = max(len(one.rows) for one in batch)
            joined = np.zeros((len(batch), longest, inputs), np.float32)
            chances = np.zeros((len(batch), longest, tokens), np.float32)
            for at, one in enumerate(batch):
                rows = one.rows.astype(np.float32)
                chances[at, : len(rows)] = np.exp(rows)
                joined[at, : len(rows), :tokens] = (np.clip(rows, -10, 0) + 10) / 10
                joined[at, : len(rows), tokens:] = one.mel
                # Now and then one of the two witnesses is silent, so that neither is relied on alone.
                if (which := rng.random()) < 0.06:
                    joined[at, :, :tokens] = 0
                    chances[at] = 0
                elif which < 0.18:
                    joined[at, :, tokens:] = 0
                for _ in range(2):
                    if rng.random() < 0.5:
                        frame, band = rng.randrange(len(rows)), rng.randrange(BANDS)
                        joined[at, frame : frame + rng.randrange(1, 7), tokens:] = 0
                        stop = min(BANDS, band + rng.randrange(2, 12))
                        for first in (tokens, tokens + BANDS):
                            joined[at, :, first + band : first + stop] = 0
            out = net(*(torch.from_numpy(x).transpose(1, 2) for x in (joined, chances))).permute(2, 0, 1)
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
            kept = min(0.998, step / (step + 20))
            for name, value in net.state_dict().items():
                mean[name].mul_(kept).add_(value, alpha=1 - kept)
            if step % 100 == 0:
                print(f"step {step}, loss {loss.item():.3f}", flush=True)
            if part >= 1.0:
                break
    weights = {name: value.detach().numpy() for name, value in mean.items()}
    weights["mixing"] = np.exp(weights["mixing"])
    return weights


def fresh(width: int, tokens: int, inputs: int, seed: int) -> dict[str, Floats]:
    """Weights whose scores are those of `first_mixing` alone."""
    empty: dict[str, Any] = {
        "c1.weight": np.zeros((0, inputs, 5)), "c1.bias": np.zeros(0), "c2.weight": np.zeros((0, 0, 5)),
        "c2.bias": np.zeros(0), "c3.weight": np.zeros((0, 0, 5)), "c3.bias": np.zeros(0),
        "o.weight": np.zeros((len(PHONES) + 1, 0, 1)), "o.bias": np.zeros(len(PHONES) + 1), "mixing": first_mixing(),
    }  # fmt: skip
    assert tokens == len(empty["mixing"])
    return widened({name: value.astype(np.float32) for name, value in empty.items()}, width, seed)


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


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--small", type=int, default=1600)
    parser.add_argument("--every", type=int, default=1, help="take every so many recordings of people; 1 is all")
    parser.add_argument("--kokoro", nargs=4, metavar=("N", "MODEL", "VOCAB", "VOICES"))
    parser.add_argument("--others", type=int, default=380, help="foreign single words the judge learns from")
    parser.add_argument("--seconds", type=float, default=600)
    parser.add_argument("--width", type=int, default=176)
    parser.add_argument("--rate", type=float, default=1.2e-3)
    parser.add_argument("--fresh", action="store_true", help="begin from the IPA chart, not from what ships")
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
        spoken = [*islice(tuning_people(), 0, None, args.every), *small_voices(args.small, 1, common)]
        if args.kokoro:
            model, vocabulary, folder = (Path(path) for path in args.kokoro[1:])
            spoken += Kokoro(model, vocabulary, folder).utterances(int(args.kokoro[0]), 2, common)
        takes = take_all(spoken, Booth(talk, 3), Acoustics())
        rng = random.Random(4)
        booth = Booth(talk, 5)
        rest = [
            (words, booth.take(sound, rng.random() < 0.5))
            for _, words, _, sound in rng.sample(spoken, min(1200, len(spoken)))
        ]
        # What is nearest to a command is another single word in noise: more of those than chance would bring.
        known = grammar().words
        outside = [(words, sound) for _, words, _, sound in spoken if len(words.split()) == 1 and words not in known]
        rest += [(words, booth.take(sound, rng.random() < 0.7)) for words, sound in rng.choices(outside, k=args.others)]
        rest += [("", sound) for sound in talk] + [
            ("", noise(kind, 2 * RATE, np.random.default_rng(6))) for kind in KINDS[:4]
        ]
        kept.write_bytes(pickle.dumps((takes, rest)))
    print(len(takes), "takes", len(FOREIGN), "sentences are kept for judging")
    if args.fresh:
        tokens, bands = takes[0].rows.shape[1], takes[0].mel.shape[1]
        start = fresh(args.width, tokens, tokens + bands, 7)
    else:
        start = widened(learned("net_"), args.width, 7)
    weights = train(takes, lexicon, args.seconds, start, args.rate)
    rule = learned("judge_")
    if not args.keep_judge:
        acoustics = Acoustics()
        acoustics.use(weights)
        rule = judge(*evidence(Phones(lexicon, acoustics), rest), tuple(args.through))
    write(args.out, weights, rule)
    return 0


if __name__ == "__main__":
    sys.exit(main())
