"""Where in a TOML text its tables and keys stand. The parser of the standard library tells values, not places."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping

Path = tuple[str | int, ...]
"""Place inside the document: table and key names, and from 0 the number within an array of tables."""

_KEY = r"""(?:[A-Za-z0-9_-]+|"(?:[^"\\\n]|\\.)*"|'[^'\n]*')"""
_DOTTED = re.compile(rf"{_KEY}(?:[ \t]*\.[ \t]*{_KEY})*")
_DEEPEST = 16
_ONE_KEY = re.compile(_KEY)
_BLANK = re.compile(r"(?:[ \t\n\r]+|#[^\n]*)*")
_TOKEN = re.compile(
    r'''"""(?:\\.|[^\\])*?"{3,5}|\'\'\'.*?'{3,5}|"(?:\\.|[^"\\\n])*"|'[^'\n]*'|\#[^\n]*|[\[{]|[\]}]|\n|[^"'\#\[\]{}\n]+''',
    re.DOTALL,
)


def line_numbers(text: str) -> dict[Path, int]:
    """Line (from 1) of each table heading and each ``key = value`` of a valid TOML document.

    Keys inside inline tables are not listed: ask `nearest` for the line of what encloses them.
    """
    found: dict[Path, int] = {}
    last: dict[Path, int] = {}
    table: Path = ()
    for line, kind, names in _statements(text):
        if kind == "[[":
            parent = _current(names[:-1], last)
            array: Path = (*parent, names[-1])
            last[array] = last.get(array, -1) + 1
            table = (*array, last[array])
        elif kind == "[":
            table = _current(names, last)
        path = table if kind != "=" else (*table, *names)
        # A path that is deeper than any of the format is told at what encloses it, see `nearest`.
        last_end = min(len(path), _DEEPEST)
        for end in range(len(path) - len(names) + 1 if kind == "=" else len(path), last_end + 1):
            found.setdefault(path[:end], line)
        if kind == "[[" and last[path[:-1]] == 0:
            found.setdefault(path[:-1], line)
    return found


def nearest(found: Mapping[Path, int], path: Path) -> int | None:
    """Line of `path`, or of the innermost listed thing that encloses it; None if nothing does."""
    while path:
        if path in found:
            return found[path]
        path = path[:-1]
    return None


def _current(names: tuple[str, ...], last: dict[Path, int]) -> Path:
    path: Path = ()
    for name in names:
        path = (*path, name)
        if path in last:
            path = (*path, last[path])
    return path


def _statements(text: str) -> Iterator[tuple[int, str, tuple[str, ...]]]:
    """(line, "[[" or "[" or "=", names) of each statement; ends quietly where the text is not TOML."""
    pos, line, counted = 0, 1, 0
    while True:
        blank = _BLANK.match(text, pos)
        pos = blank.end() if blank else pos
        line += text.count("\n", counted, pos)
        counted = pos
        kind = "[[" if text.startswith("[[", pos) else "[" if text.startswith("[", pos) else "="
        start = pos if kind == "=" else pos + len(kind)
        while text[start : start + 1] in (" ", "\t"):
            start += 1
        key = _DOTTED.match(text, start)
        if key is None:
            return
        names = tuple(_plain(name) for name in _ONE_KEY.findall(key.group()))
        yield line, kind, names
        pos = _line_end(text, key.end() if kind == "=" else text.find("]", key.end()) + len(kind))


def _plain(name: str) -> str:
    """A key as the parser gives it; one in double quotes may hold escapes."""
    if not name.startswith('"'):
        return name.strip("'")
    try:
        return str(tomllib.loads(f"key = {name}")["key"])
    except tomllib.TOMLDecodeError:
        return name


def _line_end(text: str, pos: int) -> int:
    """End of the statement: the first line end that is in no string, array or inline table."""
    depth = 0
    while token := _TOKEN.match(text, pos):
        pos = token.end()
        what = token.group()
        if what in "[{":
            depth += 1
        elif what in "]}":
            depth -= 1
        elif what == "\n" and depth <= 0:
            break
    return pos
