"""How much a procedure file may hold, looked at before anything else is: what is beyond it is told, and nothing more.

The figures are several times what a long overhaul has (common practice, no source). With all of them at once a file is
still vetted within seconds; the loader, the comparison of names and the grammars grow with them.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from bayvoice.procedure.memo import Memo
from bayvoice.procedure.mistakes import Notes, quoted
from bayvoice.procedure.places import Path

STEPS: Final = 3000
"""Steps of a file, and of the job once its way back is worked out."""
NAMES: Final = 200
"""Things, measurements, findings and waits of a job, of each: names that are told apart by ear."""
ENTRIES: Final[Mapping[str, int]] = {
    "step": STEPS,
    "part": 1000,
    "tool": 1000,
    "consumable": 1000,
    "gauge": 1000,
    "finding": NAMES,
    "caution": 20,
    "back": 100,
    "table": 500,
    "things": NAMES,
    "stages": 20,
    "tolerance": 20,
}
"""Entries of a list, by its key."""
OTHER_ENTRIES: Final = 500
"""Entries of any other list or table."""
WORD: Final = 60
"""Letters of a word that is said. The longest in an English dictionary has 45 (from memory)."""
NAME: Final = 100
"""Characters of what is called by a name."""
TEXT: Final = 1000
"""Characters of any other text of one line."""
SHOWN: Final = 10_000
"""Characters of what is only shown."""
DEPTH: Final = 10
"""Lists and tables within each other; the format itself needs six."""

_NAMED: Final = frozenset({"name", "things", "opening", "off", "puts_back", "who"})
_WRITTEN: Final = frozenset({"show", "references", "number"})
"""Not said, so a word in them may be an address on paper or a drawing number."""


def check(notes: Notes, document: Mapping[str, Any], memo: Memo) -> None:
    """Note what is too much in `document`, at most one thing a table.

    Args:
        notes: the mistakes of the file.
        document: as the parser gives it.
        memo: steps that were read before are not looked at again.

    Raises:
        BadProcedure: something is.
    """
    before = notes.count
    stack: list[tuple[Path, str, object]] = [((), "", document)]
    while stack:
        path, key, value = stack.pop()
        if isinstance(value, str):
            _check_text(notes, path, key, value)
        elif isinstance(value, (list, dict)):
            if path and len(value) > ENTRIES.get(key, OTHER_ENTRIES):
                notes.add(
                    path,
                    f"there are {len(value)} entries, and {ENTRIES.get(key, OTHER_ENTRIES)} may stand here",
                    "split the job into several procedures, or correct the list",
                )
            elif len(path) > DEPTH:
                notes.add(path[:2], "lists or tables are nested too deep", "write them flat")
            elif isinstance(value, dict):
                stack += [((*path, name), name, inner) for name, inner in value.items()]
            elif key == "step" and len(path) == 1:
                new = [(i, raw) for i, raw in enumerate(value) if not (isinstance(raw, dict) and memo.step(raw))]
                stack += [((*path, i), key, raw) for i, raw in new]
            else:
                stack += [((*path, i), key, inner) for i, inner in enumerate(value)]
    if notes.count > before:
        notes.raise_if_any()


def check_steps(notes: Notes, steps: int) -> None:
    """Note where the steps of the job, its way back worked out, are too many. BadProcedure: they are."""
    if steps > STEPS:
        what = f"with its way back the job has {steps} steps, and {STEPS} may stand here"
        notes.add(("step",), what, "split the job into several procedures")
        notes.raise_if_any()


def _check_text(notes: Notes, path: Path, key: str, text: str) -> None:
    named = key in _NAMED or (key == "say" and path[:1] == ("finding",))
    most = SHOWN if key == "show" else NAME if named else TEXT
    if len(text) > most:
        notes.add(path, f"the text has {len(text)} characters, and {most} may stand here", "shorten it")
    elif key not in _WRITTEN:
        long = next((word for word in text.split() if len(word) > WORD), "")
        if long:
            notes.add(
                path,
                f"the word {quoted(long)} has {len(long)} characters, and {WORD} can be said at most",
                "write it in several words, or correct it",
            )
