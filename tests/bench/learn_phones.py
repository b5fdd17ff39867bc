"""Learn ``bayvoice/edges/ears/data/phones.npz``: the acoustic correction and the judge of the recogniser `phones`.

Usage: python -m tests.bench.learn_phones FOLDER [--small N] [--kokoro N MODEL VOCAB VOICES] [--seconds S]

Needs torch (2.13 was used) and scipy for learning only; the product runs the result with numpy. Sources of speech and
their licences: `learn_speech`. FOLDER keeps the inputs so that a second run goes on from them.

1. Every utterance is taken once clean and once or twice with room, pace, level and noise (0 to 22 dB) changed, and kept
   as rows of the speech network and mel rows beside its words.
2. A mixture of the network's tokens into phones, begun from the IPA chart, and a convolutional correction of it, begun
   from zero, are trained together with the CTC loss; words with several pronunciations draw one each time.
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
from bayvoice.edges.ears.phones_acoustics import MIXING_FLOOR, Acoustics, mel_bank, mel_rows
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
            sound = at_snr(sound, noise(kind, len(sound), rng, self._talk), float(rng.uniform(0, 22)))
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


def train(takes: list[Taken], lexicon: Lexicon, seconds: float, width: int, seed: int = 0) -> dict[str, Floats]:
    """Weights for `Acoustics`, trained for `seconds`."""
    import torch  # type: ignore[import-not-found, unused-ignore]
    from torch import nn  # type: ignore[import-not-found, unused-ignore]
    from torch.nn import functional  # type: ignore[import-not-found, unused-ignore]

    torch.manual_seed(seed)
    rng = random.Random(seed)
    tokens = takes[0].rows.shape[1]
    inputs = tokens + takes[0].mel.shape[1]

    class Correction(nn.Module):  # type: ignore[misc, unused-ignore]
        def __init__(self) -> None:
            super().__init__()
            self.c1 = nn.Conv1d(inputs, width, 5, padding=2)
            self.c2 = nn.Conv1d(width, width, 5, padding=2)
            self.c3 = nn.Conv1d(width, width, 5, padding=4, dilation=2)
            self.o = nn.Conv1d(width, len(PHONES) + 1, 1)
            self.mixing = nn.Parameter(torch.log(torch.from_numpy(first_mixing())))
            self.drop = nn.Dropout(0.1)
            nn.init.zeros_(self.o.weight)
            nn.init.zeros_(self.o.bias)

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
    optimiser = torch.optim.Adam(net.parameters(), lr=2e-3)
    lexicon.prepare({word for one in takes for word in one.text.split()})
    takes = [one for one in takes if all(lexicon(word) for word in one.text.split())]
    people = [one for one in takes if one.kind == "people"]
    others = [one for one in takes if one.kind != "people"]
    began, step, part = time.monotonic(), 0, 0.0
    while part < 1.0:
        # People say few different words here: more of them than this and the network learns the words by heart.
        pool = others + rng.sample(people, min(len(people), len(others) * 35 // 100))
        rng.shuffle(pool)
        pool = [
            one for at in range(0, len(pool), 640) for one in sorted(pool[at : at + 640], key=lambda x: len(x.rows))
        ]
        batches = [pool[at : at + 32] for at in range(0, len(pool), 32)]
        rng.shuffle(batches)
        for batch in batches:
            part = (time.monotonic() - began) / seconds
            for group in optimiser.param_groups:
                group["lr"] = 2e-3 * min(1.0, (step + 1) / 200) * max(0.02, 0.5 * (1 + np.cos(np.pi * min(1, part))))
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
                if (which := rng.random()) < 0.07:
                    joined[at, :, :tokens] = chances[at] = 0
                elif which < 0.14:
                    joined[at, :, tokens:] = 0
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
            if step % 100 == 0:
                print(f"step {step}, loss {loss.item():.3f}", flush=True)
            if part >= 1.0:
                break
    weights = {name: value.detach().numpy() for name, value in net.state_dict().items()}
    weights["mixing"] = np.exp(weights["mixing"])
    return weights


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


def write(weights: dict[str, Floats], rule: dict[str, Any]) -> None:
    """Pack both into the product's data file."""
    arrays: dict[str, Any] = {f"net_{name}": value.astype(np.float16) for name, value in weights.items()}
    arrays |= {f"judge_{name}": value for name, value in rule.items()}
    np.savez_compressed(OUT, **arrays)


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--small", type=int, default=1600)
    parser.add_argument("--kokoro", nargs=4, metavar=("N", "MODEL", "VOCAB", "VOICES"))
    parser.add_argument("--seconds", type=float, default=600)
    parser.add_argument("--width", type=int, default=128)
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
        rng = random.Random(4)
        booth = Booth(talk, 5)
        rest = [(words, booth.take(sound, rng.random() < 0.5)) for _, words, _, sound in rng.sample(spoken, 1200)]
        rest += [("", sound) for sound in talk] + [
            ("", noise(kind, 2 * RATE, np.random.default_rng(6))) for kind in KINDS[:4]
        ]
        kept.write_bytes(pickle.dumps((takes, rest)))
    print(len(takes), "takes", len(FOREIGN), "sentences are kept for judging")
    weights = train(takes, lexicon, args.seconds, args.width)
    write(weights, {"weight": np.zeros((2, 10)), "bias": np.zeros(2), "least": np.zeros(2)})
    write(weights, judge(*evidence(Phones(lexicon), rest), tuple(args.through)))
    return 0


if __name__ == "__main__":
    sys.exit(main())
