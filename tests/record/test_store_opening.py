"""What cannot be opened, or is no record, gets one clear sentence."""

from __future__ import annotations

import os
import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from bayvoice.errors import BayError
from bayvoice.record.sqlite.store import FORMAT, Store
from tests.record.records import ROOT, child, fill, noted


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return tmp_path / "bay" / "bay.sqlite"


def _text(path: Path) -> None:
    path.write_text("job;step;value\n" * 200)


def _foreign(path: Path) -> None:
    db = sqlite3.connect(path)
    db.execute("CREATE TABLE tools (name TEXT)")
    db.commit()
    db.close()


def _newer(path: Path) -> None:
    fill(path, "J", [noted(1)])
    db = sqlite3.connect(path)
    db.execute(f"PRAGMA user_version = {FORMAT + 1}")
    db.close()


def _folder(path: Path) -> None:
    path.mkdir()


def _pipe(path: Path) -> None:
    os.mkfifo(path)


@pytest.mark.parametrize("read_only", [False, True])
@pytest.mark.parametrize(
    ("make", "what"),
    [
        (_text, "this is not a job record"),
        (_foreign, "another program's database"),
        (_newer, "the record has format 4"),
        (_folder, "this is not a file"),
        (_pipe, "this is not a file"),
    ],
)
def test_what_is_no_record_is_said(tmp_path: Path, make: Callable[[Path], None], what: str, read_only: bool) -> None:
    place = tmp_path / "bay.sqlite"
    make(place)
    before = place.read_bytes() if place.is_file() else b""
    with pytest.raises(BayError, match=what) as told:
        Store(place, read_only=read_only)
    assert told.value.where == str(place)
    assert told.value.mend
    assert before == (place.read_bytes() if place.is_file() else b"")


def test_a_reader_makes_no_record(tmp_path: Path) -> None:
    with pytest.raises(BayError, match="there is no job record here"):
        Store(tmp_path / "none.sqlite", read_only=True)
    (tmp_path / "empty.sqlite").touch()
    with pytest.raises(BayError, match="there is no job record in this file"):
        Store(tmp_path / "empty.sqlite", read_only=True)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["empty.sqlite"]


@pytest.mark.parametrize(
    "place", ["/proc/nowhere/bay.sqlite", "/dev/null/bay.sqlite", "bay\0.sqlite", "x" * 300 + "/b"]
)
def test_a_place_that_cannot_be_is_said(tmp_path: Path, place: str) -> None:
    with pytest.raises(BayError, match="the record cannot be opened"):
        Store(tmp_path / place)


@pytest.mark.parametrize("name", ["", "a\nb", "a\x1bb", "x" * 201, "\ud800"])
def test_a_name_no_job_can_have_is_said(place: Path, name: str) -> None:
    with Store(place) as store, pytest.raises(BayError, match="a job's name"):
        store.append(name, noted(1))


@pytest.mark.parametrize("name", ["K40/0117", "../up", "It's Ruth's", "Tür 7 %20", "';--"])
def test_odd_names_are_only_names(place: Path, name: str) -> None:
    fill(place, name, [noted(1)])
    with Store(place) as store:
        assert store.job_names() == [name]
        assert store.verify_all() is None


_AS_NOBODY = """
import os, sys
sys.path.insert(0, sys.argv[2])
from bayvoice.record.sqlite.store import Store
from bayvoice.job.facts import Fact
from bayvoice.errors import BayError
if os.getuid() == 0:
    os.setgid(65534)
    os.setuid(65534)
for read_only in (False, True):
    try:
        with Store(sys.argv[1], read_only=read_only) as store:
            print("open", len(store.facts("J")))
    except BayError as error:
        print(error)
"""


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that another user can reach, which pytest's own are not."""
    folder = Path(tempfile.mkdtemp(prefix="bay"))
    folder.chmod(0o755)
    yield folder
    shutil.rmtree(folder)


def _said_by_nobody(place: Path) -> list[str]:
    said, errors = child(_AS_NOBODY, place, ROOT, cwd="/").communicate()
    if "Permission" in errors or "ModuleNotFound" in errors:
        pytest.skip("another user cannot reach this Python or this checkout")
    assert errors == ""
    return said.splitlines()


def test_a_file_of_somebody_else_is_read_and_not_written(open_folder: Path) -> None:
    place = open_folder / "bay.sqlite"
    fill(place, "J", [noted(1), noted(2)])
    place.chmod(0o444)
    open_folder.chmod(0o555)
    to_write, to_read = _said_by_nobody(place)
    assert "the record cannot be" in to_write
    assert to_read == "open 2"
    place.chmod(0o000)
    assert all("the record cannot be opened" in line for line in _said_by_nobody(place))
    open_folder.chmod(0o755)
