"""Which part may import which, held by a test and not by anyone's memory."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import bayvoice

ROOT = Path(bayvoice.__file__).parent
IO = {
    "os", "io", "sys", "pathlib", "shutil", "tempfile", "socket", "subprocess", "threading", "multiprocessing", "queue",
    "asyncio", "concurrent", "time", "datetime", "random", "secrets", "uuid", "sqlite3", "wave", "sounddevice", "vosk",
    "pocketsphinx", "hama", "pyttsx3", "soxr", "numpy", "textual", "ctypes", "signal", "urllib", "http",
}  # fmt: skip
"""Modules that reach outside the process, ask a clock or chance, or need a thread; and the packages that do."""

# part -> what it never imports (prefixes of module names)
NEVER: dict[str, set[str]] = {
    "errors.py": {"bayvoice"},
    "units.py": IO
    | {f"bayvoice.{part}" for part in ("core", "speech", "trade", "procedure", "edges", "screen", "report")},
    "core": IO | {"bayvoice.edges", "bayvoice.screen", "bayvoice.report", "bayvoice.hub", "bayvoice.assemble"},
    "speech": IO | {"bayvoice.edges", "bayvoice.screen", "bayvoice.report", "bayvoice.core", "bayvoice.hub"},
    "trade": IO | {"bayvoice.core", "bayvoice.speech", "bayvoice.procedure", "bayvoice.edges", "bayvoice.screen"},
    "procedure": IO | {"bayvoice.edges", "bayvoice.screen", "bayvoice.core", "bayvoice.report"},
    "edges": {"bayvoice.core.session", "bayvoice.screen", "bayvoice.hub", "bayvoice.assemble", "bayvoice.cli"},
    "screen": {"bayvoice.edges", "bayvoice.report", "bayvoice.hub", "bayvoice.assemble", "sqlite3"},
    "reckon": {"bayvoice.core", "bayvoice.edges", "bayvoice.procedure", "bayvoice.screen", "bayvoice.report"},
    "report": {"bayvoice.edges.ears", "bayvoice.edges.voice", "bayvoice.screen", "bayvoice.core.session"},
}


def imports(path: Path) -> set[str]:
    """Every module `path` imports, relative ones made absolute, names of a package as modules too."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            assert not node.level, f"{path}: relative import"
            if (node.module, [a.name for a in node.names]) == ("pathlib", ["PurePath"]):
                continue  # names of files without a file system
            found.add(node.module)
            found.update(f"{node.module}.{alias.name}" for alias in node.names)
    return found


def test_no_file_imports_what_its_part_must_not() -> None:
    """The table of DEVELOPERS.md, third column."""
    wrong = []
    for part, never in NEVER.items():
        files = [ROOT / part] if part.endswith(".py") else sorted((ROOT / part).rglob("*.py"))
        assert files, f"{part} is empty"
        for path in files:
            wrong += [
                f"{path.relative_to(ROOT)} imports {name}"
                for name in imports(path)
                if any(name == n or name.startswith(f"{n}.") for n in never)
            ]
    assert not wrong, "\n".join(sorted(wrong))


@pytest.mark.parametrize("module", ["bayvoice.core.session", "bayvoice.speech.grammar", "bayvoice.procedure.load"])
def test_the_pure_parts_load_without_the_heavy_packages(module: str) -> None:
    """What the interpreter really loaded counts, not what the sources say."""
    code = f"import sys, {module}; print(*sorted(m for m in sys.modules))"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    heavy = {"numpy", "textual", "sounddevice", "vosk", "pocketsphinx", "hama", "pyttsx3", "sqlite3"}
    assert not heavy & set(loaded)
    assert not [m for m in loaded if m.startswith(("bayvoice.edges", "bayvoice.screen"))]


def test_no_file_is_longer_than_five_hundred_lines() -> None:
    """A longer file usually holds two things."""
    long = [str(p) for p in ROOT.rglob("*.py") if len(p.read_text(encoding="utf-8").splitlines()) > 500]
    assert not long
