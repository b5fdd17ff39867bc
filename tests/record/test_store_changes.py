"""A record somebody wrote into, or a file that is damaged: found and named."""

from __future__ import annotations

import random
import shutil
import sqlite3
from pathlib import Path

import pytest

from bayvoice.errors import BayError
from bayvoice.record.chain import write
from bayvoice.record.sqlite.store import Store
from bayvoice.report.audit import audit_job
from bayvoice.report.judged import job_lines
from tests.record.records import fill, noted, tamper
from tests.report.whole_job import eventful_job, good_job


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return tmp_path / "bay" / "bay.sqlite"


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
            job_lines(store)


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
        assert [(line.name, line.state) for line in job_lines(store)] == [("B", "done"), ("A", "damaged")]
        with pytest.raises(BayError, match="fact 9 of job A cannot be read"):
            store.facts("A")


def test_a_torn_or_bitten_file_is_never_taken_for_a_good_one(place: Path) -> None:
    """300 copies with bytes changed or the end torn off: either all is as it was, or it is said; never a traceback."""
    jobs = {"K40-0117": good_job(), "K40-0118": eventful_job()}
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
                job_lines(store)
                held = store.verify_all() is None and not any(audit_job(store, n).fault for n in store.job_names())
                same = {job: store.facts(job) for job in store.job_names()} == jobs
                assert same or not held, f"copy {turn} passed for a good one"
                said += not held
        except BayError as error:
            said += 1
            sentences.append(str(error))
    assert not any("\n" in sentence for sentence in sentences)
    assert said > 100
