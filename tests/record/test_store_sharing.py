"""One writer for a job, several readers, two bays on one file."""

from __future__ import annotations

import os
import signal
import sqlite3
from pathlib import Path

import pytest

from bayvoice.errors import BayError
from bayvoice.record.sqlite.store import Store
from tests.record.records import child, fill, noted


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return tmp_path / "bay" / "bay.sqlite"


def test_a_second_sitting_is_told_who_is_there(place: Path) -> None:
    """In the same process and from another one; afterwards, and after a kill, the job is free again."""
    code = (
        "import sys\nfrom bayvoice.record.sqlite.store import Store\nfrom bayvoice.errors import BayError\n"
        "s = Store(sys.argv[1])\n"
        "try:\n    s.claim('K40-0117', 'Kofi')\n    print('mine', flush=True)\n    sys.stdin.read()\n"
        "except BayError as error:\n    print(error, flush=True)\n"
    )
    first = Store(place)
    first.claim("K40-0117", "Imre")
    first.claim("K40-0117", "Imre")
    with Store(place) as second, pytest.raises(BayError, match="another sitting is at this job by Imre since") as told:
        second.claim("K40-0117", "Dalia")
    assert told.value.where == "job K40-0117"
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
                second.append("K40-0117", noted(1))
            second.append("K40-0118", noted(1))
            holder.send_signal(signal.SIGKILL)
            holder.wait()
            second.append("K40-0117", noted(1))
            assert len(second.facts("K40-0117")) == 1


def test_two_bays_on_one_file_do_not_mix(place: Path) -> None:
    """Two processes write two jobs at once while this one reads; the chains of both hold."""
    code = (
        "import sys\nfrom bayvoice.record.sqlite.store import Store\nfrom bayvoice.job.facts import Fact\n"
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
