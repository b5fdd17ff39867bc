"""The catalogue of sentences: each has its words, its fields are given, and the library reads it as we do."""

from __future__ import annotations

import ast
import pickle
import re
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest
from fluent.runtime import FluentResource
from fluent.syntax import ast as ftl

import bayvoice
from bayvoice.language import texts
from bayvoice.language.texts import Text, tell

PACKAGE = Path(bayvoice.__file__).parent
ROOMS = sorted(path.stem for path in (texts.folder() / "en").glob("*.ftl"))
SENTENCES = [(room, key) for room in ROOMS for key in texts.keys(room)]
STAND_IN = 7
"""What every field holds where only the way through the catalogue counts."""


def calls() -> Iterator[tuple[str, ast.Call, bool]]:
    """Place, call and whether it is made while the module loads, of every `tell` of the product."""
    for path in PACKAGE.rglob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        later = {
            id(inner)
            for node in ast.walk(tree)
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
            for part in (node.body if isinstance(node.body, list) else [node.body])
            for inner in ast.walk(part)
        }
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "tell":
                yield f"{path.relative_to(PACKAGE)}:{node.lineno}", node, id(node) not in later


CALLS = list(calls())


def literals() -> set[str]:
    """Every string that stands in the product, as far as it is written: of "trade-a-{what}" the beginning."""
    found = set()
    for path in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                found.add(node.value)
    return found


@pytest.mark.parametrize("room", ROOMS)
def test_the_library_can_read_every_message(room: str) -> None:
    """Nothing in a catalogue is junk to it, no key comes twice, and a key begins with its room."""
    text = (texts.folder() / "en" / f"{room}.ftl").read_text(encoding="utf-8")
    body = FluentResource(text).body
    junk = [entry.content for entry in body if isinstance(entry, ftl.Junk)]
    assert junk == []
    named = [entry.id.name for entry in body if isinstance(entry, ftl.Message)]
    assert sorted(named) == sorted(set(named))
    assert named == list(texts.keys(room))
    assert [key for key in named if not key.startswith(f"{room}-")] == []


@pytest.mark.parametrize("room", ROOMS)
def test_what_is_filled_in_here_is_what_the_library_makes(room: str) -> None:
    """Fluent's own implementation is the judge of every message of one line."""
    catalogue = texts._catalogue("en", texts.folder(), room)
    for key in catalogue.sources:
        given = dict.fromkeys(texts.fields(key), STAND_IN)
        assert catalogue.make(key, given) == catalogue.by_library(key, given)


def test_every_call_has_its_sentence_and_gives_its_fields() -> None:
    """A key that is written out is in the catalogue, with exactly the fields of the call."""
    wrong = []
    for place, call, _ in CALLS:
        key = call.args[0]
        if not isinstance(key, ast.Constant) or not isinstance(key.value, str):
            continue
        if not texts.known(key.value):
            wrong.append(f"{place}: no sentence {key.value}")
        elif all(word.arg for word in call.keywords) and {word.arg for word in call.keywords} != texts.fields(
            key.value
        ):
            wrong.append(f"{place}: other fields than {key.value}")
    assert wrong == []


def test_every_sentence_is_told_somewhere() -> None:
    """Its key stands in the product, or the beginning of its key does, which a code completes."""
    written = literals()
    begun = tuple(one for one in written if re.fullmatch(r"[a-z]+-(?:[\w-]+-)?", one))
    rooms = [room for room in ROOMS if room != "dialogue"]  # its keys are told by `Wording`
    unused = [key for room, key in SENTENCES if room in rooms and key not in written and not key.startswith(begun)]
    assert unused == []


def test_no_sentence_is_made_while_the_program_loads() -> None:
    """It would be English whatever language is chosen afterwards."""
    assert [place for place, _, loading in CALLS if loading] == []


def test_nothing_else_is_called_tell() -> None:
    """A parameter of that name would take the place of the function where its sentences are made."""
    wrong = [
        f"{path.relative_to(PACKAGE)}:{node.lineno}"
        for path in PACKAGE.rglob("*.py")
        for text in [path.read_text(encoding="utf-8")]
        if "texts import tell" in text
        for node in ast.walk(ast.parse(text))
        if isinstance(node, ast.arg) and node.arg == "tell"
    ]
    assert wrong == []


def test_a_text_knows_what_it_was_made_of() -> None:
    """Also after a way between processes."""
    text = tell("trade-time-of-seconds-s-is-not-one", seconds=-3)
    assert text == "a time of -3 s is not one to wait for"
    again = pickle.loads(pickle.dumps(text))
    assert isinstance(again, Text)
    assert (again, again.key, again.fields) == (text, "trade-time-of-seconds-s-is-not-one", {"seconds": -3})


def test_a_decimal_is_written_out() -> None:
    """A person reads 0.0000001, not 1E-7."""
    assert tell("trade-pulled-is-less-than-pushed", pulled=Decimal("1E-7"), pushed=Decimal("1E+3")) == (
        "pulled 0.0000001 is less than pushed 1000"
    )


def test_a_missing_sentence_and_a_missing_field_say_so() -> None:
    """For the programmer: KeyError with the key."""
    with pytest.raises(KeyError, match="trade-nowhere"):
        tell("trade-nowhere")
    with pytest.raises(KeyError, match="seconds"):
        tell("trade-time-of-seconds-s-is-not-one")


def test_another_language_speaks_and_english_fills_its_gaps(tmp_path: Path) -> None:
    """Numbers choose the form the language has: Polish has three (CLDR plural rules, pl: one, few, many)."""
    (tmp_path / "pl").mkdir()
    (tmp_path / "pl" / "trade.ftl").write_text(
        "trade-check-events = sprawdź\n"
        "trade-count-shims-are-too-many = { $count ->\n"
        "    [one] { $count } podkładka\n"
        "    [few] { $count } podkładki\n"
        "   *[many] { $count } podkładek\n"
        "}\n",
        encoding="utf-8",
    )
    texts.speak("pl", tmp_path)
    try:
        assert tell("trade-check-events") == "sprawdź"
        shims = [tell("trade-count-shims-are-too-many", count=count) for count in (1, 3, 12000)]
        assert shims == ["1 podkładka", "3 podkładki", "12000 podkładek"]
        assert tell("trade-check-angles") == "check the angles"
    finally:
        texts.speak("en")


@pytest.mark.parametrize("language", ["xx", "../en", "", "EN"])
def test_an_unknown_language_is_refused(language: str) -> None:
    """A name never leads out of the folder."""
    with pytest.raises(LookupError):
        texts.speak(language)
