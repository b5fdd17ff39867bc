"""A step kind is one object: a kind made here is read, vetted and shown like those that are built in."""

from __future__ import annotations

import ast
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

import bayvoice.procedure
from bayvoice.errors import BayError
from bayvoice.procedure import model, places
from bayvoice.procedure.fields import Table
from bayvoice.procedure.fills import fills_of, units_of
from bayvoice.procedure.forms import FORMS
from bayvoice.procedure.forms.shared import detail, details
from bayvoice.procedure.kind import Around, Form, Kinds
from bayvoice.procedure.load import load_kept, load_text
from bayvoice.procedure.load.revet import Vetter
from bayvoice.procedure.mistakes import BadProcedure, Notes
from bayvoice.procedure.model import Detail, Group, Kind, Name, Passing, Procedure, Step, Wait, WaitKind
from bayvoice.procedure.remark import Remark
from bayvoice.procedure.supplies import needs
from bayvoice.procedure.vet import vet

ROOM = Path(bayvoice.procedure.__file__).parent if bayvoice.procedure.__file__ else Path()


@dataclass(frozen=True, slots=True)
class Bath(Detail):
    """A part that is changed for a new one, which then lies in a bath."""

    name: str
    part: str
    seconds: int
    ask: str
    remedy: str
    before: str

    @property
    def guard(self) -> Passing:
        """Nobody fishes it out with bare hands."""
        return Passing.NOBODY


class BathForm(Form):
    """Gives every answer that a kind may give."""

    word = "bathe"
    keys = ("name", "part", "soaks", "ask", "remedy")
    telling = ("soaks",)
    ordered = True
    lasts = True
    title = "baths"
    json_key = "baths"

    def read(self, table: Table, around: Around) -> Bath:
        """Its keys, and the step that comes next."""
        here, ids = around.order()
        part = table.text("part", required=True)
        if part not in around.parts:
            table.wrong("part", "no such part", "add it")
        name, soaks = table.text("name", required=True), table.duration("soaks") or 0
        return Bath(name, part, soaks, table.text("ask"), table.text("remedy"), ids[here + 1])

    def check(self, notes: Notes, procedure: Procedure, places: Sequence[places.Path]) -> None:
        """One bath is enough."""
        for at, _, _ in list(details(procedure, self.word, Bath))[1:]:
            notes.add(places[at], "there is one bath", "take it out")

    def sentences(self, step: Step) -> Iterator[tuple[str, str]]:
        """The question."""
        yield "ask", detail(step, Bath).ask

    def names(self, step: Step) -> Iterator[Name]:
        """The bath's."""
        yield Name(Group.WAITS, "name", detail(step, Bath).name)

    def units(self, step: Step) -> Iterator[str]:
        """The depth of the bath."""
        yield "mm"

    def window(self, step: Step) -> Wait:
        """Until the next step."""
        bath = detail(step, Bath)
        return Wait(WaitKind.ACT, bath.name, bath.seconds, None, (bath.before,), bath.before)

    def remedy(self, step: Step) -> tuple[str, int]:
        """Once."""
        return detail(step, Bath).remedy, 1

    def renews(self, step: Step) -> str:
        """What lies in it."""
        return detail(step, Bath).part

    def about(self, procedure: Procedure, step: Step) -> Iterator[Remark]:
        """Always something."""
        yield Remark(step.id, "soaks", "the bath is cold", "warm it")

    def about_all(self, procedure: Procedure) -> Iterator[Remark]:
        """How many there are."""
        yield Remark("", "", f"{len(procedure.of_kind(self.word))} bath", "that will do")

    def line(self, procedure: Procedure, step: Step) -> str:
        """What lies in which bath."""
        bath = detail(step, Bath)
        return f"{procedure.part(bath.part).name} in the {bath.name}"

    def row(self, procedure: Procedure, step: Step) -> dict[str, Any]:
        """The same for JSON."""
        return {"soaks_s": detail(step, Bath).seconds}


WITH_BATHS: Kinds[Form] = Kinds((*FORMS.values(), BathForm()))

HEAD = """\
format = 1
title = "Renew the felt"
machine = "Hollin 25"

[[part]]
id = "felt"
name = "felt ring"
quantity = 2
one_use = true

"""
BATH = """\
[[step]]
id = "soak"
kind = "bathe"
say = "Lay the new ring into oil."
name = "oil bath"
part = "felt"
soaks = "20 min"
ask = "Is the ECU off?"
remedy = "lift"
"""
REST = """
[[step]]
id = "fit"
kind = "do"
say = "Fit the ring."
takes = "5 min"

[[step]]
id = "lift-out"
kind = "do"
say = "Lift it out."
aside = "lift"
"""
TEXT = HEAD + BATH + REST


def mistakes(text: str, kinds: Kinds[Form]) -> list[str]:
    """What is told of `text`."""
    with pytest.raises(BadProcedure) as bad:
        load_text(text, "felt.toml", kinds)
    return [str(each) for each in bad.value.mistakes]


@pytest.mark.parametrize("load", [load_text, load_kept])
def test_a_kind_of_the_callers_own_is_read(load: Any) -> None:
    """Its keys, its place among the steps, its guard."""
    made = load(TEXT, "felt.toml", WITH_BATHS)
    assert made.steps[0].kind == "bathe"
    assert made.steps[0].detail == Bath("oil bath", "felt", 1200, "Is the ECU off?", "lift", "fit")
    assert made.steps[0].passing is Passing.NOBODY
    assert made.steps[1].kind is Kind.DO
    assert made.kinds is WITH_BATHS


def test_what_it_brings_to_grammar_and_bench() -> None:
    """The bath is heard, its unit listened for, its part made ready."""
    made = load_text(TEXT, "felt.toml", WITH_BATHS)
    assert fills_of(made)["waiting"] == ("oil bath",)
    assert "mm" in units_of(made)
    assert [(need.item, need.quantity) for need in needs(made)] == [("felt", "2")]


def test_it_is_vetted_and_shown() -> None:
    """Remarks of the kind and of its words, its list, its branch, its time, for a reader and in JSON."""
    vetting = vet(load_text(TEXT, "felt.toml", WITH_BATHS), "felt.toml")
    lines = vetting.lines()
    assert lines[1] == "  steps: 3 (bathe 1, do 2)"
    at = lines.index("  baths:")
    assert lines[at + 1] == "    1. felt ring in the oil bath"
    assert any(line.endswith("1. soak not in order: lift (lift-out), then again, at most 1 times") for line in lines)
    assert any("1. soak: nobody" in line for line in lines)
    found = vetting.as_dict()
    assert found["baths"] == [{"at": 1, "step": "soak", "soaks_s": 1200}]
    assert found["timeline"]["total_s"] == 25 * 60
    assert found["timeline"]["untimed"] == []
    assert found["timeline"]["steps"][1]["held_by"] == "soak"
    told = [str(each) for each in vetting.warnings]
    assert ": 1 bath; that will do." in f": {told[0]}"
    assert "step soak, soaks: the bath is cold; warm it." in told
    assert any(line.startswith("step soak, ask: ") and "ECU" in line for line in told)


def test_its_mistakes_are_told() -> None:
    """By the kind, between its steps, and by what looks at branches and parts."""
    assert mistakes(TEXT.replace('part = "felt"', 'part = "belt"'), WITH_BATHS) == [
        "felt.toml:16: step soak, part: no such part; add it."
    ]
    assert mistakes(TEXT.replace('remedy = "lift"', 'remedy = "left"'), WITH_BATHS)[0] == (
        'felt.toml:19: step soak, remedy: no step has aside = "left"; perhaps "lift" is meant.'
    )
    twice = HEAD + BATH + "\n" + BATH.replace('"soak"', '"soak-2"') + REST
    assert any("step soak-2: there is one bath; take it out." in line for line in mistakes(twice, WITH_BATHS))
    plain = TEXT.replace('kind = "do"\nsay = "Fit', 'kind = "do"\nsoaks = "1 min"\nsay = "Fit')
    assert any(
        '"soaks" does not belong here; it belongs to steps of kind bathe.' in m for m in mistakes(plain, WITH_BATHS)
    )


def test_the_kinds_that_are_named_are_those_that_are_known() -> None:
    """A word that is no kind: the list comes from the registry, and the nearest from it too."""
    told = mistakes(TEXT.replace('"bathe"', '"bath"'), WITH_BATHS)
    assert any('perhaps "bathe" is meant' in line for line in told)
    assert any("hold, together or bathe" in line for line in told)
    without = mistakes(TEXT, FORMS)
    assert any('"bathe" is no kind of step' in line and "hold or together." in line for line in without)
    with pytest.raises(BayError, match=r'"fasen" is no kind of step.*perhaps "fasten" is meant'):
        FORMS["fasen"]
    with pytest.raises(ValueError, match="two step kinds are called"):
        Kinds((BathForm(), BathForm()))


def test_what_depends_on_its_neighbours_is_read_anew() -> None:
    """The step after it gets another id: a vetting that goes on finds what a first one finds."""
    vetter = Vetter("felt.toml", kinds=WITH_BATHS)
    vetter.vet(TEXT)
    changed = vetter.vet(TEXT.replace('"fit"', '"set"')).procedure
    assert changed.steps[0].detail == Bath("oil bath", "felt", 1200, "Is the ECU off?", "lift", "set")


def test_nothing_but_a_kind_looks_into_the_detail_of_a_step() -> None:
    """Outside of the kinds no test of what a step holds, and no kind is picked out by its word."""
    of_kinds = {each.__name__ for each in Detail.__subclasses__() if each.__module__ == model.__name__}
    assert len(of_kinds) == len(FORMS)
    found = []
    for path in ROOM.rglob("*.py"):
        if path.parent == ROOM / "forms":
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            asked = isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "isinstance"
            names = {each.id for each in ast.walk(node) if isinstance(each, ast.Name)} if asked else set()
            picked = isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "Kind"
            if picked or names & of_kinds:
                found.append(f"{path.name}: {ast.unparse(node)}")
    assert found == []
