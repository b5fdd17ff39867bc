"""The handbook (README.md and the chapters it links to) holds: links, sizes, commands, options, and both dialogues."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from tests.stage import play

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
CHAPTERS = (
    "README.md",
    "DEVELOPERS.md",
    "procedures/README.md",
    "procedures/HAZARDS.md",
    "grammars/README.md",
    "demo/README.md",
    "bayvoice/record/README.md",
    "bayvoice/reckon/README.md",
    "bayvoice/screen/README.md",
    "tests/bench/README.md",
)
LARGEST = 12_000
"""Bytes README may have: what is read in ten minutes."""
LARGEST_PICTURE = 200_000
ANSWERED_S = 30.0
COMMANDS = ("work", "jobs", "report", "audit", "people", "vet", "hear", "soundcheck", "browser", "reckon")
MEANWHILE = {
    "(two minutes later)": "wait 2 min",
    "(later, the cover is off)": "\n".join(
        f"hear {words}" for words in ("next", "next", "next", "yes", "next", "no", "yes")
    ),
}
"""What happens between the lines of the spoken dialogue, as a script has it."""


def text_of(chapter: str) -> str:
    """A chapter as it is written."""
    return (ROOT / chapter).read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    """The code blocks of README in `language`, in order."""
    return re.findall(rf"^```{language}\n(.*?)^```", README, re.MULTILINE | re.DOTALL)


def anchors(text: str) -> set[str]:
    """What the headings of a Markdown text can be linked to by (GitHub's rule: small letters, hyphens)."""
    heads = re.findall(r"^#+ (.*)$", text, re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", head.lower()).replace(" ", "-") for head in heads}


@cache
def takes(command: str) -> frozenset[str]:
    """The long options that the command lists in its help."""
    done = subprocess.run(
        [sys.executable, "-m", "bayvoice", command, "--help"],
        env=os.environ | {"COLUMNS": "200", "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    return frozenset(re.findall(r"^ +(?:-\w, )?(--[a-z][a-z-]*)", done.stdout, re.MULTILINE))


def options(text: str) -> set[str]:
    """The long options in a text."""
    return set(re.findall(r"(?<![\w-])--[a-z][a-z-]*", text))


def test_readme_is_read_in_ten_minutes() -> None:
    assert len(README.encode()) <= LARGEST
    for picture in re.findall(r"!\[.*?\]\((.*?)\)", README):
        assert 0 < (ROOT / picture).stat().st_size <= LARGEST_PICTURE


@pytest.mark.parametrize("chapter", CHAPTERS)
def test_links_lead_somewhere(chapter: str) -> None:
    """Every link and picture is a file of the checkout, and its anchor a heading there; nothing is fetched."""
    for link in re.findall(r"\]\(([^)\s]+)\)", text_of(chapter)):
        name, _, anchor = link.partition("#")
        there = (ROOT / chapter).parent / name if name else ROOT / chapter
        assert there.resolve().is_relative_to(ROOT), link
        assert there.exists(), link
        assert not anchor or anchor in anchors(there.read_text(encoding="utf-8")), link


def test_every_chapter_can_be_found_from_readme() -> None:
    linked = set(re.findall(r"\]\(([^)#\s]+)", README))
    assert {chapter for chapter in CHAPTERS if chapter != "README.md"} <= linked
    handbook = {
        path.relative_to(ROOT).as_posix()
        for top in ("bayvoice", "procedures", "grammars", "demo", "tests")
        for path in (ROOT / top).rglob("README.md")
        if "out" not in path.parts
    }
    assert handbook <= set(CHAPTERS)


def test_the_table_of_commands_is_whole() -> None:
    """Each command has a row with all of its options and no other; ``--json`` is told below the table."""
    rows = dict(re.findall(r"^\| `bayvoice (\w+)[^`]*` \|(.*)$", README, re.MULTILINE))
    assert set(rows) == set(COMMANDS)
    for command in COMMANDS:
        if command != "reckon":  # its subjects have their own
            assert options(rows[command]) == takes(command) - {"--help", "--json"}, command


@pytest.mark.parametrize("chapter", CHAPTERS)
def test_commands_are_understood(chapter: str) -> None:
    """Whatever is written behind a command is one of its options, in code blocks and in lines alike."""
    pieces = re.findall(r"`([^`\n]+)`", re.sub(r"^```\w*$", "", text_of(chapter), flags=re.MULTILINE))
    pieces += [line.partition(" #")[0] for line in text_of(chapter).splitlines() if line.startswith("bayvoice ")]
    for piece in pieces:
        found = re.match(r"(?:bayvoice )?(work|jobs|report|audit|people|vet|hear|soundcheck)\b(.*--.*)", piece)
        if found:
            assert options(found[2]) <= takes(found[1]), piece


def test_scripts_and_procedures_that_are_named_are_there() -> None:
    for line in blocks("sh")[0].splitlines():
        assert (ROOT / line.split()[1]).is_file(), line
    for name in re.findall(r"^bayvoice work ([\w-]+)", README, re.MULTILINE):
        assert (ROOT / "procedures" / f"{name}.toml").is_file(), name


def test_modules_that_are_named_are_there() -> None:
    for chapter in CHAPTERS:
        for name in re.findall(r"python -m (tests[\w.]*)", text_of(chapter).replace("tests.bench.NAME", "")):
            path = ROOT / name.strip(".").replace(".", "/")
            assert path.with_suffix(".py").is_file() or (path / "__main__.py").is_file(), f"{chapter}: {name}"


class Typist:
    """`bayvoice` as a stranger runs it from README, with what it prints."""

    def __init__(self, command: str, place: Path) -> None:
        words = command.split()
        assert words[0] == "bayvoice"
        self.printed: list[str] = []
        self.process = subprocess.Popen(
            [sys.executable, "-u", "-m", *words],
            env=os.environ | {"PYTHONPATH": str(ROOT), "HOME": str(place), "XDG_DATA_HOME": str(place / "data")},
            cwd=place,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            encoding="utf-8",
        )
        self.reader = threading.Thread(target=self._read, daemon=True)
        self.reader.start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        self.printed.extend(self.process.stdout)

    def type(self, line: str) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write(f"{line}\n")
        self.process.stdin.flush()

    def answers(self, text: str, after: int) -> int:
        """Wait until a line from `after` on has `text`; the place behind it."""
        until = time.monotonic() + ANSWERED_S
        while time.monotonic() < until:
            for index in range(after, len(self.printed)):
                if text in self.printed[index]:
                    return index + 1
            time.sleep(0.02)
        raise AssertionError(f"{text!r} was not said; last was {''.join(self.printed[after:])}")

    def leave(self) -> int:
        """Ctrl+D; the exit status."""
        assert self.process.stdin is not None
        self.process.stdin.close()
        status = self.process.wait(ANSWERED_S)
        self.reader.join(ANSWERED_S)
        return status


def test_five_minutes_without_a_microphone(tmp_path: Path) -> None:
    """The commands and lines of README, in order: worked, left, taken up, reported and proved."""
    begin, after = blocks("sh")[1], blocks("sh")[2]
    desk, place = Typist(begin.strip(), tmp_path), 0
    for line in blocks("text")[0].splitlines():
        if line.startswith("> "):
            place = len(desk.printed)
            desk.type(line[2:])
        else:
            place = desk.answers(line, place)
    assert desk.leave() == 0
    again = Typist(begin.strip(), tmp_path)
    again.answers("Step 8.", 0)
    assert again.leave() == 0
    for line in after.splitlines():
        done = Typist(line, tmp_path)
        assert done.leave() in (0, 1) if line.startswith("bayvoice report") else done.leave() == 0, done.printed
    assert "flange temperature" in (tmp_path / "glass.html").read_text(encoding="utf-8")


def test_the_spoken_dialogue(tmp_path: Path) -> None:
    """README's dialogue on the real core with the grammars that ship."""
    verbs: dict[bool, Callable[[str], str]] = {
        True: lambda line: f"hear {line[2:]}",
        False: lambda line: f"says {line}",
    }
    lines: list[Any] = [
        MEANWHILE.get(line) or verbs[line.startswith("> ")](line) for line in blocks("text")[1].splitlines()
    ]
    script = tmp_path / "readme.script"
    script.write_text("\n".join(["procedure k40-transfer-cover", "people Imre, Dalia, Ruth", "begin Imre", *lines]))
    stage = play(script)
    assert [str(reading.value) for reading in stage.state.job.readings] == ["0.15", "0.12"]


def test_files_that_the_guide_names_are_there() -> None:
    """Every path that DEVELOPERS.md gives from the root of the checkout."""
    named = re.findall(r"`((?:bayvoice|grammars|tests|procedures|demo)/[\w./-]+)`", text_of("DEVELOPERS.md"))
    assert len(named) > 20
    lacking = [name for name in named if "NAME" not in name and not (ROOT / name).exists()]
    assert not lacking
