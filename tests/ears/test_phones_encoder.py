"""The encoder of `phones` against formulas of others: its filters, its layers, and its weights as they are kept."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import correlate
from scipy.special import erf, softmax

from bayvoice.ears.base import RATE
from bayvoice.ears.phones_acoustics import DATA, learned
from bayvoice.ears.phones_encoder import Encoder, convolve, mel_bank, packed, positions, unpacked

Floats = NDArray[np.float32]


def test_the_mel_scale_is_slaneys() -> None:
    """M. Slaney, Auditory Toolbox (1998), from memory: 200/3 Hz a mel to 1 kHz, from there 27 steps to 6.4 kHz."""
    bank = mel_bank()
    assert bank.shape == (201, 80)
    bins = np.arange(201) * RATE / 400
    centres = (bank * bins[:, None]).sum(axis=0) / bank.sum(axis=0)
    mels = np.where(centres < 1000, centres * 3 / 200, 15 + np.log(centres / 1000) / (np.log(6.4) / 27))
    top = 15 + np.log(8) / (np.log(6.4) / 27)
    # Few bins sample a narrow filter, so its centre of gravity lies beside its place by a part of a bin.
    assert mels == pytest.approx(np.linspace(0, top, 82)[1:-1], abs=0.25)
    area = bank[:, 50:].sum(axis=0) * RATE / 400
    assert area == pytest.approx(np.ones(30), rel=0.05)


@pytest.mark.parametrize("hertz", [300.0, 1000.0, 3000.0])
def test_a_tone_is_seen_in_its_band(hertz: float) -> None:
    tone = np.sin(2 * np.pi * hertz * np.arange(RATE) / RATE).astype(np.float32)
    mels = Encoder({}).mels(tone)
    assert mels.shape == (100, 80)
    bins = np.arange(201) * RATE / 400
    centres = (mel_bank() * bins[:, None]).sum(axis=0) / mel_bank().sum(axis=0)
    assert centres[int(mels[50].argmax())] == pytest.approx(hertz, rel=0.06)
    assert mels.max() - mels.min() == pytest.approx(2.0)  # eight decades by four


def test_convolution_is_scipys() -> None:
    rng = np.random.default_rng(1)
    rows, kernel = rng.standard_normal((20, 3)).astype(np.float32), rng.standard_normal((4, 3, 5)).astype(np.float32)
    bias = np.zeros(4, np.float32)
    ours = convolve(rows, kernel, bias)
    for out in range(4):
        theirs = sum(correlate(rows[:, one], kernel[out, one], "same") for one in range(3))
        assert ours[:, out] == pytest.approx(theirs, abs=1e-4)
    assert convolve(rows, kernel, bias, step=2) == pytest.approx(ours[::2], abs=1e-5)


def small_weights(width: int, rng: np.random.Generator) -> dict[str, Floats]:
    """An encoder of one layer."""
    shapes = {"c1": (width, 80, 3), "c2": (width, width, 3), "blocks.0.qkv": (3 * width, width)}
    shapes |= {"blocks.0.o": (width, width), "blocks.0.f1": (4 * width, width), "blocks.0.f2": (width, 4 * width)}
    out = {f"{name}.weight": rng.standard_normal(shape) * 0.1 for name, shape in shapes.items()}
    out |= {f"{name}.bias": rng.standard_normal(shape[0]) * 0.1 for name, shape in shapes.items()}
    for name in ("n", "blocks.0.n1", "blocks.0.n2"):
        out |= {f"{name}.weight": rng.uniform(0.5, 1.5, width), f"{name}.bias": rng.standard_normal(width) * 0.1}
    return {name: value.astype(np.float32) for name, value in out.items()}


def test_a_layer_is_the_published_one() -> None:
    """Vaswani et al., "Attention Is All You Need" (2017), equation 1, head by head, with the exact error function."""
    rng = np.random.default_rng(2)
    weights, width = small_weights(128, rng), 128
    sound = rng.standard_normal(8000).astype(np.float32)
    encoder = Encoder(weights)
    exact = {name: value.astype(np.float64) for name, value in weights.items()}

    def gelu(values: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(values * 0.5 * (1 + erf(values / np.sqrt(2))))

    def conv(rows: NDArray[np.float64], name: str, step: int) -> NDArray[np.float64]:
        padded = np.pad(rows, ((1, 1), (0, 0)))
        taps = [padded[at : at + 3].T for at in range(0, len(rows), step)]
        return np.stack([(exact[f"{name}.weight"] * tap).sum(axis=(1, 2)) for tap in taps]) + exact[f"{name}.bias"]

    def normed(rows: NDArray[np.float64], name: str) -> NDArray[np.float64]:
        spread = np.sqrt(rows.var(axis=1, keepdims=True) + 1e-5)
        out = (rows - rows.mean(axis=1, keepdims=True)) / spread
        return np.asarray(out * exact[f"{name}.weight"] + exact[f"{name}.bias"])

    def linear(rows: NDArray[np.float64], name: str) -> NDArray[np.float64]:
        return np.asarray(rows @ exact[f"{name}.weight"].T + exact[f"{name}.bias"])

    rows = gelu(conv(gelu(conv(encoder.mels(sound).astype(np.float64), "c1", 1)), "c2", 2))
    rows = rows + positions(len(rows), width)
    query, key, value = np.split(linear(normed(rows, "blocks.0.n1"), "blocks.0.qkv"), 3, axis=1)
    heads = []
    for at in range(0, width, 64):
        part = slice(at, at + 64)
        looks = softmax(query[:, part] @ key[:, part].T / np.sqrt(64), axis=1)
        heads.append(looks @ value[:, part])
    rows = rows + linear(np.concatenate(heads, axis=1), "blocks.0.o")
    rows = rows + linear(gelu(linear(normed(rows, "blocks.0.n2"), "blocks.0.f1")), "blocks.0.f2")
    assert encoder(sound) == pytest.approx(normed(rows, "n"), abs=5e-3)


def test_places_are_sines_and_cosines_of_geometric_wavelengths() -> None:
    found = positions(100, 8)
    assert found[0] == pytest.approx([0, 0, 0, 0, 1, 1, 1, 1])
    assert found[1, :4] == pytest.approx(np.sin([1, 10_000 ** (-1 / 3), 10_000 ** (-2 / 3), 1e-4]))


def test_eight_bits_keep_weights_to_half_a_step() -> None:
    weights = small_weights(64, np.random.default_rng(3))
    kept = packed(weights)
    assert kept["blocks.0.qkv.weight"].dtype == np.int8
    back = unpacked(kept)
    assert back.keys() == weights.keys()
    for name, value in weights.items():
        most = np.abs(value).max() / 127 * 0.51 if value.ndim > 1 else 1e-3
        assert np.abs(back[name] - value).max() <= most, name


def test_what_ships_is_complete_and_small() -> None:
    """Four layers of 384, read at 20 ms a row; under ten million bytes, since every clone carries it."""
    encoder = Encoder(unpacked(learned("enc_")))
    assert encoder(np.zeros(RATE, np.float32)).shape == (50, 384)
    assert DATA.stat().st_size < 10_000_000
