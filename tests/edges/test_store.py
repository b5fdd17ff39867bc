"""The record on a real disk: kept or not, and said either way."""

from __future__ import annotations

import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from bayvoice.core.effects import Fact
from bayvoice.edges.chain import FIRST, write
from bayvoice.edges.store import APPLICATION, FORMAT, Store, default_path
from bayvoice.errors import BayError
from tests.report.whole_job import eventful_job, good_job

ROOT = Path(__file__).parents[2]


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return tmp_path / "bay" / "bay.sqlite"


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


# keeping


def test_a_whole_job_comes_back_as_it_was(place: Path) -> None:
    """Written, closed, opened again: equal to the last bit of every moment."""
    fill(place, "T4-0118", eventful_job())
    fill(place, "T4-0117", good_job())
    with Store(place) as store:
        assert store.facts("T4-0118") == eventful_job()
        assert store.facts("T4-0117") == good_job()
        assert store.facts("T4-0119") == []
        assert store.job_names() == ["T4-0118", "T4-0117"]
        assert store.verify("T4-0118") is None
        assert store.verify_all() is None


def test_the_list_of_jobs_says_where_each_stands(place: Path) -> None:
    fill(place, "T4-0118", eventful_job())
    fill(place, "T4-0117", good_job()[:12])
    with Store(place) as store:
        first, second = store.jobs()
    assert (first.name, first.state, first.done, first.total, first.deviations) == ("T4-0117", "open", 3, 15, 0)
    assert (second.name, second.by, second.state, second.done, second.total) == ("T4-0118", "Dalia", "done", 15, 15)
    assert second.deviations == 8
    assert (second.title, second.machine) == ("Sump plate, strip and reseal", "Varrow T4 tow tractor")
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
        "import os, sys\nfrom bayvoice.edges.store import Store\nfrom bayvoice.core.effects import Fact\n"
        "s = Store(sys.argv[1])\n"
        "for i in range(1, 9):\n    s.append('J', Fact(i, 1.0, 'noted', {}))\n    os.write(1, b'kept %d' % i)\n"
    )
    trace = tmp_path / "trace"
    run = subprocess.run(
        ["strace", "-o", str(trace), "-e", "trace=write,fsync,fdatasync", sys.executable, "-c", code, str(place)],
        env=os.environ | {"PYTHONPATH": str(ROOT)}, capture_output=True, text=True,
    )  # fmt: skip
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
        "UPDATE facts SET body = '{}'", "UPDATE facts SET wall = ''", "DELETE FROM facts",
        "DELETE FROM facts WHERE seq = 2",
        "INSERT OR REPLACE INTO facts SELECT * FROM facts",
        "INSERT OR REPLACE INTO facts (job, seq, wall, kind, body, prev, hash) VALUES ('J', 1, '', '', '', '', '')",
        "INSERT INTO facts (job, seq, wall, kind, body, prev, hash) VALUES ('J', 9, '', '', '', '', '')",
    ],
)  # fmt: skip
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


# one writer, several readers


def test_a_second_sitting_is_told_who_is_there(place: Path) -> None:
    """In the same process and from another one; afterwards, and after a kill, the job is free again."""
    code = (
        "import sys\nfrom bayvoice.edges.store import Store\nfrom bayvoice.errors import BayError\n"
        "s = Store(sys.argv[1])\n"
        "try:\n    s.claim('T4-0117', 'Kofi')\n    print('mine', flush=True)\n    sys.stdin.read()\n"
        "except BayError as error:\n    print(error, flush=True)\n"
    )
    first = Store(place)
    first.claim("T4-0117", "Imre")
    first.claim("T4-0117", "Imre")
    with Store(place) as second, pytest.raises(BayError, match="another sitting is at this job by Imre since") as told:
        second.claim("T4-0117", "Dalia")
    assert told.value.where == "job T4-0117"
    said, errors = child(code, place).communicate()
    assert "another sitting is at this job by Imre since 20" in said
    assert f"(process {os.getpid()})" in said
    assert errors == ""
    first.close()
    with child(code, place, keys=True) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "mine\n"
        with Store(place) as second:
            with pytest.raises(BayError, match="by Kofi"):
                second.append("T4-0117", noted(1))
            second.append("T4-0118", noted(1))
            holder.send_signal(signal.SIGKILL)
            holder.wait()
            second.append("T4-0117", noted(1))
            assert len(second.facts("T4-0117")) == 1


def test_two_bays_on_one_file_do_not_mix(place: Path) -> None:
    """Two processes write two jobs at once while this one reads; the chains of both hold."""
    code = (
        "import sys\nfrom bayvoice.edges.store import Store\nfrom bayvoice.core.effects import Fact\n"
        "s = Store(sys.argv[1], patience_s=60)\n"
        "for i in range(1, 101):\n"
        "    s.append(sys.argv[2], Fact(i, 1.0 + i, 'noted', {'step': 's', 'text': sys.argv[2]}))\n"
    )
    bays = [child(code, place, job) for job in ("A", "B")]
    results = [bay.communicate() for bay in bays]
    assert results == [("", ""), ("", "")]
    with Store(place, read_only=True) as reader:
        assert reader.verify_all() is None
        for job in ("A", "B"):
            assert {fact.body["text"] for fact in reader.facts(job)} == {job}
            assert len(reader.facts(job)) == 100


def test_readers_see_what_was_kept_while_one_writes(place: Path) -> None:
    with Store(place) as writer:
        writer.append("J", noted(1))
        with Store(place, read_only=True) as one, Store(place, read_only=True) as other:
            for i in range(2, 6):
                writer.append("J", noted(i))
                assert len(one.facts("J")) == len(other.facts("J")) == i
            with pytest.raises(BayError, match="reading only"):
                one.append("J", noted(6))


def test_a_program_that_holds_the_file_is_waited_for_and_then_named(place: Path) -> None:
    fill(place, "J", [noted(1)])
    other = sqlite3.connect(place, isolation_level=None)
    with Store(place, patience_s=0.1) as store:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(BayError, match="another program holds the record"):
            store.append("J", noted(2))
        other.execute("ROLLBACK")
        store.append("J", noted(2))
    other.close()


# kill -9

_APPENDING = """
import os, sys
from bayvoice.edges.store import Store
from bayvoice.core.effects import Fact
store = Store(sys.argv[1])
seq = len(store.facts("J"))
while True:
    seq += 1
    store.append("J", Fact(seq, 1741078353.0 + seq, "noted", {"step": "s", "text": "x" * (seq % 700)}))
    os.write(1, b"%d\\n" % seq)
"""


def test_what_was_announced_survives_kill_9(place: Path) -> None:
    """Killed 30 times at random moments, also while opening and checkpointing; seed fixed, the moments are not."""
    chance = random.Random(20250304)
    told = 0
    for _ in range(30):
        with child(_APPENDING, place) as process:
            assert process.stdout is not None
            if chance.random() < 0.85:
                process.stdout.readline()
            threading.Event().wait(chance.uniform(0.0, 0.12))
            process.kill()
            lines = process.stdout.read().split()
        told = max([told, *(int(line) for line in lines)])
        if not place.exists():
            continue
        with Store(place) as store:
            facts = store.facts("J")
            assert [fact.seq for fact in facts] == list(range(1, len(facts) + 1))
            assert len(facts) >= told
            assert store.verify_all() is None
    assert told > 30


# what is not in order

_CHANGES: dict[str, str] = {
    "body": "UPDATE facts SET body = replace(body, 'agreed', 'ordered') WHERE job = 'J' AND seq = :n",
    "body written another way": "UPDATE facts SET body = replace(body, ':', ': ') WHERE job = 'J' AND seq = :n",
    "body emptied": "UPDATE facts SET body = '' WHERE job = 'J' AND seq = :n",
    "kind": "UPDATE facts SET kind = 'signed' WHERE job = 'J' AND seq = :n",
    "moment": "UPDATE facts SET wall = '2025-03-04T08:00:00.000000Z' WHERE job = 'J' AND seq = :n",
    "seal": f"UPDATE facts SET hash = '{'0' * 64}' WHERE job = 'J' AND seq = :n",
    "link": f"UPDATE facts SET prev = '{'1' * 64}' WHERE job = 'J' AND seq = :n",
    "type": "UPDATE facts SET kind = 7 WHERE job = 'J' AND seq = :n",
    "not text": "UPDATE facts SET body = x'ff00' WHERE job = 'J' AND seq = :n",
    "job": "UPDATE facts SET job = 'K' WHERE job = 'J' AND seq = :n",
    "taken out": "DELETE FROM facts WHERE job = 'J' AND seq = :n",
}
_LAST = 12


def tamper(place: Path, script: Callable[[sqlite3.Connection], object]) -> None:
    other = sqlite3.connect(place, isolation_level=None)
    for (name,) in other.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        other.execute(f"DROP TRIGGER {name}")
    script(other)
    other.close()


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("sound") / "bay.sqlite"
    fill(place, "J", [noted(i) for i in range(1, _LAST + 1)])
    fill(place, "other", [noted(1)])
    return place


@pytest.mark.parametrize("change", _CHANGES)
def test_any_change_at_any_place_is_found_and_named(sound: Path, tmp_path: Path, change: str) -> None:
    for n in range(1, _LAST + 1):
        place = tmp_path / f"{n}.sqlite"
        shutil.copy(sound, place)
        tamper(place, lambda db, n=n: db.execute(_CHANGES[change], {"n": n}))  # type: ignore[misc]
        with Store(place) as store:
            found = store.verify("J")
            if change in ("job", "taken out") and n == _LAST:
                # A chain cannot miss its own end; the count of the file does.
                assert found is None
                assert store.verify_all() is not None
                continue
            assert found is not None
            assert (found.job, found.seq) == ("J", n), found
            assert store.verify("other") is None
            store.jobs()


def test_a_change_that_is_sealed_anew_breaks_the_next_fact(sound: Path, tmp_path: Path) -> None:
    place = tmp_path / "bay.sqlite"
    shutil.copy(sound, place)
    with Store(place) as store:
        prev = list(store.rows("J"))[3].hash
    forged = write("J", noted(5, "nothing to see"), prev)

    def forge(db: sqlite3.Connection) -> None:
        db.execute("UPDATE facts SET body = ?, hash = ? WHERE job = 'J' AND seq = 5", (forged.body, forged.hash))

    tamper(place, forge)
    with Store(place) as store:
        found = store.verify("J")
    assert found is not None
    assert str(found) == "fact 6 of job J: it does not follow the fact before it, which was changed or exchanged"


def test_exchanged_and_slipped_in_facts_are_found(sound: Path, tmp_path: Path) -> None:
    swap = (
        "UPDATE facts SET seq = -1 WHERE job = 'J' AND seq = 4; UPDATE facts SET seq = 4 WHERE job = 'J' AND seq = 5;"
        "UPDATE facts SET seq = 5 WHERE seq = -1"
    )
    slip = (
        "UPDATE facts SET seq = -seq - 1 WHERE job = 'J' AND seq > 4; UPDATE facts SET seq = -seq WHERE seq < 0;"
        "INSERT INTO facts (job, seq, wall, kind, body, prev, hash)"
        " SELECT job, 5, wall, kind, body, prev, hash FROM facts WHERE job = 'J' AND seq = 4"
    )
    for name, script, first in (("swap", swap, 4), ("slip", slip, 5)):
        place = tmp_path / f"{name}.sqlite"
        shutil.copy(sound, place)
        tamper(place, lambda db, script=script: db.executescript(script))  # type: ignore[misc]
        with Store(place) as store:
            found = store.verify("J")
        assert found is not None
        assert found.seq == first


def test_a_job_taken_out_whole_shows_in_the_file(sound: Path, tmp_path: Path) -> None:
    place = tmp_path / "bay.sqlite"
    shutil.copy(sound, place)
    tamper(place, lambda db: db.execute("DELETE FROM facts WHERE job = 'other'"))
    with Store(place) as store:
        assert store.verify("J") is None
        assert str(store.verify_all()) == "13 facts were written into this file and 12 are here"


def test_one_damaged_job_does_not_hide_the_others(place: Path) -> None:
    fill(place, "A", good_job("A"))
    fill(place, "B", good_job("B"))
    tamper(place, lambda db: db.execute("UPDATE facts SET body = '[' WHERE job = 'A' AND seq = 9"))
    with Store(place) as store:
        assert [(line.name, line.state) for line in store.jobs()] == [("B", "done"), ("A", "damaged")]
        with pytest.raises(BayError, match="fact 9 of job A cannot be read"):
            store.facts("A")


def test_a_torn_or_bitten_file_is_never_taken_for_a_good_one(place: Path) -> None:
    """300 copies with bytes changed or the end torn off: either all is as it was, or it is said; never a traceback."""
    jobs = {"T4-0117": good_job(), "T4-0118": eventful_job()}
    for job, facts in jobs.items():
        fill(place, job, facts)
    whole = place.read_bytes()
    chance = random.Random(7)
    said = 0
    sentences: list[str] = []
    for turn in range(300):
        bitten = bytearray(whole)
        if turn % 3 == 0:
            del bitten[chance.randrange(1, len(whole)) :]
        for _ in range(chance.choice((1, 1, 4, 64)) if turn % 3 else 0):
            bitten[chance.randrange(len(bitten))] ^= chance.randrange(1, 256)
        copy = place.with_name(f"bitten{turn}.sqlite")
        copy.write_bytes(bitten)
        try:
            with Store(copy, patience_s=0.1) as store:
                store.jobs()
                held = store.verify_all() is None
                same = {job: store.facts(job) for job in store.job_names()} == jobs
                assert same or not held, f"copy {turn} passed for a good one"
                said += not held
        except BayError as error:
            said += 1
            sentences.append(str(error))
    assert not any("\n" in sentence for sentence in sentences)
    assert said > 100


# what cannot be opened


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
        (_text, "this is not a job record"), (_foreign, "another program's database"),
        (_newer, "the record has format 3"), (_folder, "this is not a file"), (_pipe, "this is not a file"),
    ],
)  # fmt: skip
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


@pytest.mark.parametrize("name", ["T4/0117", "../up", "It's Ruth's", "Tür 7 %20", "';--"])
def test_odd_names_are_only_names(place: Path, name: str) -> None:
    fill(place, name, [noted(1)])
    with Store(place) as store:
        assert store.job_names() == [name]
        assert store.verify_all() is None


_AS_NOBODY = """
import os, sys
sys.path.insert(0, sys.argv[2])
from bayvoice.edges.store import Store
from bayvoice.core.effects import Fact
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


# full disks


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
from bayvoice.edges.store import Store
from bayvoice.core.effects import Fact
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
