"""What is kept, and what the file itself makes sure of."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from bayvoice.errors import BayError
from bayvoice.job.facts import Fact
from bayvoice.record.chain import FIRST
from bayvoice.record.sqlite.store import APPLICATION, FORMAT, Store, default_path
from bayvoice.report.judged import job_lines
from tests.record.records import ROOT, fill, noted
from tests.report.whole_job import eventful_job, good_job


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return tmp_path / "bay" / "bay.sqlite"


def test_a_whole_job_comes_back_as_it_was(place: Path) -> None:
    """Written, closed, opened again: equal to the last bit of every moment."""
    fill(place, "K40-0118", eventful_job())
    fill(place, "K40-0117", good_job())
    with Store(place) as store:
        assert store.facts("K40-0118") == eventful_job()
        assert store.facts("K40-0117") == good_job()
        assert store.facts("K40-0119") == []
        assert store.job_names() == ["K40-0118", "K40-0117"]
        assert store.verify("K40-0118") is None
        assert store.verify_all() is None


def test_the_list_of_jobs_says_where_each_stands(place: Path) -> None:
    fill(place, "K40-0118", eventful_job())
    fill(place, "K40-0117", good_job()[:12])
    with Store(place) as store:
        first, second = job_lines(store)
    assert (first.name, first.state, first.done, first.total, first.deviations) == ("K40-0117", "open", 3, 15, 0)
    assert (second.name, second.by, second.state, second.done, second.total) == ("K40-0118", "Dalia", "done", 15, 15)
    assert second.deviations == 9
    assert (second.title, second.machine) == ("Sump plate, strip and reseal", "Varrow K40 tow tractor")
    assert (second.began, second.last) == (eventful_job()[0].wall, eventful_job()[-1].wall)


def test_facts_of_a_later_version_are_kept_and_given_back(place: Path) -> None:
    strange = Fact(2, 1_741_078_001.0, "weighed", {"scale": "north", "grams": "12.50"})
    fill(place, "J", [noted(1), strange])
    with Store(place, read_only=True) as store:
        assert store.facts("J")[1] == strange


def test_the_file_says_what_it_is(place: Path) -> None:
    """Bytes 60 and 68 of the header begin the user version and the application id (sqlite.org/fileformat2.html)."""
    fill(place, "J", [noted(1)])
    head = place.read_bytes()[:100]
    assert head[:16] == b"SQLite format 3\0"
    assert int.from_bytes(head[60:64], "big") == FORMAT
    assert int.from_bytes(head[68:72], "big") == APPLICATION
    assert head[68:72] == b"BayV"


def test_every_append_is_synced(place: Path) -> None:
    """WAL with synchronous=FULL: "the WAL is synced on each commit" (sqlite.org/pragma.html#pragma_synchronous)."""
    with Store(place) as store:
        assert store.db.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        assert store.db.execute("PRAGMA synchronous").fetchone() == (2,)


@pytest.mark.skipif(shutil.which("strace") is None, reason="needs strace to watch the calls to the system")
def test_the_sync_comes_before_the_answer(place: Path, tmp_path: Path) -> None:
    """Seen from the outside: between two answers of the child the kernel was told to put the data on the disk."""
    code = (
        "import os, sys\nfrom bayvoice.record.sqlite.store import Store\nfrom bayvoice.job.facts import Fact\n"
        "s = Store(sys.argv[1])\n"
        "for i in range(1, 9):\n    s.append('J', Fact(i, 1.0, 'noted', {}))\n    os.write(1, b'kept %d' % i)\n"
    )
    trace = tmp_path / "trace"
    run = subprocess.run(
        ["strace", "-o", str(trace), "-e", "trace=write,fsync,fdatasync", sys.executable, "-c", code, str(place)],
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
    )
    if not trace.exists() or "ptrace" in run.stderr:
        pytest.skip("strace may not watch processes here")
    assert run.returncode == 0, run.stderr
    synced, answers = False, 0
    for line in trace.read_text().splitlines():
        if line.startswith(("fsync(", "fdatasync(")):
            synced = True
        elif 'write(1, "kept' in line:
            answers += 1
            assert synced, f"answer {answers} came without a sync before it"
            synced = False
    assert answers == 8


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE facts SET body = '{}'",
        "UPDATE facts SET wall = ''",
        "DELETE FROM facts",
        "DELETE FROM facts WHERE seq = 2",
        "INSERT OR REPLACE INTO facts SELECT * FROM facts",
        "INSERT OR REPLACE INTO facts (job, seq, wall, kind, body, prev, hash) VALUES ('J', 1, '', '', '', '', '')",
        "INSERT INTO facts (job, seq, wall, kind, body, prev, hash) VALUES ('J', 9, '', '', '', '', '')",
    ],
)
def test_the_file_itself_refuses_changes(place: Path, change: str) -> None:
    fill(place, "J", [noted(i) for i in (1, 2, 3)])
    other = sqlite3.connect(place)
    with pytest.raises(sqlite3.IntegrityError, match="facts are"):
        other.execute(change)
    other.close()
    with Store(place) as store:
        assert len(store.facts("J")) == 3
        assert store.verify_all() is None


@pytest.mark.parametrize("seq", [0, 1, 2, 4, -1, 10**9])
def test_a_fact_out_of_turn_is_not_kept(place: Path, seq: int) -> None:
    fill(place, "J", [noted(1), noted(2)])
    with Store(place) as store:
        with pytest.raises(BayError, match="fact 3 comes next"):
            store.append("J", noted(seq))
        store.append("J", noted(3))
        assert [fact.seq for fact in store.facts("J")] == [1, 2, 3]


def test_threads_queue_up(place: Path) -> None:
    """Two threads with a job each, and a third that reads, share one store."""
    with Store(place) as store:
        failures: list[BaseException] = []

        def work(job: str) -> None:
            try:
                for i in range(1, 41):
                    store.append(job, noted(i))
                    assert len(store.facts(job)) == i
            except BaseException as error:
                failures.append(error)

        threads = [threading.Thread(target=work, args=(job,)) for job in ("A", "B")]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert failures == []
        assert store.verify_all() is None


def test_the_usual_place_is_the_users_own(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """XDG base directory specification: user data lie under XDG_DATA_HOME."""
    if sys.platform != "linux":
        pytest.skip("the place is another one on this system")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert default_path() == tmp_path / "bayvoice" / "bay.sqlite"
    with Store() as store:
        store.append("J", Fact(1, 0.0, "noted", {}))
        assert store._end("J")[0] == 1
        assert store._end("K") == (0, FIRST)
    assert default_path().exists()
