"""Whatever stands in a file: a procedure, or a list of mistakes. Nothing else ever comes out of the loader."""

from __future__ import annotations

import json
import tomllib
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bayvoice.procedure.load import load_text
from bayvoice.procedure.mistakes import BadProcedure
from bayvoice.procedure.model import Procedure
from bayvoice.procedure.places import line_numbers
from bayvoice.procedure.vet import vet

HERE = Path(__file__).parent
FILES = [HERE / "example.toml", *sorted((HERE.parents[1] / "procedures").glob("*.toml"))]
TEXTS = [path.read_text(encoding="utf-8") for path in FILES]
SCRAPS = st.sampled_from(
    [
        "[[step]]",
        "[step]",
        "[[step.caution]]",
        "kind = ",
        '"wait"',
        "low",
        "[",
        "]",
        "{",
        "}",
        '"""',
        "'''",
        '"',
        "=",
        "\\u0000",
        "\r",
        "\n",
        "#",
        ",",
        "true",
        "-1",
        "1e999999999999999999999",
        "nan",
        "inf",
        "1979-05-27",
        "é",
        "\u202e",
        "\x00",
        "\ud800",
        "step.say = 1",
        'format = "1"',
        "9" * 50,
    ]
)


def loaded(text: str) -> Procedure | BadProcedure:
    """What the loader makes of `text`, looked at; any exception but BadProcedure fails the test."""
    try:
        made = load_text(text, "file.toml")
    except BadProcedure as bad:
        _look_at_mistakes(bad, text.count("\n") + 1)
        return bad
    vetting = vet(made)
    "\n".join(vetting.lines()).encode("utf-8")
    json.dumps(vetting.as_dict())
    return made


def _look_at_mistakes(bad: BadProcedure, lines: int) -> None:
    assert bad.mistakes
    for each in bad.mistakes:
        assert each.what
        assert each.mend
        assert "\n" not in str(each)
        str(each).encode("utf-8")
        assert each.line is None or 1 <= each.line <= lines
    json.dumps(bad.as_dict()).encode("utf-8")


@settings(max_examples=300, deadline=None)
@given(st.text())
def test_random_text(text: str) -> None:
    """Text that is no procedure."""
    loaded(text)


@settings(max_examples=400, deadline=None)
@given(st.sampled_from(TEXTS), st.data())
def test_valid_files_with_something_cut_out_put_in_or_moved(text: str, data: st.DataObject) -> None:
    """Up to three cuts in a valid file, each filled with a scrap of the format, a line of the file or nothing."""
    lines = text.splitlines(keepends=True)
    for _ in range(data.draw(st.integers(1, 3))):
        start = data.draw(st.integers(0, len(text)))
        end = data.draw(st.sampled_from([start, start + 1, start + 7, text.find("\n", start) + 1 or start]))
        filling = data.draw(st.one_of(SCRAPS, st.sampled_from(lines), st.just("")))
        text = text[:start] + filling + text[end:]
    loaded(text)


VALUES = st.recursive(
    st.one_of(
        st.booleans(),
        st.integers(-5, 10**10),
        st.text(max_size=9),
        st.decimals(allow_nan=True, allow_infinity=True),
        st.dates(),
        st.sampled_from(["yes", "star", "mm", "act", "12 min", "90 deg", "24 N.m", "chock", "fill"]),
    ),
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(st.text(max_size=5), inner, max_size=3)),
    max_leaves=6,
)


def toml(value: Any) -> str:
    """`value` as a TOML value on one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, Decimal):
        return str(value).lower().replace("infinity", "inf").replace("snan", "nan").split("nan", 1)[0] + (
            "nan" if value.is_nan() else ""
        )
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{toml(str(key))} = {toml(each)}" for key, each in value.items()) + "}"
    return value.isoformat() if isinstance(value, date) else str(value)


def document(tree: dict[str, Any]) -> str:
    return "".join(f"{toml(key)} = {toml(value)}\n" for key, value in tree.items())


@pytest.mark.parametrize("text", TEXTS, ids=[path.stem for path in FILES])
def test_inline_and_written_out_are_the_same(text: str) -> None:
    """A file made of inline tables holds the same procedure as the one that is written out."""
    tree = tomllib.loads(text, parse_float=Decimal)
    one, two = load_text(text, "x.toml"), load_text(document(tree), "x.toml")
    assert (one.steps, one.parts, one.cautions) == (two.steps, two.parts, two.cautions)


@settings(max_examples=400, deadline=None)
@given(st.sampled_from(TEXTS), VALUES, st.data())
def test_valid_files_with_a_wrong_value(text: str, value: Any, data: st.DataObject) -> None:
    """Any value of TOML in the place of any value of a valid file."""
    tree: Any = tomllib.loads(text, parse_float=Decimal)
    at = tree
    while True:
        key = data.draw(st.sampled_from(sorted(at) if isinstance(at, dict) else list(range(len(at)))))
        if not isinstance(at[key], (dict, list)) or not at[key] or (data.draw(st.booleans()) and at is not tree):
            break
        at = at[key]
    at[key] = value
    loaded(document(tree))


@settings(max_examples=200, deadline=None)
@given(st.lists(st.one_of(SCRAPS, st.sampled_from("ab.[]={}\"'#\n ")), max_size=40).map("".join))
def test_the_finder_of_lines_takes_any_text(text: str) -> None:
    """It is used on valid TOML only, and ends quietly on everything else."""
    assert all(1 <= line <= text.count("\n") + 1 for line in line_numbers(text).values())


@pytest.mark.parametrize("text", TEXTS, ids=[path.stem for path in FILES])
def test_lines_are_where_the_keys_are(text: str) -> None:
    """Outside check: the standard library's parser agrees on each key, and the line named holds it."""
    rows = text.splitlines()
    found = line_numbers(text)
    tree = tomllib.loads(text)
    for number, step in enumerate(tree["step"]):
        for key, value in step.items():
            row = rows[found["step", number, key] - 1]
            assert row.startswith(f"{key} = ") or row == f"[[step.{key}]]"
            if isinstance(value, str):
                assert value in row
