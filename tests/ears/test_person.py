"""What is learned of one person's speech: how it is found, applied, kept, and passed over where it does not fit."""

from __future__ import annotations

import itertools
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from bayvoice.ears import person
from bayvoice.ears.base import Hearing
from bayvoice.ears.choose import choose, lexicon_of
from bayvoice.ears.person import Adaptation, PersonalLexicon, PersonalPhones
from bayvoice.ears.person_learn import LOUD_DB, Learner, Score, Take, align, loud
from bayvoice.ears.pronounce import INDEX, PHONES, Lexicon
from bayvoice.errors import BayError
from bayvoice.language.risk import LEAST
from bayvoice.runtime.grammars import LANGUAGE, grammars_for
from tests.espeak import say

KINDS = len(PHONES)


@pytest.fixture(autouse=True)
def data_here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A data directory of the test's own."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    return tmp_path


def an_adaptation(name: str = "Imre", bias: float = -0.2) -> Adaptation:
    """TH is said as S half of the time, and "three" begins with a Z."""
    mixing = np.eye(KINDS, dtype=np.float32)
    mixing[INDEX["TH"], [INDEX["TH"], INDEX["S"]]] = 0.5
    said = {"three": (tuple(INDEX[phone] for phone in ("Z", "R", "IY")),)}
    return Adaptation(name, mixing, said, bias, person.fingerprint(), "told")


def test_what_is_kept_is_what_comes_back() -> None:
    """Any writing of the name finds it, and it is gone when it is forgotten."""
    kept = an_adaptation("Dalia  Ó Néill")
    path = person.store(kept)
    assert path.stat().st_size < 20_000
    found, said = person.adaptation_of("dalia ó néill")
    assert found is not None
    assert not said
    assert np.allclose(found.mixing, kept.mixing)
    assert (found.said, found.bias, found.fingerprint, found.told) == (
        kept.said,
        kept.bias,
        kept.fingerprint,
        kept.told,
    )
    assert person.adaptation_of("Dalia") == (None, ())
    assert person.forget("DALIA Ó NÉILL")
    assert not person.forget("Dalia Ó Néill")
    assert person.adaptation_of("Dalia Ó Néill") == (None, ())


def change(key: str, value: Any) -> Callable[[Path], None]:
    """Put something else under one key of the file."""

    def edit(path: Path) -> None:
        body = json.loads(path.read_text("utf-8"))
        body[key] = value
        path.write_text(json.dumps(body), "utf-8")

    return edit


@pytest.mark.parametrize(
    ("edit", "why"),
    [
        (change("fingerprint", "0" * 64), "another version"),
        (change("format", 99), "damaged"),
        (change("bias", float("nan")), "damaged"),
        (change("bias", 5.0), "damaged"),
        (change("mixing", {"TH": {"S": 1.5}}), "damaged"),
        (change("mixing", {"TH": {"S": 2.0, "TH": -1.0}}), "damaged"),
        (change("mixing", {"XX": {"S": 1.0}}), "damaged"),
        (change("said", {"three": ["S R QQ"]}), "damaged"),
        (change("said", {"three": [""]}), "damaged"),
        (change("said", []), "damaged"),
        (lambda path: path.write_bytes(b"\xff\x00{"), "damaged"),
        (lambda path: path.write_bytes(path.read_bytes()[:100]), "damaged"),
        (lambda path: path.write_text("[" * 100_000, "utf-8"), "damaged"),
        (lambda path: path.write_text("[]", "utf-8"), "damaged"),
        (lambda path: (path.unlink(), path.mkdir()), "cannot be read"),
    ],
)
def test_what_does_not_fit_is_passed_over_with_one_sentence(edit: Callable[[Path], None], why: str) -> None:
    """Whatever has become of the file, work goes on without it."""
    edit(person.store(an_adaptation()))
    found, said = person.adaptation_of("Imre")
    assert found is None
    assert len(said) == 1
    assert why in said[0]
    assert "Imre" in said[0]
    assert said[0].endswith(".")


@pytest.mark.parametrize("name", ["", "  ", "../..", "12", "a\x00b", "x" * 61, "/"])
def test_what_is_no_name_is_refused(name: str) -> None:
    """A name becomes part of a path."""
    with pytest.raises(BayError):
        person.store(an_adaptation(name))


@given(st.text(max_size=80))
def test_no_name_leads_out_of_the_folder(name: str) -> None:
    """Whatever is given for a name."""
    try:
        path = person.path_of(name)
    except BayError:
        return
    assert path.parent == person.people_folder()
    assert path.name.isascii()
    assert len(path.name) < 60


def test_a_phone_said_as_another_is_heard_as_both() -> None:
    """Shares of chances: by hand, 0.5 * 0.1 + 0.5 * 0.7 = 0.4."""
    chances = np.full((1, KINDS), 0.001, dtype=np.float32)
    chances[0, INDEX["TH"]], chances[0, INDEX["S"]] = 0.1, 0.7
    got = np.exp(person.corrected(np.log(chances), an_adaptation().mixing))
    assert got[0, INDEX["TH"]] == pytest.approx(0.4, rel=1e-4)
    rest = [phone for phone in range(KINDS) if phone != INDEX["TH"]]
    assert np.allclose(got[0, rest], chances[0, rest], rtol=1e-4)


def heard(adapted: Adaptation | None, sound: NDArray[np.float32]) -> Hearing:
    """One utterance, everything a job could hear being allowed, by the recogniser of one person or of everybody."""
    grammar = grammars_for(None).state("any")
    recogniser, _ = choose("phones", grammar.words, lexicon=lexicon_of(LANGUAGE), adapted=adapted)
    assert isinstance(recogniser, PersonalPhones) == (adapted is not None)
    recogniser.use(grammar)
    recogniser.begin()
    recogniser.feed(sound)
    guess, found = recogniser.guess(), recogniser.finish()
    recogniser.close()
    assert guess == found
    return found


def test_the_odds_of_a_person_are_shifted_once() -> None:
    """In a guess as at the end."""
    sound = say("three")
    nothing = Adaptation("Imre", np.eye(KINDS, dtype=np.float32), {}, -0.25, person.fingerprint())
    plain, shifted = heard(None, sound), heard(nothing, sound)
    assert plain.words == shifted.words == ("three",)
    assert plain.sure is not None
    assert shifted.sure == pytest.approx(plain.sure - 0.25, abs=1e-3)


def test_a_pronunciation_of_ones_own_is_heard() -> None:
    """Someone who says "lemonade" for help; the CMU dictionary writes it L EH M AH N EY D."""
    sound = say("lemonade")
    said = {"help": (tuple(INDEX[phone] for phone in ("L", "EH", "M", "AH", "N", "EY", "D")),)}
    own = Adaptation("Imre", np.eye(KINDS, dtype=np.float32), said, 0.0, person.fingerprint())
    plain, taught = heard(None, sound), heard(own, sound)
    assert plain.words != ("help",) or plain.why
    assert taught.words == ("help",)
    assert not taught.why


@pytest.mark.parametrize(("sure", "bias"), list(itertools.product((LEAST - 0.1, LEAST + 0.1), (-0.3, 0.0, 0.3))))
def test_a_shift_decides_anew_what_is_refused(sure: float, bias: float) -> None:
    """Refused is what is less sure than anybody would ask about, and nothing else."""
    before = Hearing("phones", ("yes",), why="" if sure >= LEAST else "not clear enough to act on", sure=sure)
    after = person.shifted(before, bias)
    assert after.sure == pytest.approx(sure + bias)
    assert bool(after.why) == (sure + bias < LEAST)


def test_the_lexicon_of_a_person_knows_everybodys_pronunciations_first() -> None:
    """CMU dictionary: three is TH R IY."""
    own = PersonalLexicon(Lexicon(), an_adaptation().said)
    own.prepare(["three", "two"])
    assert [" ".join(PHONES[phone] for phone in one) for one in own("three")] == ["TH R IY", "Z R IY"]
    assert own("two") == Lexicon()("two")


@given(st.integers(1, 6), st.lists(st.integers(0, 2), min_size=1, max_size=3), st.integers(0, 10_000))
def test_the_alignment_is_the_best_of_all(frames: int, labels: list[int], seed: int) -> None:
    """Against every path tried one by one, collapsed as CTC defines it (Graves et al., 2006, section 3.1)."""
    rng = np.random.default_rng(seed)
    emissions = rng.normal(size=(frames, 3)).astype(np.float32)
    blank = rng.normal(size=frames).astype(np.float32)
    scores = np.concatenate([emissions, blank[:, None]], axis=1)
    best = -np.inf
    for path in itertools.product(range(4), repeat=frames):
        if [one for one, _ in itertools.groupby(path) if one != 3] == labels:
            best = max(best, float(sum(scores[at, one] for at, one in enumerate(path))))
    which, total = align(emissions, blank, labels)
    if best == -np.inf:
        assert total < -1e20
        assert (which == -1).all()
        return
    assert total == pytest.approx(best, abs=1e-4)
    taken = [labels[one] if one >= 0 else 3 for one in which]
    assert float(sum(scores[at, one] for at, one in enumerate(taken))) == pytest.approx(best, abs=1e-4)
    assert [one for one in dict.fromkeys(which.tolist()) if one >= 0] == list(range(len(labels)))


def test_the_loud_copy_is_as_loud_as_told_and_always_the_same() -> None:
    """Level by the loudest tenth of a second; pink noise falls 3 dB an octave (IEC 60268-1's random noise, from
    memory)."""
    sound = say("next")
    noise = loud(sound, 3) - sound
    assert np.array_equal(loud(sound, 3), loud(sound, 3))
    assert not np.array_equal(loud(sound, 3), loud(sound, 4))
    loudest = max(float(np.mean(np.square(sound[at : at + 1600]))) for at in range(0, len(sound), 1600))
    assert 10 * np.log10(loudest / np.mean(np.square(noise))) == pytest.approx(LOUD_DB, abs=0.1)
    power = np.abs(np.fft.rfft(noise)) ** 2
    hertz = np.fft.rfftfreq(len(noise), 1 / 16_000)
    octaves = [float(power[(hertz >= low) & (hertz < 2 * low)].mean()) for low in (250, 500, 1000, 2000)]
    falls = 10 * np.log10(np.array(octaves[:-1]) / np.array(octaves[1:]))
    assert falls.mean() == pytest.approx(3.0, abs=0.7)


def test_the_mixing_learns_what_a_speaker_says_instead() -> None:
    """Someone who says S for TH: the shares of TH go to S, and phones never said stay as they are."""
    learner = Learner(grammars_for(None), lexicon_of(LANGUAGE))
    takes = [Take(("think",), say("sink", words_per_minute=pace)) for pace in (110, 125, 140, 155)]
    mixing = learner.mixing(takes, 0.4)
    assert np.allclose(mixing.sum(axis=1), 1.0, atol=1e-4)
    row = mixing[INDEX["TH"]]
    assert row[INDEX["TH"]] < 0.9
    assert PHONES[int(np.argsort(row)[-2])] == "S"
    assert np.array_equal(mixing[INDEX["OY"]], np.eye(KINDS, dtype=np.float32)[INDEX["OY"]])


def score(right: int, wrong: int, acted: int, loss: float) -> Score:
    """Of thirty and thirty."""
    return Score(30, right, wrong, 30, acted, loss)


@pytest.mark.parametrize(
    ("after", "helps"),
    [
        (score(21, 1, 1, 0.40), True),
        (score(20, 0, 1, 0.40), True),
        (score(20, 1, 1, 0.30), True),
        (score(20, 1, 1, 0.49), False),  # hardly nearer the truth
        (score(30, 2, 1, 0.10), False),  # understands more, mistakes more
        (score(19, 0, 0, 0.10), False),
        (score(21, 1, 1, 0.60), False),
        (score(20, 1, 1, 0.50), False),
    ],
)
def test_what_helps_makes_nothing_worse(after: Score, helps: bool) -> None:
    """Before: 20 right, 1 wrong, 1 acted on, odds off by 0.5."""
    assert after.better_than(score(20, 1, 1, 0.5)) is helps
