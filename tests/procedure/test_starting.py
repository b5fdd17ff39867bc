"""The file a new procedure begins with."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayvoice.cli.main import main
from bayvoice.ears.dictionary import sounds
from bayvoice.errors import BayError
from bayvoice.procedure.forms import FORMS
from bayvoice.procedure.load import load_text
from bayvoice.procedure.starting import starting_text
from bayvoice.procedure.vet import vet


def test_it_is_in_order_and_nothing_is_left_to_mend() -> None:
    """A whole job: no mistake, no warning, no step without a time, no word a dictionary lacks."""
    file, text = starting_text("Gearbox lid, reseal")
    assert file == "gearbox-lid-reseal.toml"
    made = vet(load_text(text, file), file, sounds())
    assert made.procedure.title == "Gearbox lid, reseal"
    assert made.warnings == ()
    assert made.timeline.untimed == ()
    assert made.unknown_words == {}


def test_it_shows_every_kind_of_step() -> None:
    """Whoever reads it has seen each kind, the way back, a remedy and a finding."""
    _, text = starting_text("x")
    tree = tomllib.loads(text)
    assert {step["kind"] for step in tree["step"]} == {*map(str, FORMS), "way_back"}
    assert any("back" in step and isinstance(step["back"], list) for step in tree["step"])
    assert any("remedy" in step for step in tree["step"])
    assert tree["finding"]
    assert text.count("#") > 30


@given(st.text(max_size=60))
def test_any_name_gives_a_file_in_order_or_a_clear_refusal(name: str) -> None:
    """Whatever is typed as a name."""
    try:
        file, text = starting_text(name)
    except BayError:
        assert not any(c.isascii() and c.isalpha() for c in name.lower().removesuffix(".toml"))
        return
    assert load_text(text, file).id == file.removesuffix(".toml")


def test_the_command_writes_it_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Written where asked, never over another file; what it wrote vets in order."""
    name = str(tmp_path / "Lid, reseal")
    assert main(["vet", "--new", name]) == 0
    path = tmp_path / "lid-reseal.toml"
    assert f"bayvoice vet {path}" in capsys.readouterr().out
    before = path.read_bytes()
    assert main(["vet", "--new", name]) == 2
    assert "there already" in capsys.readouterr().err
    assert path.read_bytes() == before
    assert main(["vet", str(path), "--json"]) == 0
    (told,) = json.loads(capsys.readouterr().out)["procedures"]
    assert told["in_order"]
    assert told["way_back"][-1]["because"] == "a new one goes in"
    assert main(["vet"]) == 2
    assert main(["vet", "--new", str(tmp_path / "none" / "x"), "--json"]) == 2
