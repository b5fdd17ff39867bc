"""A copy taken while others write, and the way back from it."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from bayvoice.errors import BayError
from bayvoice.record.baykey import load_key
from bayvoice.record.sounds import find, keep
from bayvoice.record.sqlite.backup import backup, restore
from bayvoice.record.sqlite.sealing import seal_job, seal_of
from bayvoice.record.sqlite.store import Store
from bayvoice.report.audit import audit_job, check_head, head_of
from tests.record.records import fill, noted, tamper
from tests.report.whole_job import eventful_job, good_job


@pytest.fixture
def place(tmp_path: Path) -> Path:
    place = tmp_path / "bay" / "bay.sqlite"
    fill(place, "K40-0117", good_job())
    fill(place, "K40-0118", eventful_job())
    return place


def test_a_copy_is_the_whole_record_and_comes_back(place: Path, tmp_path: Path) -> None:
    """Facts, names, seals and sounds; one file and its folder; the record itself may be lost after that."""
    name, _ = keep(place, b"RIFF and so on", "K40-0118-9")
    copy, again = tmp_path / "safe" / "copy.sqlite", tmp_path / "new" / "bay.sqlite"
    with Store(place) as store:
        seal = seal_job(store, "K40-0117", load_key(), 1_741_090_000.0)
        head = head_of(store)
        done = backup(store, copy)
    assert (done.jobs, done.facts, done.sounds) == (2, len(good_job()) + len(eventful_job()), 1)
    assert sorted(p.name for p in copy.parent.iterdir()) == ["copy.sqlite", "copy.sqlite.sounds"]
    place.unlink()
    assert restore(copy, again).facts == done.facts
    with Store(again) as store:
        assert store.facts("K40-0118") == eventful_job()
        assert seal_of(store, "K40-0117") == seal
        assert check_head(store, head) is None
        assert all(audit_job(store, job).fault is None for job in store.job_names())
        store.append("K40-0118", noted(len(eventful_job()) + 1))
    sound = find(again, name)
    assert sound is not None
    assert sound.read_bytes() == b"RIFF and so on"


def test_a_copy_taken_while_somebody_writes_is_one_moment_of_the_record(place: Path, tmp_path: Path) -> None:
    stop = threading.Event()
    written = 0

    def work() -> None:
        nonlocal written
        with Store(place) as store:
            while not stop.is_set():
                written += 1
                store.append("busy", noted(written))

    thread = threading.Thread(target=work)
    thread.start()
    try:
        for turn in range(4):
            copy = tmp_path / f"copy{turn}.sqlite"
            with Store(place, read_only=True) as store:
                backup(store, copy)
            with Store(copy, read_only=True) as kept:
                seqs = [fact.seq for fact in kept.facts("busy")]
                assert seqs == list(range(1, len(seqs) + 1))
    finally:
        stop.set()
        thread.join()
    assert written > 4


def test_a_copy_never_takes_the_place_of_a_file(place: Path, tmp_path: Path) -> None:
    with Store(place, read_only=True) as store:
        for there in (place, tmp_path / "there"):
            there.touch()
            with pytest.raises(BayError, match="there already"):
                backup(store, there)
        with pytest.raises(BayError, match="cannot be written"):
            backup(store, Path("/proc/none/copy.sqlite"))
    with pytest.raises(BayError, match="a record here already"):
        restore(place, place)


def test_a_record_that_does_not_hold_is_not_copied_for_a_good_one(place: Path, tmp_path: Path) -> None:
    tamper(place, lambda db: db.execute("UPDATE facts SET body = '{}' WHERE job = 'K40-0118' AND seq = 7"))
    copy = tmp_path / "copy.sqlite"
    with Store(place, read_only=True) as store, pytest.raises(BayError, match="the copy does not hold: fact 7"):
        backup(store, copy)
    assert not copy.exists()
    assert not list(tmp_path.glob(".copy*"))
    with pytest.raises(BayError, match="no job record here"):
        restore(tmp_path / "none", tmp_path / "new.sqlite")
    (tmp_path / "text").write_text("not a record, but a text of some length\n" * 100)
    with pytest.raises(BayError, match="not a job record"):
        restore(tmp_path / "text", tmp_path / "new.sqlite")
