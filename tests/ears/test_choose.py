"""Which recogniser listens."""

from __future__ import annotations

from pathlib import Path

import pytest

from bayvoice.ears import phones_acoustics
from bayvoice.ears.choose import KINDS, choose
from bayvoice.ears.vosk_model import VARIABLE
from bayvoice.errors import BayError


@pytest.fixture(autouse=True)
def no_model(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.delenv(VARIABLE, raising=False)


def test_a_fresh_machine_gets_phones_without_a_word() -> None:
    recogniser, notices = choose("auto", {"next", "repeat"})
    assert (recogniser.name, notices) == ("phones", ())


def test_a_broken_vosk_model_costs_one_sentence_and_the_next_is_taken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "model" / "am").mkdir(parents=True)
    monkeypatch.setenv(VARIABLE, str(tmp_path / "model"))
    recogniser, notices = choose("auto", {"next"})
    assert recogniser.name == "phones"
    assert len(notices) == 1
    assert notices[0].startswith("vosk is not used: ")
    assert "am/final.mdl is missing" in notices[0]


@pytest.mark.parametrize("whole", [None, b"", b"not a network", b"PK\x03\x04 cut short"])
def test_a_broken_speech_network_costs_one_sentence_and_the_next_is_taken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, whole: bytes | None
) -> None:
    """As where an installation was cut short: the file is not there, or only a part of it."""
    broken = tmp_path / "phones.npz"
    if whole is not None:
        broken.write_bytes(whole)
    monkeypatch.setattr(phones_acoustics, "DATA", broken)
    recogniser, notices = choose("auto", {"next"})
    assert recogniser.name == "pocketsphinx"
    assert len(notices) == 1
    assert notices[0].startswith(f"phones is not used: {broken}: the speech network cannot be loaded")


def test_what_is_asked_for_is_given_or_refused() -> None:
    assert choose("pocketsphinx", {"next"})[0].name == "pocketsphinx"
    with pytest.raises(BayError, match="there is no Vosk model"):
        choose("vosk", {"next"})
    with pytest.raises(BayError, match=f"use {', '.join(KINDS)}"):
        choose("ear trumpet", {"next"})


@pytest.mark.parametrize("kind", ["phones", "pocketsphinx"])
def test_words_without_a_pronunciation_are_named(kind: str) -> None:
    _, notices = choose(kind, {"next", "grüße"})
    assert notices == (f"{kind} has no pronunciation for grüße: phrases with them cannot be heard.",)
