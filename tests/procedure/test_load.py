"""A valid file becomes what it says."""

from __future__ import annotations

import hashlib
from decimal import Decimal
from pathlib import Path

import pytest

from bayvoice.procedure.load import load_text
from bayvoice.procedure.model import (
    Caution,
    Check,
    Do,
    Fasten,
    Hold,
    Item,
    Measure,
    Part,
    Replace,
    Signal,
    Stage,
    Tally,
    Together,
    Wait,
    WaitKind,
)

HERE = Path(__file__).parent
SHIPPED = sorted((HERE.parents[1] / "procedures").glob("*.toml"))
HEAD = 'format = 1\ntitle = "T"\nmachine = "M"\n'


def step(body: str, step_id: str = "a", kind: str = "do") -> str:
    return f'[[step]]\nid = "{step_id}"\nkind = "{kind}"\nsay = "Do it."\n{body}\n'


def test_the_example_as_a_whole() -> None:
    """Each key of the example arrives in the model."""
    text = (HERE / "example.toml").read_text(encoding="utf-8")
    made = load_text(text, "some/where/example.toml")
    assert (made.id, made.title, made.machine) == ("example", "Drain plug, renew the washer", "Varrow K40 tow tractor")
    assert made.cautions == (Caution(Signal.WARNING, "Oil may be hot enough to burn."),)
    assert made.parts == (Part("washer", "drain plug washer", "K40-7-030", 1, True),)
    assert made.tools == (Item("torque-wrench", "torque wrench"),)
    assert made.consumables == (Item("oil", "transfer-case oil", "2 l"),)
    assert made.steps[0].cautions[0].signal is Signal.DANGER
    assert [each.detail for each in made.steps] == [
        Check("Are both front wheels chocked?", True),
        Wait(WaitKind.SETTLE, "oil cooling down", 600, None, ("drain",), "", "", True),
        Do(),
        Replace("washer"),
        Fasten(1, (1,), (Stage(Decimal(35), "N.m"),), False, "drain plug"),
        Measure("oil filled", "l", Decimal("1.7"), Decimal("1.9"), "measuring jug"),
        Together(2),
        Hold("drain plug and oil level", "foreman"),
    ]
    assert made.steps[2].show.startswith("Pan under")
    assert made.steps[3].show == made.steps[3].say
    assert made.text == text
    assert made.sha256 == hashlib.sha256(text.encode()).hexdigest()


def test_the_chapter_on_procedures_prints_the_example() -> None:
    """Its whole example is this file, so that what it shows is known to load."""
    readme = (HERE.parents[1] / "procedures" / "README.md").read_text(encoding="utf-8")
    assert (HERE / "example.toml").read_text(encoding="utf-8").strip() in readme


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_digits_of_limits_are_those_of_the_file(path: Path) -> None:
    """Limits keep their trailing zeros, whether written as text or as number; one that is worked out has none yet."""
    text = path.read_text(encoding="utf-8")
    for each in load_text(text, path.name).steps:
        if isinstance(each.detail, Measure):
            block = text.split(f'id = "{each.id}"\n')[1].split("[[")[0].replace('"', "").splitlines()
            for key, value in (("low", each.detail.low), ("high", each.detail.high)):
                written = [row.partition(" = ")[2] for row in block if row.startswith(f"{key} = ")]
                written = [figures for figures in written if not figures.startswith("=")]
                assert written == ([] if value is None else [str(value)])


@pytest.mark.parametrize(
    ("keys", "gates", "closes"),
    [
        ('wait = "act"\nat_least = "1 min"', ("b",), "b"),
        ('wait = "act"\nat_least = "1 min"\nat_most = "2 min"\ngates = ["c", "b"]', ("c", "b"), "b"),
        ('wait = "act"\nat_least = "1 min"\nat_most = "2 min"\ncloses = "c"', ("b",), "c"),
        ('wait = "open"\nat_most = "1 min"\ncloses = "c"', (), "c"),
        ('wait = "open"\nat_least = "30 s"\nat_most = "1 min"\ncloses = "c"', ("c",), "c"),
        ('wait = "cure"\nat_least = "1 min"', ("b",), ""),
        ('wait = "settle"\nat_least = "1 min"\ngates = ["c"]', ("c",), ""),
    ],
)
def test_what_a_wait_holds_back_and_what_ends_it(keys: str, gates: tuple[str, ...], closes: str) -> None:
    """The defaults of gates and closes for each kind of wait."""
    text = HEAD + step(f'name = "w"\n{keys}', "a", "wait") + step("", "b") + step("", "c")
    detail = load_text(text, "w.toml").steps[0].detail
    assert isinstance(detail, Wait)
    assert (detail.gates, detail.closes) == (gates, closes)


def test_order_written_out_and_undone() -> None:
    """A list is taken as it stands; undo goes through it backwards."""
    text = HEAD + step("count = 3\norder = [2, 3, 1]\nundo = true", kind="fasten")
    detail = load_text(text, "f.toml").steps[0].detail
    assert isinstance(detail, Fasten)
    assert (detail.order, detail.sequence, detail.name) == ((2, 3, 1), (1, 3, 2), "bolt")


def test_counts_and_answers() -> None:
    """A count opens with its things and closes without; a check may want a no."""
    text = (
        HEAD
        + step('opening = "case"\nthings = ["rag"]', "a", "tally")
        + step('ask = "Any chips?"\nwant = "no"', "b", "check")
        + step('opening = "case"\nclose = true', "c", "tally")
    )
    assert [each.detail for each in load_text(text, "t.toml").steps] == [
        Tally("case", ("rag",), False),
        Check("Any chips?", False),
        Tally("case", (), True),
    ]


def test_line_ends_and_byte_order_mark_do_not_matter() -> None:
    """A file written on Windows loads the same; its digest is its own."""
    text = (HERE / "example.toml").read_text(encoding="utf-8")
    other = "\ufeff" + text.replace("\n", "\r\n")
    one, two = load_text(text, "example.toml"), load_text(other, "example.toml")
    assert one.steps == two.steps
    assert two.text == other
    assert two.sha256 == hashlib.sha256(other.encode("utf-8")).hexdigest() != one.sha256


def test_spoken_text_over_several_lines_is_one_sentence() -> None:
    """say is spoken, so line ends in it mean nothing; show keeps them."""
    text = HEAD + '[[step]]\nid = "a"\nkind = "do"\nsay = """Turn\n  it off."""\nshow = """One.\nTwo."""\n'
    made = load_text(text, "x.toml").steps[0]
    assert (made.say, made.show) == ("Turn it off.", "One.\nTwo.")


@pytest.mark.parametrize(("name", "made"), [("My Job (2).toml", "my-job-2"), ("/a/b/K40.toml", "k40"), ("x", "x")])
def test_id_from_the_file_name(name: str, made: str) -> None:
    """Without an id of its own a procedure is called after its file."""
    assert load_text(HEAD + step(""), name).id == made
