"""What the tests of the record share: facts, a second process, a hand that writes into the file."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

from bayvoice.job.facts import Fact
from bayvoice.record.sqlite.store import Store

ROOT = Path(__file__).parents[2]


def noted(seq: int, text: str = "as agreed") -> Fact:
    return Fact(seq, 1_741_078_000.125 + seq, "noted", {"step": "fit", "text": text})


def fill(place: Path, job: str, facts: list[Fact]) -> None:
    with Store(place) as store:
        for fact in facts:
            store.append(job, fact)


def child(code: str, *arguments: object, keys: bool = False, cwd: str | None = None) -> subprocess.Popen[str]:
    """A real second process that runs `code` with our package on its path; `keys`: its standard input is ours."""
    return subprocess.Popen(
        [sys.executable, "-c", code, *(str(a) for a in arguments)],
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        stdin=subprocess.PIPE if keys else subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=cwd,
    )


def tamper(place: Path, script: Callable[[sqlite3.Connection], object]) -> None:
    other = sqlite3.connect(place, isolation_level=None)
    for (name,) in other.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        other.execute(f"DROP TRIGGER {name}")
    script(other)
    other.close()
