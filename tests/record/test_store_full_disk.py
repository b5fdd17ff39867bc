"""A disk without room loses nothing that was kept, and takes the same fact later."""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from bayvoice.errors import BayError
from bayvoice.record.sqlite.store import Store
from tests.record.records import child, fill, noted


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return tmp_path / "bay" / "bay.sqlite"


def _append_until_refused(store: Store, seq: int) -> tuple[int, str]:
    """The number of the first fact that was refused, and what was said."""
    while seq < 5000:
        try:
            store.append("J", noted(seq, "x" * 2000))
        except BayError as error:
            return seq, str(error)
        seq += 1
    raise AssertionError("the disk never filled")


def test_a_full_file_loses_nothing_and_takes_the_same_fact_later(place: Path) -> None:
    with Store(place) as store:
        store.db.execute("PRAGMA max_page_count = 30")
        seq, said = _append_until_refused(store, 1)
        assert "the disk is full, nothing more was kept; make room and try again." in said
        assert _append_until_refused(store, seq) == (seq, said)
        assert [fact.seq for fact in store.facts("J")] == list(range(1, seq))
        assert store.verify_all() is None
        store.db.execute("PRAGMA max_page_count = 1000")
        store.append("J", noted(seq))
        store.append("J", noted(seq + 1))
        assert store.verify_all() is None
    with Store(place) as store:
        assert len(store.facts("J")) == seq + 1


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A real file system of 512 KiB."""
    folder = tmp_path / "disk"
    folder.mkdir()
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=512k", "tmpfs", str(folder)], capture_output=True, text=True
    )
    if made.returncode != 0:
        pytest.skip(f"no small disk can be mounted here: {made.stderr.strip()}")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def test_a_full_disk_loses_nothing_and_takes_the_same_fact_later(small_disk: Path) -> None:
    ballast = small_disk / "ballast"
    ballast.write_bytes(b"\0" * 200_000)
    place = small_disk / "bay.sqlite"
    with Store(place) as store:
        seq, said = _append_until_refused(store, 1)
        assert seq > 1
        assert "the disk is full" in said
        assert store.verify_all() is None
        ballast.unlink()
        store.append("J", noted(seq))
        assert store.verify_all() is None
    with Store(place) as store:
        assert len(store.facts("J")) == seq


def test_a_disk_full_from_the_start_is_said(small_disk: Path) -> None:
    ballast = small_disk / "ballast"
    with pytest.raises(OSError, match="No space"):
        ballast.write_bytes(b"\0" * 600_000)
    with pytest.raises(BayError, match=r"the disk is full|the disk did not take|cannot be opened"):
        Store(small_disk / "bay.sqlite")
    ballast.unlink()
    fill(small_disk / "bay.sqlite", "J", [noted(1)])


_LIMITED = """
import resource, sys
from bayvoice.record.sqlite.store import Store
from bayvoice.job.facts import Fact
from bayvoice.errors import BayError
store = Store(sys.argv[1])
hard = resource.getrlimit(resource.RLIMIT_FSIZE)[1]
resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, hard))
for seq in range(1, 5000):
    fact = Fact(seq, 1.0, "noted", {"step": "s", "text": "x" * 2000})
    try:
        store.append("J", fact)
    except BayError as error:
        print(error)
        break
resource.setrlimit(resource.RLIMIT_FSIZE, (hard, hard))
store.append("J", fact)
print(seq, len(store.facts("J")), store.verify_all())
"""


def test_a_size_limit_of_the_system_is_met_like_a_full_disk(place: Path) -> None:
    said, errors = child(_LIMITED, place).communicate()
    assert errors == ""
    refused, after = said.splitlines()
    assert "the disk did not take or give the record" in refused or "the disk is full" in refused
    seq, kept, found = after.split()
    assert (int(seq), found) == (int(kept), "None")
    assert int(seq) > 5
