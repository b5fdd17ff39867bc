"""Vetting again after a change finds exactly what a first look finds."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bayvoice.procedure.load import load_text
from bayvoice.procedure.load.revet import Vetter
from bayvoice.procedure.mistakes import BadProcedure
from bayvoice.procedure.vet import vet
from tests.procedure.branching import TEXT as BRANCHES
from tests.procedure.long import changes, procedure_text
from tests.procedure.strip import STRIP

HERE = Path(__file__).parent
FILES = [HERE / "example.toml", *sorted((HERE.parents[1] / "procedures").glob("*.toml"))]
TEXTS = [*(path.read_text(encoding="utf-8") for path in FILES), STRIP, BRANCHES]
FILLINGS = st.sampled_from(
    [
        "",
        "\n",
        "[[step]]\n",
        'id = "x"\n',
        'kind = "do"\n',
        'aside = "again"\n',
        'kind = "way_back"\n',
        '"',
        "'''",
        "1",
        'back = "none"\n',
        'remedy = "again"\n',
        "off = ['lid']\n",
        "format = 1\n",
        "[[part]]\n",
        "\r\n",
    ]
)


def outcome(look: object, text: str) -> object:
    """What a look at `text` comes to, in a form that can be compared."""
    try:
        assert callable(look)
        vetting = look(text)
    except BadProcedure as bad:
        return [str(each) for each in bad.mistakes]
    return vetting.procedure, vetting.warnings, vetting.as_dict()


@settings(max_examples=250, deadline=None)
@given(st.sampled_from(TEXTS), st.data())
def test_a_changed_text_is_vetted_as_if_it_were_new(text: str, data: st.DataObject) -> None:
    """Up to five changes after each other, each compared with a first look: procedure, warnings, mistakes, lines."""
    vetter = Vetter("x.toml")
    lines = text.splitlines(keepends=True)
    outcome(vetter.vet, text)
    for _ in range(data.draw(st.integers(1, 5))):
        start = data.draw(st.integers(0, len(text)))
        end = data.draw(st.sampled_from([start, start + 1, start + 9, text.find("\n", start) + 1 or start]))
        filling = data.draw(st.one_of(FILLINGS, st.sampled_from(lines)))
        text = text[:start] + filling + text[end:]
        assert outcome(vetter.vet, text) == outcome(lambda t: vet(load_text(t, "x.toml"), "x.toml"), text)


def test_changes_of_one_step_in_a_long_procedure() -> None:
    """The changes the bench measures, one after the other and back again."""
    text = procedure_text(100)
    vetter = Vetter("x.toml")
    vetter.vet(text)
    for changed in changes(text)[::7]:
        for now in (changed, text):
            assert outcome(vetter.vet, now) == outcome(lambda t: vet(load_text(t, "x.toml"), "x.toml"), now)


def test_unchanged_steps_are_not_read_again() -> None:
    """The steps of an unchanged table are the very same objects."""
    text = procedure_text(100)
    vetter = Vetter("x.toml")
    before = vetter.vet(text).procedure.steps
    after = vetter.vet(text.replace("Wipe the face.", "Wipe the faces.", 1)).procedure.steps
    assert sum(a is not b for a, b in zip(before, after, strict=True)) == 1


@pytest.mark.parametrize("text", [STRIP, BRANCHES])
def test_a_mistake_and_its_mending(text: str) -> None:
    """Every line left out, then put back."""
    vetter = Vetter("x.toml")
    whole = outcome(vetter.vet, text)
    lines = text.splitlines(keepends=True)
    for i in range(len(lines)):
        less = "".join(lines[:i] + lines[i + 1 :])
        assert outcome(vetter.vet, less) == outcome(lambda t: vet(load_text(t, "x.toml"), "x.toml"), less)
        assert outcome(vetter.vet, text) == whole
