"""The tree of the tests: what several share is in modules that are no tests, and the tests of a room lie together."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent
ROOMS = {"bench", "learn", *(each.name for each in (ROOT.parent / "bayvoice").iterdir() if each.is_dir())}
FILES = sorted(ROOT.rglob("*.py"))


def name_of(path: Path) -> str:
    """`tests.dialogue.test_scripts` of its file."""
    return ".".join(path.relative_to(ROOT.parent).with_suffix("").parts)


def imported(path: Path) -> Iterator[str]:
    """Modules of the tests that a file imports, wherever in it."""
    known = {name_of(each) for each in FILES}
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (each.name for each in node.names if each.name in known)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{name_of(path)} imports by a relative name"
            names = (node.module or "", *(f"{node.module}.{each.name}" for each in node.names))
            yield from (name for name in names if name in known)


def is_test(name: str) -> bool:
    return name.rsplit(".", 1)[-1].startswith("test_")


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_nothing_imports_a_test_and_only_benches_and_training_import_a_bench(path: Path) -> None:
    """A test that is changed or taken away breaks no other, and no test waits for what a bench loads."""
    mine = name_of(path)
    for other in imported(path):
        assert not is_test(other), f"{mine} imports {other}: what both need belongs into a module that is no test"
        if other.startswith("tests.bench."):
            assert mine.startswith(("tests.bench.", "tests.learn.")), f"{mine} imports the bench {other}"
        assert not other.startswith("tests.learn.") or mine.startswith("tests.learn."), f"{mine} imports {other}"


def test_the_tree_mirrors_the_package() -> None:
    """Each folder of tests has the name of a room, and tests of no room are those of the tree itself."""
    tests = [path for path in FILES if is_test(name_of(path))]
    assert {path.relative_to(ROOT).parts[0] for path in tests if path.parent != ROOT} <= ROOMS
    assert {path.name for path in tests if path.parent == ROOT} == {"test_house.py", "test_readme.py", "test_tree.py"}


def test_no_test_hides_another_of_the_same_name() -> None:
    """The later of two functions of one name is the only one that is ever run."""
    for path in FILES:
        body = ast.parse(path.read_text(encoding="utf-8")).body
        found = [node.name for node in body if isinstance(node, ast.FunctionDef)]
        assert len(found) == len(set(found)), f"{name_of(path)} defines a function twice"
