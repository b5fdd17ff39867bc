"""How alike words sound, and which address words are refused for it."""

from __future__ import annotations

import json
import sys
from functools import cache
from pathlib import Path
from subprocess import run

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bayvoice.ears.choose import lexicon_of
from bayvoice.ears.likeness import distance, phone_distance, vet_address, word_distance
from bayvoice.ears.pronounce import INDEX, PHONES, Lexicon
from bayvoice.errors import BayError
from bayvoice.host.datafiles import procedure_names, read_procedure
from bayvoice.language.address import Address, AddressMode
from bayvoice.language.grammar import StateGrammar
from bayvoice.runtime.grammars import addressed_grammars, grammars_for
from tests.language.shipped import grammars

SAID = st.lists(st.integers(0, len(PHONES) - 1), min_size=1, max_size=6).map(tuple)


@cache
def lexicon() -> Lexicon:
    """The pronunciations that ship."""
    return lexicon_of("en")


@cache
def states() -> tuple[StateGrammar, ...]:
    """Every dialogue state of a job."""
    return tuple(grammars().state(name) for name in grammars().states())


def phones(one: str, other: str) -> float:
    """`phone_distance` by name."""
    return phone_distance(INDEX[one], INDEX[other])


def test_phones_are_as_far_apart_as_they_are_confused_in_noise() -> None:
    """Place is lost before voicing and nasality.

    After G. A. Miller and P. E. Nicely, JASA 27 (1955), from memory: p, t, k form one group of confusions, b, d, g one,
    f and th one, m and n one.
    """
    for near, far in (
        (("P", "T"), ("P", "B")),
        (("T", "K"), ("T", "D")),
        (("M", "N"), ("M", "B")),
        (("N", "M"), ("N", "D")),
        (("F", "TH"), ("F", "V")),
        (("TH", "F"), ("TH", "DH")),
        (("B", "D"), ("B", "P")),
        (("V", "DH"), ("V", "F")),
    ):
        assert phones(*near) < phones(*far), (near, far)
    assert phones("IY", "IH") < phones("IY", "EH") < phones("IY", "AA")


@settings(deadline=None)
@given(one=SAID, other=SAID, third=SAID)
def test_it_is_a_distance(one: tuple[int, ...], other: tuple[int, ...], third: tuple[int, ...]) -> None:
    """Zero for itself only, the same both ways, and no detour is shorter."""
    assert distance(one, one) == 0
    assert (distance(one, other) == 0) == (one == other)
    assert distance(one, other) == pytest.approx(distance(other, one))
    assert distance(one, third) <= distance(one, other) + distance(other, third) + 1e-9


@settings(deadline=None)
@given(one=SAID, other=SAID)
def test_gaps_and_exchanges_bound_it(one: tuple[int, ...], other: tuple[int, ...]) -> None:
    """No more than phone by phone with the rest as gaps; no less than the difference in length takes."""
    straight = sum(phone_distance(a, b) for a, b in zip(one, other, strict=False)) + 0.7 * abs(len(one) - len(other))
    assert 0.7 * abs(len(one) - len(other)) - 1e-9 <= distance(one, other) <= straight + 1e-9


def test_every_phone_has_a_place() -> None:
    """All 39 are on the chart, and no two are the same."""
    apart = [phone_distance(a, b) for a in range(len(PHONES)) for b in range(a)]
    assert min(apart) > 0
    assert max(apart) == 1


@pytest.mark.parametrize(
    ("word", "named"),
    [
        ("nest", '"nest" sounds too much like "next"'),
        ("tow", '"tow" sounds too much like "two"'),
        ("stomp", 'sounds too much like "stop"'),
        ("gate", 'sounds too much like "eight"'),
        ("know", 'sounds too much like "no"'),
        ("bee", 'sounds too much like "be"'),
        ("stop", 'the address word "stop" is itself said'),
        ("torque", "is itself said"),
        ("qqqq", "qqqq"),
    ],
)
def test_a_word_like_one_of_the_job_is_refused(word: str, named: str) -> None:
    """The word it is like is named, homophones are found by sound and not by spelling."""
    if word == "qqqq":
        silent = Lexicon("[words]\nqqqq = []\n")
        with pytest.raises(BayError, match='nobody knows how the address word "qqqq" is pronounced'):
            vet_address(word, states(), silent)
        return
    with pytest.raises(BayError, match=named):
        vet_address(word, states(), lexicon())


@pytest.mark.parametrize("word", ["bay", "osmere", "workshop", "computer", "mechanic"])
def test_a_word_unlike_all_is_taken(word: str) -> None:
    """Far enough from everything, and the nearest is not far below the bound by chance."""
    vet_address(word, states(), lexicon())
    assert min(word_distance(word, other, lexicon()) for other in ("next", "stop", "yes", "no", "go")) > 0.3


@pytest.mark.parametrize("name", procedure_names())
def test_bay_serves_in_every_job_that_ships(name: str) -> None:
    """The default word is not in the way of any shipped procedure."""
    procedure = read_procedure(name)
    people = ("Imre", "Dalia", "Kofi", "Ruth")
    ours = addressed_grammars(procedure, people, Address(AddressMode.GUARDED), lexicon())
    assert ours.state("any").match(["bay", "next"]) is not None
    assert ours.state("any").match(["next"]) is None
    assert grammars_for(procedure, people).state("any").match(["next"]) is not None


@pytest.mark.parametrize(
    ("options", "named"),
    [
        (["--address", "guarded", "--address-word", "nest"], 'sounds too much like "next"'),
        (["--address", "never", "--address-word", "two words"], "cannot be the address word"),
    ],
)
def test_the_command_line_refuses_it_in_one_sentence(options: list[str], named: str, tmp_path: Path) -> None:
    """`hear` and `work` alike, before anything is begun."""
    store = tmp_path / "bay.sqlite"
    for command in (
        ["hear", "none.wav", *options, "--json"],
        [
            "work",
            "k40-transfer-cover",
            "--ears",
            "typed",
            "--speaker",
            "off",
            "--mic",
            "off",
            "--screen",
            "off",
            "--store",
            str(store),
            "--json",
            *options,
        ],
    ):
        done = run([sys.executable, "-m", "bayvoice", *command], capture_output=True, text=True, input="")
        assert done.returncode == 2, done.stdout + done.stderr
        assert named in json.loads(done.stdout.splitlines()[-1])["error"]["what"]
        assert "Traceback" not in done.stderr
    if store.exists():
        jobs = [sys.executable, "-m", "bayvoice", "jobs", "--store", str(store), "--json"]
        assert json.loads(run(jobs, capture_output=True, text=True).stdout)["jobs"] == []
