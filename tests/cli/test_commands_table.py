"""Every option and environment variable is documented once: in the help, and in README's table made from it."""

from __future__ import annotations

import argparse
import re
from pathlib import Path

import pytest

import bayvoice
from bayvoice.cli.main import COMMANDS, ENVIRONMENT
from tests.cli.commands_table import parsers, table

ROOT = Path(bayvoice.__file__).parent
README = (ROOT.parent / "README.md").read_text(encoding="utf-8")
VARIABLE = re.compile(r"\bBAYVOICE_[A-Z_]+\b")


def chapter(name: str) -> str:
    """The text of a chapter of README, up to the next of its rank."""
    found = re.search(rf"^## {name}\n(.*?)(?=^## |\Z)", README, re.MULTILINE | re.DOTALL)
    assert found, f"README has no chapter {name}"
    return found[1]


def test_the_chapter_holds_the_table_of_the_parsers() -> None:
    """To the letter; ``python -m tests.cli.commands_table`` prints what belongs there."""
    text = chapter("Commands")
    for line in table().splitlines():
        assert line in text.splitlines() or not line, line


def test_the_chapter_names_no_option_that_there_is_not() -> None:
    """What was taken out of a command must leave README too."""
    known = {name for parser in parsers().values() for a in parser.filled()._actions for name in a.option_strings}
    assert set(re.findall(r"(?<![\w-])--[a-z][a-z-]*", chapter("Commands"))) <= known


def test_every_option_says_in_the_help_what_it_does() -> None:
    """Commands and arguments too."""
    mute = [
        f"{name} {action.option_strings or action.dest}"
        for name, parser in parsers().items()
        for action in parser.filled()._actions
        if not action.help and not isinstance(action, argparse._SubParsersAction)
    ]
    assert mute == []


def test_every_environment_variable_of_the_source_is_told() -> None:
    """Those the program reads, and no other."""
    sources = [path.read_text(encoding="utf-8") for path in ROOT.rglob("*.py") if path.name != "main.py"]
    assert {name for text in sources for name in VARIABLE.findall(text)} == set(ENVIRONMENT)


def test_every_command_is_a_module_of_its_name() -> None:
    """In ``bayvoice/cli/``; beside them only the entry and what they share."""
    files = {path.stem for path in (ROOT / "cli").glob("*.py")} - {"__init__", "main", "common"}
    assert files == set(parsers()) == {str(getattr(one, "__name__", "")).rpartition(".")[2] for one in COMMANDS}


@pytest.mark.parametrize("name", sorted(parsers()))
def test_every_command_takes_json(name: str) -> None:
    """All but the browser, which prints nothing for programs, and `reckon`, whose subjects take it."""
    taken = {option for action in parsers()[name]._actions for option in action.option_strings}
    assert ("--json" in taken) is (name not in ("browser", "reckon"))
