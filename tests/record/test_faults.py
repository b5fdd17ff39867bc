"""SIGKILL at random moments, most of them inside a commit, on a roomy and on a full disk: the record is whole."""

from __future__ import annotations

import random
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.faults import Tally, commit_time, strike

KILLS = 40
KILLS_FULL = 20


def test_nothing_announced_is_lost_and_nothing_doubled(tmp_path: Path) -> None:
    """Seed fixed, the moments are not; ``python -m tests.bench.faults`` does it five hundred times."""
    chance, tally = random.Random(20250304), Tally()
    commit_s = commit_time(tmp_path / "measure.sqlite")
    for _ in range(KILLS):
        strike(tmp_path / "bay.sqlite", chance, tally, commit_s)
    assert tally.whole, tally.line()
    assert tally.kills == KILLS
    assert tally.inside > 0, f"no kill fell inside a commit: {tally.line()}"
    assert tally.announced > KILLS


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A real file system of 640 KiB."""
    folder = tmp_path / "disk"
    folder.mkdir()
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=640k", "tmpfs", str(folder)], capture_output=True, text=True
    )
    if made.returncode != 0:
        pytest.skip(f"no small disk can be mounted here: {made.stderr.strip()}")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def test_nothing_is_lost_where_the_disk_is_full_too(small_disk: Path, tmp_path: Path) -> None:
    """The disk fills while facts are kept; between the kills a little room is made now and then."""
    chance, tally = random.Random(8), Tally()
    ballast = small_disk / "ballast"
    ballast.write_bytes(b"\0" * 430_000)
    for turn in range(KILLS_FULL):
        strike(small_disk / "bay.sqlite", chance, tally, 0.0005)
        if turn % 5 == 4:
            ballast.write_bytes(b"\0" * max(0, 430_000 - 8_000 * turn))
    assert tally.whole, tally.line()
    assert tally.kills == KILLS_FULL
    assert tally.refused > 0, f"the disk never filled: {tally.line()}"
