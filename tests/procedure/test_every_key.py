"""Everything the format documents, through the whole product: vetted, worked by words, reported.

The words go through the grammars and the core that ship; every question is answered as somebody willing would. Blocks
of steps are put together so that each of them is valid beside any other.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import tomllib
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bayvoice.dialogue.engine import events as ev
from bayvoice.dialogue.engine.state import Mode
from bayvoice.dialogue.steps import KINDS
from bayvoice.language.numbers import to_words
from bayvoice.language.units import UNITS, spoken
from bayvoice.procedure.amounts import TORQUE_UNITS
from bayvoice.procedure.load import TOP_KEYS, load_text
from bayvoice.procedure.model import Measure, Procedure
from bayvoice.procedure.sense import SPAN
from bayvoice.procedure.steps import STEP_KEYS
from bayvoice.procedure.vet import vet
from bayvoice.procedure.wayback import MARKER, MARKER_KEYS
from bayvoice.report.base.model import Chain
from bayvoice.report.render.csv import to_csv
from bayvoice.report.render.json import to_json
from bayvoice.report.render.page import to_html
from bayvoice.report.render.text import to_text
from bayvoice.report.summary import procedure_of, summarise
from tests.stage import Stage
from tests.willing import Plan

README = (Path(__file__).parents[2] / "procedures" / "README.md").read_text(encoding="utf-8")


def documented_units() -> dict[str, tuple[str, ...]]:
    """What the chapter on the format lists: dimension, "" where it names none -> codes."""
    listed = " ".join(README[README.index("Units: torque") : README.index("Names of parts, things")].split())
    groups = listed.removeprefix("Units: ").rstrip(". ").split("; ")
    found: dict[str, tuple[str, ...]] = {}
    for group in groups:
        dimension = group.partition("`")[0].strip()
        found[dimension] = (*found.get(dimension, ()), *re.findall("`([^`]+)`", group))
    return found


DOCUMENTED = [code for codes in documented_units().values() for code in codes]

HEAD = """\
format = 1
id = "every-key"
title = "Everything"
machine = "Varrow K40"
references = ["the format's own chapter"]
[[caution]]
signal = "DANGER"
text = "A machine that starts will crush you."
[[tool]]
id = "wrench"
name = "torque wrench"
quantity = 2
"""
END = '[[step]]\nid = "end"\nkind = "do"\nsay = "Clean the bay."\n'


@dataclass(frozen=True)
class Block:
    """Steps that stand by themselves, the tables they need at the top of the file, and the asides they lead to.

    In each text ``@`` is a number of its own, ``@@`` the same in letters, ``~u`` a unit, ``~t`` a unit of torque,
    ``~low`` and ``~high`` limits.
    """

    steps: str
    top: str = ""
    asides: str = ""


BLOCKS = {
    "do": Block(
        '[[step]]\nid = "do-@"\nkind = "do"\nsay = "Wipe the face."\nshow = "Wipe the face, both sides."\n'
        'pass = "second"\nreasons = ["no lint here"]\n'
        'takes = "1 min"\nuses = ["oil-@"]\n[[step.caution]]\nsignal = "NOTICE"\ntext = "Lint spoils the joint."\n'
        '[[step.caution]]\nsignal = "WARNING"\ntext = "Fumes could burn the lungs."\n',
        '[[consumable]]\nid = "oil-@"\nname = "oil @@"\nquantity = "2 l"\nbatch = true\nshelf_life = true\n',
    ),
    "off and back": Block(
        '[[step]]\nid = "off-@"\nkind = "do"\nsay = "Take the cover off."\noff = ["cover @@"]\n[[step.back]]\n'
        'kind = "do"\nsay = "Set it on."\nuses = { paste-@ = "20 ml", pin-@ = 2 }\n'
        '[[step]]\nid = "scrap-@"\nkind = "do"\nsay = "Pull the old seal."\noff = ["seal @@"]\nback = "none"\n'
        'because = "a new one goes in"\n[[step]]\nkind = "way_back"\nof = ["off-@", "scrap-@"]\n',
        '[[consumable]]\nid = "paste-@"\nname = "paste @@"\n[[part]]\nid = "pin-@"\nname = "pin @@"\nquantity = 2\n'
        'number = "K40-7-03@"\n',
    ),
    "back by hand": Block(
        '[[step]]\nid = "lift-@"\nkind = "do"\nsay = "Lift the guard off."\noff = ["guard @@"]\n'
        '[[step]]\nid = "lower-@"\nkind = "do"\nsay = "Put the guard back."\nputs_back = ["guard @@"]\n',
    ),
    "check": Block(
        '[[step]]\nid = "check-@"\nkind = "check"\nsay = "Look at it."\nask = "Is there rust?"\nwant = "no"\n'
        'remedy = "fix-@"\ntries = 2\n',
        '[[finding]]\nsay = "crack @@"\nto = "fix-@"\nsteps = ["check-@"]\n[[finding]]\nsay = "metal @@"\n'
        "stop = true\n",
        '[[step]]\nid = "brush-@"\nkind = "do"\nsay = "Brush it."\naside = "fix-@"\n',
    ),
    "measure": Block(
        '[[step]]\nid = "gap-@"\nkind = "measure"\nsay = "Measure it."\nname = "gap @@"\nunit = "~u"\nlow = "~low"\n'
        'high = "~high"\ngauge = "dial-@"\nremedy = "again-@"\ntries = 1\n',
        '[[gauge]]\nid = "dial-@"\nname = "dial gauge @@"\nnumber = "DG-@"\nunit = "~u"\nuncertainty = "0.0001"\n'
        'due = "ask"\n',
        '[[step]]\nid = "reset-@"\nkind = "do"\nsay = "Set the gauge anew."\naside = "again-@"\n',
    ),
    "measure once": Block(
        '[[step]]\nid = "low-@"\nkind = "measure"\nsay = "Measure it."\nname = "play @@"\nunit = "~u"\nlow = "~low"\n'
        '[[step]]\nid = "high-@"\nkind = "measure"\nsay = "Measure it."\nname = "lift @@"\nunit = "~u"\n'
        'high = "~high"\n',
        '[[gauge]]\nid = "rule-@"\nname = "rule"\ndue = 2099-01-31\n',
    ),
    "measure by another": Block(
        '[[step]]\nid = "depth-of-@"\nkind = "measure"\nsay = "Measure it."\nname = "recess @@"\nunit = "mm"\n'
        'low = "1"\nhigh = "2"\n[[step]]\nid = "from-@"\nkind = "measure"\nsay = "Measure it."\nname = "land @@"\n'
        'unit = "mm"\nlow = "1"\nhigh = "2"\nlow_from = "recess_@@ - 5 mm"\nhigh_from = "recess_@@ + 5 mm"\n',
    ),
    "measure thrice": Block(
        '[[step]]\nid = "mean-@"\nkind = "measure"\nsay = "Measure it."\nname = "runout @@"\nunit = "~u"\n'
        'low = "~low"\n'
        'high = "~high"\ntimes = 3\nspread = "~high ~u"\ngauge = "any rule"\n',
    ),
    "fasten": Block(
        '[[step]]\nid = "bolts-@"\nkind = "fasten"\nsay = "Tighten."\ncount = 4\norder = "rectangle"\nrows = 2\n'
        'stages = ["5 ~t", "9 ~t", "90 deg"]\nname = "cover bolt @@"\n'
        '[[step]]\nid = "given-@"\nkind = "fasten"\nsay = "Tighten."\ncount = 3\norder = [2, 1, 3]\n'
        '[[step]]\nid = "row-@"\nkind = "fasten"\nsay = "Tighten."\ncount = 2\norder = "row"\nstages = ["9 ~t"]\n'
        "last_round = true\n",
    ),
    "fasten one by one": Block(
        '[[step]]\nid = "each-@"\nkind = "fasten"\nsay = "Tighten each."\ncount = 2\norder = "star"\neach = true\n'
        'stages = ["9 ~t", "60 deg"]\ntolerance = ["4 %", "5 deg"]\n'
        '[[step]]\nid = "one-@"\nkind = "fasten"\nsay = "Tighten each."\ncount = 2\norder = "star"\neach = true\n'
        'stages = ["9 ~t"]\ntolerance = "1 ~t"\n',
    ),
    "undo and refit": Block(
        '[[step]]\nid = "undo-@"\nkind = "fasten"\nsay = "Loosen."\ncount = 4\norder = "star"\nundo = true\n'
        'off = ["bolts @@"]\nrefit = ["5 ~t", "9 ~t"]\n[[step]]\nkind = "way_back"\nof = ["undo-@", "undo-@"]\n',
    ),
    "act": Block(
        '[[step]]\nid = "act-@"\nkind = "wait"\nsay = "Let it work."\nwait = "act"\nname = "remover @@"\n'
        'at_least = "3 min"\nat_most = "1 h 30 min"\ngates = ["scrape-@"]\ncloses = "scrape-@"\nrecovery = "spray-@"\n'
        '[[step]]\nid = "scrape-@"\nkind = "do"\nsay = "Scrape."\n[[step]]\nid = "spray-@"\nkind = "do"\n'
        'say = "Rinse."\n',
    ),
    "open": Block(
        '[[step]]\nid = "open-@"\nkind = "wait"\nsay = "The joint is open."\nwait = "open"\nname = "sealant @@"\n'
        'at_least = "20 s"\nat_most = "20 min"\ncloses = "join-@"\nrecovery = "join-@"\nstarts = "step"\n'
        '[[step]]\nid = "join-@"\nkind = "do"\nsay = "Close the joint."\n',
    ),
    "settle": Block(
        '[[step]]\nid = "settle-@"\nkind = "wait"\nsay = "Let it cool."\nwait = "settle"\nname = "cooling @@"\n'
        'at_least = "45 s"\n[[step]]\nid = "cool-@"\nkind = "do"\nsay = "Feel it."\n',
    ),
    "cure by a table": Block(
        '[[step]]\nid = "cure-@"\nkind = "wait"\nsay = "Let it cure."\nwait = "cure"\nname = "cure @@"\n'
        '[[step.table]]\ntemperature = "10 degC"\nhumidity = "50 %"\nat_least = "9 min"\n'
        '[[step.table]]\ntemperature = "30 degC"\nhumidity = "50 %"\nat_least = "5 min"\n'
        '[[step]]\nid = "cured-@"\nkind = "do"\nsay = "Load it."\n',
    ),
    "window by a table": Block(
        '[[step]]\nid = "flash-@"\nkind = "wait"\nsay = "Let it flash off."\nwait = "act"\nname = "flash @@"\n'
        '[[step.table]]\ntemperature = "10 degC"\nat_least = "4 min"\nat_most = "90 min"\n'
        '[[step.table]]\ntemperature = "30 degC"\nat_least = "2 min"\nat_most = "60 min"\n'
        '[[step]]\nid = "bond-@"\nkind = "do"\nsay = "Bond it."\n',
    ),
    "cure by a law": Block(
        '[[step]]\nid = "law-@"\nkind = "wait"\nsay = "Let it cure."\nwait = "cure"\nname = "paste @@"\n'
        'at_least = "5 min"\nmodel = "doubling"\nreference = "25 degC"\nevery = "10 degC"\n'
        'valid = ["15 degC", "45 degC"]\n[[step]]\nid = "hard-@"\nkind = "do"\nsay = "Load it."\n'
        '[[step]]\nid = "energy-@"\nkind = "wait"\nsay = "Let it cure."\nwait = "cure"\nname = "resin @@"\n'
        'at_least = "5 min"\nmodel = "arrhenius"\nreference = "25 degC"\nenergy = "52.9 kJ/mol"\n'
        'valid = ["15 degC", "45 degC"]\n[[step]]\nid = "firm-@"\nkind = "do"\nsay = "Load it."\n',
    ),
    "cure by depth": Block(
        '[[step]]\nid = "depth-@"\nkind = "wait"\nsay = "Let it cure."\nwait = "cure"\nname = "bead @@"\n'
        'at_least = "5 min"\nmodel = "depth"\nreference = "3 mm"\ndepth = "4 mm"\ndeepest = "9 mm"\n'
        '[[step]]\nid = "deep-@"\nkind = "do"\nsay = "Load it."\n',
    ),
    "replace": Block(
        '[[step]]\nid = "new-@"\nkind = "replace"\nsay = "Drive it in."\npart = "seal-@"\n',
        '[[part]]\nid = "seal-@"\nname = "seal @@"\nnumber = "K40-7-11@"\nquantity = 1\none_use = true\nbatch = true\n',
    ),
    "tally": Block(
        '[[step]]\nid = "count-@"\nkind = "tally"\nsay = "Count."\nopening = "case @@"\n'
        'things = ["rag @@", "plug @@"]\n'
        '[[step]]\nid = "counted-@"\nkind = "tally"\nsay = "Count."\nopening = "case @@"\nclose = true\n',
    ),
    "hold": Block(
        '[[step]]\nid = "look-@"\nkind = "hold"\nsay = "Call."\nlook = "the joint"\nwho = "foreman"\nuntil = "seen-@"\n'
        '[[step]]\nid = "seen-@"\nkind = "do"\nsay = "Go on."\n',
    ),
    "read": Block(
        '[[step]]\nid = "hours-@"\nkind = "read"\nsay = "Read it."\nname = "counter @@"\nas = "number"\nunit = "~u"\n'
        '[[step]]\nid = "plate-@"\nkind = "read"\nsay = "Read the plate."\nname = "serial number @@"\nas = "text"\n',
    ),
    "choose": Block(
        '[[step]]\nid = "class-@"\nkind = "choose"\nsay = "Read the mark."\nname = "size class @@"\n'
        'options = ["size a @@", "size b @@"]\n',
    ),
    "together": Block(
        '[[step]]\nid = "lift-up-@"\nkind = "together"\nsay = "Lift it."\npeople = 3\nbeats = 2\nask = "Is it up?"\n',
    ),
}
_LETTERS = ("alpha", "bravo", "charlie", "delta", "echo", "foxtrot", "golf", "hotel", "india", "juliett")


def file_of(blocks: list[tuple[str, str, str, str]], torque: str = "N.m") -> str:
    """A procedure of the named blocks, each with a unit and its limits; `torque`: the unit of stages."""
    tops, steps, asides = "", "", ""
    for number, (name, unit, low, high) in enumerate(blocks):
        block = BLOCKS[name]
        for old, new in (
            ("@@", _LETTERS[number]),
            ("@", str(number)),
            ("~u", unit),
            ("~t", torque),
            ("~low", low),
            ("~high", high),
        ):
            block = Block(*(text.replace(old, new) for text in (block.steps, block.top, block.asides)))
        tops, steps, asides = tops + block.top, steps + block.steps, asides + block.asides
    return HEAD + tops + steps + END + asides


def worked(procedure: Procedure, inputs: int) -> Stage:
    """The job after at most `inputs` answers of somebody willing, from its beginning."""
    stage = Stage(procedure, ("Imre", "Ruth"))
    stage.take(ev.Began(stage.at, "Imre", stage.boot))
    plan = Plan(values={step.id: _reading(step.detail) for step in procedure.steps if isinstance(step.detail, Measure)})
    for _ in range(inputs):
        if stage.state.job.finished:
            break
        words = plan.words(stage.state, stage.at)
        if words is None:
            stage.wait(60.0)
        else:
            stage.hear(words)
    return stage


def _reading(detail: Measure) -> str:
    """The middle between the limits, or the only limit, which is inclusive, as it is said."""
    ends = [end for end in (detail.low, detail.high) if end is not None]
    middle = (sum(ends, Decimal(0)) / len(ends)).quantize(Decimal("0.0001"))
    return f"{to_words(middle)} {spoken(detail.unit)}"


def through(text: str, inputs: int = 400) -> Stage:
    """Vet, work and report what `text` describes; whatever raises on the way fails the test."""
    procedure = load_text(text, "every-key.toml", KINDS)
    vetting = vet(procedure)
    "\n".join(vetting.lines()).encode()
    json.dumps(vetting.as_dict())
    stage = worked(procedure, inputs)
    report = summarise(stage.facts, procedure_of(stage.facts), Chain(True))
    assert procedure.title in to_html(report)
    assert procedure.title in to_text(report)
    assert to_csv(report).count("\n") >= len(stage.facts)
    json.dumps(to_json(report))
    return stage


def limits_of(unit: str) -> tuple[str, str]:
    """Limits that are likely in `unit`, with a wide window between them."""
    low, high = SPAN[unit]
    return f"{max(low, Decimal(1)):f}", f"{min(high, Decimal(50)):f}"


def test_the_readme_lists_the_units_there_are() -> None:
    """Each once, under the name of what it measures; none is missing."""
    listed = documented_units()
    assert sorted(DOCUMENTED) == sorted(UNITS)
    for dimension, codes in listed.items():
        of = {UNITS[code].dimension for code in codes}
        assert of == ({dimension} if dimension else {"speed of rotation", "proportion"})


def test_every_documented_key_is_in_a_block() -> None:
    """Of every kind of step, and of the top of the file: what the loader takes is what is tried here."""
    document = tomllib.loads(file_of([(name, "mm", "1", "2") for name in list(BLOCKS)[:10]]))
    rest = tomllib.loads(file_of([(name, "mm", "1", "2") for name in list(BLOCKS)[10:20]]))
    more = tomllib.loads(file_of([(name, "mm", "1", "2") for name in list(BLOCKS)[20:]]))
    steps: list[dict[str, Any]] = [step for one in (document, rest, more) for step in one["step"]]
    assert set(document) | set(rest) | set(more) == set(TOP_KEYS)
    keys = {str(kind): {key for step in steps if step["kind"] == kind for key in step} for kind in {*KINDS, MARKER}}
    for kind, known in ((word, form.keys) for word, form in KINDS.items()):
        assert set(known) <= keys[kind], kind
    assert set(MARKER_KEYS) <= keys[MARKER]
    assert set(STEP_KEYS) <= {key for step in steps for key in step}


@pytest.mark.parametrize("unit", DOCUMENTED)
def test_every_documented_unit_is_vetted_worked_and_reported(unit: str) -> None:
    """One limit or both, repeated readings, a gauge with its uncertainty: to the end of the job."""
    low, high = limits_of(unit)
    names = ("measure", "measure once", "measure thrice")
    torque = unit if unit in TORQUE_UNITS else "N.m"
    stage = through(file_of([(name, unit, low, high) for name in names], torque))
    assert stage.state.job.finished
    logged = [fact.body["unit"] for fact in stage.facts if fact.kind == "measured"]
    assert logged == [unit] * len(logged)
    assert len(logged) >= 4


@pytest.mark.parametrize("unit", TORQUE_UNITS)
def test_every_unit_of_torque_is_vetted_worked_and_reported(unit: str) -> None:
    """Stages, tolerances, bolt by bolt, loosened and refitted."""
    names = ("fasten", "fasten one by one", "undo and refit")
    assert through(file_of([(name, "mm", "1", "2") for name in names], unit)).state.job.finished


@pytest.mark.parametrize("name", BLOCKS)
def test_every_kind_is_vetted_worked_and_reported(name: str) -> None:
    """Each block by itself, to the end of the job."""
    assert through(file_of([(name, "mm", "1", "2")])).state.job.finished


@st.composite
def blocks(draw: st.DrawFn) -> list[tuple[str, str, str, str]]:
    """Up to four blocks in any order, with any unit and any limits the format takes."""
    found = []
    for name in draw(st.lists(st.sampled_from(list(BLOCKS)), min_size=1, max_size=4)):
        ends = draw(
            st.lists(st.decimals(Decimal("0.01"), 999_999, places=draw(st.integers(0, 4))), min_size=2, max_size=2)
        )
        low, high = sorted(ends)
        found.append((name, draw(st.sampled_from(DOCUMENTED)), f"{low:f}", f"{high + 1 if high < 999_990 else high:f}"))
    return found


@settings(max_examples=30, deadline=None)
@given(blocks(), st.sampled_from(TORQUE_UNITS), st.integers(0, 40))
def test_anything_of_the_format_goes_through(made: list[tuple[str, str, str, str]], torque: str, inputs: int) -> None:
    """Vet, a sitting over the first answers, and the report of what there is then."""
    assert through(file_of(made, torque), inputs).facts


def test_a_temperature_below_absolute_zero_is_no_value() -> None:
    """In either unit, and where the point of a value far off its limits is moved to find what was meant."""
    stage = worked(load_text(file_of([("measure once", "degF", "400", "500")]), "x.toml"), 0)
    for words in ("minus three hundred degrees celsius", "minus four hundred and sixty degrees fahrenheit"):
        stage.hear(words)
        assert stage.state.mode is Mode.MEASURE, words
        assert "below absolute zero" in stage.said[-1]
    for words in ("minus forty degrees celsius", "minus forty degrees fahrenheit"):
        stage.hear(words)
        assert stage.state.mode is not Mode.MEASURE, words
        stage.hear("no")
    assert not [fact for fact in stage.facts if fact.kind == "measured"]


def command(*args: str | Path, typed: str = "", data: Path) -> subprocess.CompletedProcess[str]:
    """The command itself, `typed` on its standard input."""
    return subprocess.run(
        [sys.executable, "-m", "bayvoice", *map(str, args)],
        input=typed,
        capture_output=True,
        text=True,
        timeout=240,
        env={**os.environ, "XDG_DATA_HOME": str(data)},
    )


def test_every_documented_unit_through_the_commands(tmp_path: Path) -> None:
    """`vet`, `work` with typed words on a real record, `report` in each form: one job with every unit."""
    text, typed = HEAD, []
    for number, unit in enumerate(DOCUMENTED):
        low, high = limits_of(unit)
        text += (
            f'[[step]]\nid = "s{number}"\nkind = "measure"\nsay = "Measure it."\nname = "{words_for(number)} gap"\n'
            f'unit = "{unit}"\nlow = "{low}"\nhigh = "{high}"\n'
        )
        typed += [f"{high} {unit}", "yes"]
    file, store = tmp_path / "units.toml", tmp_path / "bay.sqlite"
    file.write_text(text + END, encoding="utf-8")
    runs = [
        ("vet", file),
        (
            "work",
            file,
            "--job",
            "units",
            "--by",
            "Imre",
            "--ears",
            "typed",
            "--mic",
            "off",
            "--speaker",
            "off",
            "--screen",
            "off",
            "--store",
            store,
        ),
        ("report", "units", "--store", store, "--text"),
        ("report", "units", "--store", store, "--csv"),
        ("report", "units", "--store", store, "--json"),
        ("report", "units", "--store", store, "--out", tmp_path / "units.html"),
    ]
    said = {}
    for args in runs:
        done = command(*args, typed="\n".join([*typed, "next", ""]), data=tmp_path / "data")
        assert (done.returncode, "Traceback" in done.stderr) == (0, False), (args, done.stderr[-500:])
        said[str(args[-1])] = done.stdout
    measured = json.loads(said["--json"])["measurements"]
    assert [row["unit"] for row in measured] == DOCUMENTED
    assert all(UNITS[unit].symbol in said["--text"] for unit in DOCUMENTED)
    assert (tmp_path / "units.html").stat().st_size > 10_000


def words_for(number: int) -> str:
    return f"{_LETTERS[number // 10]} {_LETTERS[number % 10]}"
