"""Nothing is written over a record or what belongs to one, and what is written is there as a whole or not at all."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path

import pytest

from bayvoice.cli.main import main
from bayvoice.errors import BayError
from bayvoice.host.writing import open_beside
from bayvoice.record.sqlite.outfile import MAGIC, must_not_harm, write_whole
from bayvoice.record.sqlite.store import Store
from tests.record.records import fill
from tests.report.whole_job import good_job


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    place = tmp_path / "bay.sqlite"
    fill(place, "K40-0117", good_job())
    return place


def targets(shop: Path) -> dict[str, Path]:
    """Every file that must stay as it is, by what it is; links to the record among them."""
    folder = shop.parent
    sounds = folder / "bay.sqlite.sounds"
    sounds.mkdir()
    (sounds / "note.wav").write_bytes(b"RIFF")
    soft, hard = folder / "soft.html", folder / "hard.html"
    soft.symlink_to(shop)
    os.link(shop, hard)
    other = folder / "other.html"
    with sqlite3.connect(other) as db:
        db.execute("CREATE TABLE t (x)")
    assert other.read_bytes().startswith(MAGIC), "the header SQLite itself writes"
    procedure = folder / "mine.toml"
    procedure.write_text("format = 1\n")
    return {
        "the record": shop,
        "its log": folder / "bay.sqlite-wal",
        "its index": folder / "bay.sqlite-shm",
        "its journal": folder / "bay.sqlite-journal",
        "a sound": sounds / "note.wav",
        "a new file among the sounds": sounds / "report.html",
        "a symbolic link to it": soft,
        "a hard link to it": hard,
        "a roundabout name": folder / "data" / ".." / "bay.sqlite",
        "another database": other,
        "the log of another database": folder / "other.html-wal",
        "the key": folder / "data" / "bayvoice" / "bay.key",
        "the pinned key": folder / "data" / "bayvoice" / "bay.pub",
        "a procedure": procedure,
    }


COMMANDS = {
    "page": ("report", "K40-0117", "--out"),
    "text": ("report", "K40-0117", "--text", "--out"),
    "csv": ("report", "K40-0117", "--csv", "--out"),
    "jsonl": ("report", "K40-0117", "--jsonl", "--out"),
    "values": ("jobs", "--values", "gear backlash", "--html"),
    "backup": ("jobs", "--backup"),
}


def state(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.name.endswith(("-wal", "-shm", ".lock"))
    }


@pytest.mark.parametrize("command", COMMANDS)
def test_no_command_writes_over_what_is_kept(shop: Path, command: str, capsys: pytest.CaptureFixture[str]) -> None:
    kept = targets(shop)
    before = state(shop.parent)
    for name, target in kept.items():
        there = target.exists()
        assert main((*COMMANDS[command], str(target), "--store", str(shop))) == 2, name
        told = capsys.readouterr().err
        # A copy never takes the place of any file.
        assert "nothing is written over it" in told or (command == "backup" and "there already" in told), name
        assert target.exists() == there or target.name.endswith(("-wal", "-shm")), name
    assert state(shop.parent) == before
    with Store(shop, read_only=True) as store:
        assert store.verify_all() is None


def test_a_tape_is_not_written_over_what_is_kept(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`work --speaker FILE`, through the whole command; nothing is asked for before it refuses."""
    kept = targets(shop)
    before = state(shop.parent)
    for name, target in kept.items():
        args = ("work", "lift-chain", "--by", "Imre", "--ears", "typed", "--mic", "off", "--screen", "off")
        assert main((*args, "--speaker", str(target), "--store", str(shop))) == 2, name
        assert "nothing is written over it" in capsys.readouterr().err, name
    # The record is opened for the job, under each of its names; everything else is as it was.
    after, record = state(shop.parent), ("bay.sqlite", "soft.html", "hard.html")
    assert {name: after.get(name) for name in before if name not in record} == {
        name: data for name, data in before.items() if name not in record
    }
    with Store(shop, read_only=True) as store:
        assert store.verify_all() is None


def test_a_failed_write_leaves_the_old_file_whole(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The disk takes nothing more in the middle of it: the kernel's own limit on a file's size says so."""
    page = shop.parent / "page.html"
    page.write_text("old")
    code = (
        "import resource, signal, sys; from pathlib import Path; signal.signal(signal.SIGXFSZ, signal.SIG_IGN);"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000));"
        "from bayvoice.record.sqlite.outfile import write_whole;"
        "write_whole(Path(sys.argv[1]), b'x' * 5000, Path(sys.argv[2]))"
    )
    from tests.record.records import child

    with child(code, page, shop) as process:
        _, err = process.communicate(timeout=60)
    assert "the file cannot be written (File too large)" in err
    assert page.read_text() == "old"
    assert [p.name for p in shop.parent.iterdir() if p.name.endswith(".part")] == []


def test_a_file_is_replaced_as_a_whole_and_keeps_its_rights(shop: Path) -> None:
    page, link = shop.parent / "page.html", shop.parent / "link.html"
    page.write_text("old")
    page.chmod(0o640)
    link.symlink_to(page)
    other = shop.parent / "other.html"
    os.link(page, other)
    write_whole(link, b"new", shop)
    assert (page.read_text(), link.is_symlink(), page.stat().st_mode & 0o777) == ("new", True, 0o640)
    assert other.read_text() == "old", "another name of the old file is not written through"
    with open_beside(page) as out:
        out.write(b"tape")
    assert (page.read_text(), other.read_text()) == ("tape", "old")
    with pytest.raises(BayError, match="cannot be written"):
        write_whole(shop.parent / "nowhere" / "page.html", b"", shop)
    with pytest.raises(BayError, match="cannot be written"):
        write_whole(shop.parent, b"", shop)


def test_ordinary_files_and_devices_are_written(shop: Path) -> None:
    for name in ("report.html", "bay.sqlite.html", "new.toml"):
        write_whole(shop.parent / name, b"page", shop)
        assert (shop.parent / name).read_bytes() == b"page"
    write_whole(Path("/dev/null"), b"page", shop)
    with pytest.raises(BayError, match="a file that is read here"):
        must_not_harm(shop.parent / "report.html", shop, "--speaker", [shop.parent / "report.html"])
