"""Learn ``bayvoice/ears/data/phones.npz``: the networks and the judge of the recogniser `phones`.

Usage: python -m tests.learn.phones FOLDER WHISPER [--small N] [--kokoro N MODEL VOCAB VOICES]
       [--sentences FOLDER] [--seconds S] [--threads N] [--more] [--judge-only] [--out FILE]

Needs torch, scipy and, for some of the speech, more: see `tests.learn.net` (also for WHISPER, the file the encoder
begins from) and `tests.learn.speech`. FOLDER keeps the speech so that a second run goes on from it.

1. Every round, every utterance is taken anew, three in four with noise (`tests.learn.booth`).
2. The encoder's layers above its convolutions and a small network behind them are trained together with the CTC loss
   (`tests.learn.net`). `--more` goes on from what ships.
3. The judge is a logistic rule on the evidence of utterances of the tuning half, right ones against wrong ones and
   foreign talk; its threshold lets through the given share of the foreign ones. It learns with the weights as they
   are packed.
"""

from __future__ import annotations

import argparse
import pickle
import random
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize  # type: ignore[import-untyped, import-not-found, unused-ignore]

from bayvoice.ears.phones import Phones
from bayvoice.ears.phones_acoustics import DATA, Acoustics, learned
from bayvoice.ears.phones_encoder import packed, unpacked
from bayvoice.ears.pronounce import Lexicon
from tests.bench.hearing import GRAMMARS, grammar
from tests.learn.booth import Booth
from tests.learn.speech import (
    Kokoro,
    Said,
    fresh_voices,
    small_voices,
    source_of,
    tuning_chatter,
    tuning_people,
    tuning_sentences,
)
from tests.material import same
from tests.noises import RATE, Sound

Floats = NDArray[np.float32]
Bools = NDArray[np.bool_]


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
        features.append(found.evidence.features())
        right.append(same(meant, active.match(found.path.words)) and meant is not None)
        foreign.append(meant is None)
        words_found.append(found.evidence.words)
    return np.stack(features), np.array(right), np.array(foreign), np.array(words_found, np.float32)


def trials(spoken: list[Said], fresh: list[Said]) -> list[tuple[str, Sound]]:
    """Texts and sounds the judge learns from, "" where nothing may be acted on.

    Most are by voices the networks have not heard: of those they have, they are surer than they will be of others.
    """
    talk, rng, known = tuning_chatter(), random.Random(4), grammar().words
    kokoro, small, people = (
        [one for one in spoken if source_of(one) == source] for source in ("natural", "small", "people")
    )
    booth = Booth(talk, [sound for _, words, _, sound in kokoro if len(words.split()) > 3], 5)
    chosen = fresh * 4 + people * 2
    for more in (small, kokoro):
        chosen += rng.sample(more, min(300, len(more)))
    # What is nearest to a command is another single word in noise: more of those than chance would bring.
    outside = [one for one in people + kokoro + fresh if len(one[1].split()) == 1 and one[1] not in known]
    chosen += rng.choices(outside, k=700)
    out = [(words, booth.take(sound, rng.random() < 0.7)) for _, words, _, sound in chosen]
    for sound in talk:
        out += [("", booth.take(sound, noisy)) for noisy in (False, True)]
        for _ in range(3):
            at = rng.randrange(max(1, len(sound) - 2 * RATE))
            piece = sound[at : at + rng.randrange(3 * RATE // 4, 2 * RATE)]
            out.append(("", booth.take(piece, rng.random() < 0.6)))
    return out + [("", booth.take(booth.noise(3 * RATE // 2), False)) for _ in range(60)]


def gather(args: argparse.Namespace) -> tuple[list[Said], list[Said]]:
    """The speech to learn from and that of fresh voices for the judge, made once and kept."""
    kept = args.folder / "speech.pkl"
    if kept.exists():
        spoken, fresh = pickle.loads(kept.read_bytes())
        return spoken, fresh
    listed = (DATA.parent / "common_words.txt").read_text("utf-8").split("\n")
    common = [line for line in listed if line and not line.startswith("#")]
    spoken = [*tuning_people(), *small_voices(args.small, 5, common)]
    if args.sentences:
        spoken += tuning_sentences(args.sentences)
    if args.kokoro:
        model, vocabulary, voices = (Path(path) for path in args.kokoro[1:])
        spoken += Kokoro(model, vocabulary, voices).utterances(int(args.kokoro[0]), 11, common)
    fresh = list(fresh_voices(args.fresh, 5, common))
    kept.write_bytes(pickle.dumps((spoken, fresh)))
    return spoken, fresh


def learn(spoken: list[Said], lexicon: Lexicon, args: argparse.Namespace) -> dict[str, NDArray[Any]]:
    """Arrays of the networks, as the data file has them."""
    import torch  # type: ignore[import-not-found, unused-ignore]

    from tests.learn.net import Lesson, Lessons, Reader, train, whisper

    torch.set_num_threads(args.threads)
    lexicon.prepare({word for _, words, _, _ in spoken for word in words.split()})
    lessons = [Lesson(source_of(one), one[1], one[3]) for one in spoken]
    net = Reader(whisper(args.whisper))
    if args.more:
        net.take(unpacked(learned("enc_")), unpacked(learned("net_")))
    train(
        net,
        Lessons(lessons, lexicon, tuning_chatter()),
        args.seconds,
        args.rate,
        args.encoder_rate,
        fresh=not args.more,
    )
    encoder, reader = net.parts()
    out = {f"enc_{name}": value for name, value in packed(encoder).items()}
    return out | {f"net_{name}": value for name, value in packed(reader).items()}


def main() -> int:
    """Run from the command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("whisper", type=Path)
    parser.add_argument("--small", type=int, default=3000)
    parser.add_argument("--kokoro", nargs=4, metavar=("N", "MODEL", "VOCAB", "VOICES"))
    parser.add_argument("--sentences", type=Path, help="folder of the model that writes down the people's sentences")
    parser.add_argument("--fresh", type=int, default=360, help="utterances of fresh voices the judge learns from")
    parser.add_argument("--seconds", type=float, default=3000)
    parser.add_argument("--rate", type=float, default=2e-3)
    parser.add_argument("--encoder-rate", type=float, default=1.5e-4)
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--more", action="store_true", help="go on from what ships")
    parser.add_argument("--judge-only", action="store_true", help="keep the networks that ship")
    parser.add_argument("--out", type=Path, default=DATA)
    parser.add_argument("--through", type=float, nargs=2, default=(0.022, 0.004))
    args = parser.parse_args()
    args.folder.mkdir(parents=True, exist_ok=True)
    lexicon = Lexicon((GRAMMARS / "pronunciations.toml").read_text("utf-8"))
    spoken, fresh = gather(args)
    if args.judge_only:
        arrays = {f"{part}{name}": value for part in ("enc_", "net_") for name, value in learned(part).items()}
    else:
        arrays = learn(spoken, lexicon, args)
    acoustics = Acoustics()
    acoustics.use(
        {name[4:]: value for name, value in arrays.items() if name.startswith("enc_")},
        {name[4:]: value for name, value in arrays.items() if name.startswith("net_")},
    )
    rule = judge(*evidence(Phones(lexicon, acoustics), trials(spoken, fresh)), tuple(args.through))
    arrays |= {f"judge_{name}": value for name, value in rule.items()}
    whole: dict[str, Any] = arrays
    np.savez_compressed(args.out, **whole)
    return 0


if __name__ == "__main__":
    sys.exit(main())
