"""The house: which room may import which, no circles, and that the pure rooms are pure. Held by tests, by no memory."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections import defaultdict
from pathlib import Path

import pytest

import bayvoice

ROOT = Path(bayvoice.__file__).parent
IO = {
    "os",
    "io",
    "sys",
    "pathlib",
    "shutil",
    "tempfile",
    "socket",
    "subprocess",
    "threading",
    "multiprocessing",
    "queue",
    "asyncio",
    "concurrent",
    "time",
    "datetime",
    "random",
    "secrets",
    "uuid",
    "sqlite3",
    "wave",
    "sounddevice",
    "vosk",
    "pocketsphinx",
    "hama",
    "pyttsx3",
    "soxr",
    "numpy",
    "textual",
    "ctypes",
    "signal",
    "urllib",
    "http",
}
"""Modules that reach outside the process, ask a clock or chance, or need a thread; and the packages that do."""

FLOORS = (
    ("errors",),
    ("texts",),
    ("units",),
    ("language",),
    ("trade",),
    ("reckon", "procedure"),
    ("job",),
    ("dialogue",),
    ("host",),
    ("ears", "voice", "record"),
    ("report",),
    ("screen",),
    ("runtime",),
    ("cli",),
)
"""The rooms from the ground up: a room imports from floors below its own, and from itself."""

CATALOGUE = "language.texts"
"""Makes every sentence, also those of the units, so it stands on a floor of its own below them: "texts"."""

PURE = ("errors", "units", "language", "trade", "procedure", "job", "dialogue")
"""Rooms without I/O, clock, chance and threads."""

READS_ITSELF = {(CATALOGUE, "pathlib"), (CATALOGUE, "pathlib.Path")}
"""What a pure room may import nevertheless; `test_pure_rooms_reach_nothing_outside` says why."""

APART = {
    "reckon": {"procedure"},
    "ears": {"dialogue", "voice", "record", "job"},
    "voice": {"dialogue", "ears", "record", "job", "procedure"},
    "record": {"ears", "voice"},
    "report": {"ears", "voice", "host.clock"},
    "screen": {"record", "ears", "voice", "report", "host"},
    "runtime": {"report"},
}
"""Beside the floors: what a room has no business with."""


def modules() -> dict[str, Path]:
    """Name of each module below the package -> its file; a package is named as itself."""
    found = {}
    for path in ROOT.rglob("*.py"):
        parts = path.relative_to(ROOT).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


MODULES = modules()


def imports(path: Path) -> set[str]:
    """Every module `path` imports, names of a package as modules too. Imports under TYPE_CHECKING count."""
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


def ours(path: Path) -> set[str]:
    """The modules of the package that `path` imports, the longest name of each."""
    named = {name.removeprefix("bayvoice.") for name in imports(path) if name.startswith("bayvoice.")} & MODULES.keys()
    return {one for one in named if not any(other.startswith(f"{one}.") for other in named)}


GRAPH = {name: ours(path) for name, path in MODULES.items()}


def circles(graph: dict[str, set[str]]) -> list[list[str]]:
    """Sets of nodes that reach each other (Tarjan's algorithm), each sorted."""
    order: dict[str, int] = {}
    low: dict[str, int] = {}
    stack: list[str] = []
    found: list[list[str]] = []

    def visit(node: str) -> None:
        order[node] = low[node] = len(order)
        stack.append(node)
        for other in graph.get(node, ()):
            if other not in order:
                visit(other)
                low[node] = min(low[node], low[other])
            elif other in stack:
                low[node] = min(low[node], order[other])
        if low[node] == order[node]:
            circle = stack[stack.index(node) :]
            del stack[stack.index(node) :]
            if len(circle) > 1:
                found.append(sorted(circle))

    for node in graph:
        if node not in order:
            visit(node)
    return found


def test_the_search_for_circles_finds_one() -> None:
    """Three that lead round, one that only looks on."""
    assert circles({"a": {"b"}, "b": {"c"}, "c": {"a"}, "d": {"a"}}) == [["a", "b", "c"]]


def test_no_files_lead_in_a_circle() -> None:
    """Also not for the sake of a type."""
    assert circles(GRAPH) == []


def test_no_packages_lead_in_a_circle() -> None:
    """A package is a folder; the root, which holds the entry point, the error and the units, is none."""
    folder_of = {
        name: name if path.name == "__init__.py" else name.rpartition(".")[0] for name, path in MODULES.items()
    }
    between: dict[str, set[str]] = defaultdict(set)
    for name, used in GRAPH.items():
        for other in used:
            if folder_of[name] and folder_of[other] and folder_of[name] != folder_of[other]:
                between[folder_of[name]].add(folder_of[other])
    assert circles(dict(between)) == []


def test_arrows_point_down_only() -> None:
    """Every module stands on a floor, and imports from below."""
    floor = {room: at for at, rooms in enumerate(FLOORS) for room in rooms}
    rooms = {name: name.partition(".")[0] for name in MODULES if name not in ("", "__main__")}
    rooms[CATALOGUE] = "texts"
    assert set(rooms.values()) == set(floor)
    wrong = [
        f"{name} imports {other}"
        for name, room in rooms.items()
        for other in GRAPH[name]
        if other in rooms and rooms[other] != room and floor[rooms[other]] >= floor[room]
    ]
    wrong += [
        f"{name} imports {other}"
        for name, room in rooms.items()
        for other in GRAPH[name]
        if any(other == never or other.startswith(f"{never}.") for never in APART.get(room, ()))
    ]
    assert sorted(set(wrong)) == []


def test_pure_rooms_reach_nothing_outside() -> None:
    """No I/O, clock, chance or thread in what can be replayed.

    The catalogue of sentences is read from files, once and whole: it is part of the program as its modules are, and
    nothing but a new installation changes it.
    """
    wrong = [
        f"{name} imports {used}"
        for name, path in MODULES.items()
        if name.partition(".")[0] in PURE
        for used in imports(path)
        if used.partition(".")[0] in IO and (name, used) not in READS_ITSELF
    ]
    assert sorted(wrong) == []


def test_the_root_holds_the_entry_point_the_error_and_the_units_only() -> None:
    """Everything else lives in a room."""
    assert {path.name for path in ROOT.glob("*.py")} == {"__init__.py", "__main__.py", "errors.py", "units.py"}


def set_from_outside(path: Path) -> list[str]:
    """Attributes that a module sets on something other than the object whose method does it."""
    nodes = ast.walk(ast.parse(path.read_text(encoding="utf-8")))
    stored = [node for node in nodes if isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Store)]
    return [ast.unparse(node) for node in stored if not (isinstance(node.value, ast.Name) and node.value.id == "self")]


def test_setting_from_outside_is_found(tmp_path: Path) -> None:
    """In a tuple and with a type too; what an object sets on itself is its own."""
    source = tmp_path / "wired.py"
    source.write_text("hub.door = 1\nself.a = 2\nself.b.c, d = 3, 4\nx.y: int = 5\nx.z += 1\nw[0] = x.q\n")
    assert sorted(set_from_outside(source)) == ["hub.door", "self.b.c", "x.y", "x.z"]


def test_whoever_needs_something_is_given_it_when_it_is_made() -> None:
    """In the rooms that join things nothing is set on a thing later by somebody else; the terminal is Python's."""
    found = {
        name: set(set_from_outside(path)) - {"sys.__stderr__"}
        for name, path in MODULES.items()
        if name.partition(".")[0] in ("runtime", "cli")
    }
    assert {name: wrong for name, wrong in found.items() if wrong} == {}


def test_the_ears_thread_knows_nothing_of_the_loop() -> None:
    """What it needs comes as a message, what it finds goes into the inbox: it cannot read the state of the core."""
    near = ("runtime.live", "runtime.listening", "runtime.noting", "runtime.inbox", "runtime.intake")
    never = {"runtime.hub", "runtime.sitting", "runtime.wiring", "dialogue.session", "dialogue.engine.state"}
    assert {name: GRAPH[name] & never for name in near} == {name: set() for name in near}


@pytest.mark.parametrize(
    "module", ["bayvoice.dialogue.session", "bayvoice.language.grammar", "bayvoice.procedure.load"]
)
def test_the_pure_parts_load_without_the_heavy_packages(module: str) -> None:
    """What the interpreter really loaded counts, not what the sources say."""
    code = f"import sys, {module}; print(*sorted(m for m in sys.modules))"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    heavy = {"numpy", "textual", "sounddevice", "vosk", "pocketsphinx", "hama", "pyttsx3", "sqlite3"}
    assert not heavy & set(loaded)
    assert not [m for m in loaded if m.startswith(("bayvoice.record", "bayvoice.ears", "bayvoice.screen"))]
