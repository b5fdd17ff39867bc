"""Names stand beside the sealed facts, cannot be exchanged, and can be taken away."""

from __future__ import annotations

import json
import sqlite3
import threading
from dataclasses import replace
from pathlib import Path

import pytest

from bayvoice.errors import BayError
from bayvoice.job.facts import KINDS, Fact
from bayvoice.record.chain import FIRST, write
from bayvoice.record.sounds import find, folder_of, keep
from bayvoice.record.sqlite.people import NAME_KEYS
from bayvoice.record.sqlite.retention import removals, retain
from bayvoice.record.sqlite.store import FORMAT, Store
from bayvoice.report.audit import audit_job
from tests.record.records import fill, tamper
from tests.report.whole_job import BEGAN, eventful_job, good_job

DAY = 86_400.0


@pytest.fixture
def place(tmp_path: Path) -> Path:
    place = tmp_path / "bay.sqlite"
    fill(place, "K40-0117", good_job())
    fill(place, "K40-0118", eventful_job())
    return place


def test_no_name_is_in_the_facts_and_every_name_is_read_back(place: Path) -> None:
    with Store(place, read_only=True) as store:
        bodies = " ".join(row.body for job in store.job_names() for row in store.rows(job))
        assert store.facts("K40-0117") == good_job()
        assert store.facts("K40-0118") == eventful_job()
    for name in ("Imre", "Dalia", "Ruth"):
        assert name not in bodies


def test_every_key_that_names_somebody_is_known() -> None:
    """A new kind of fact that holds a person must be entered, or its names would stay for ever."""
    persons = {"by", "who", "leaves", "takes"}
    for kind, keys in KINDS.items():
        assert persons & set(keys) == set(NAME_KEYS.get(kind, ())), kind


def test_badge_numbers_stand_for_names(place: Path) -> None:
    with Store(place, read_only=True) as store:
        by = {
            fact.body["by"] for job in store.job_names() for fact in store.facts(job, badges=True) if "by" in fact.body
        }
        signed = next(fact for fact in store.facts("K40-0117", badges=True) if fact.kind == "signed")
    assert by == {"badge 1", "badge 3"}
    assert signed.body["who"] == "badge 2"


def test_a_name_that_was_exchanged_is_found(place: Path) -> None:
    tamper(place, lambda db: db.execute("UPDATE people SET name = 'Kofi' WHERE job = 'K40-0117' AND name = 'Ruth'"))
    with Store(place, read_only=True) as store:
        found = audit_job(store, "K40-0117").fault
        assert store.verify("K40-0117") is None
    assert found is not None
    assert found.kind == "name"
    assert found.seq == next(f.seq for f in good_job() if f.kind == "signed")


@pytest.mark.parametrize(
    "change",
    [
        "DELETE FROM people WHERE job = 'K40-0117' AND person = 1",
        "UPDATE people SET salt = 'zz' WHERE job = 'K40-0117'",
        "UPDATE people SET salt = '00' WHERE job = 'K40-0117'",
    ],
)
def test_a_name_that_is_gone_or_spoilt_is_found(place: Path, change: str) -> None:
    tamper(place, lambda db: db.execute(change))
    with Store(place, read_only=True) as store:
        found = audit_job(store, "K40-0117").fault
        assert found is not None
        assert (found.seq, found.kind) == (2, "name")
        assert audit_job(store, "K40-0118").fault is None


@pytest.mark.parametrize("name", ['Im"re', "O'Neil <b>", "\u202eerm", "Ж", "person 1", '{"person":1}', "x" * 3000])
def test_any_name_comes_back(place: Path, name: str) -> None:
    with Store(place) as store:
        store.append("J", Fact(1, BEGAN, "sitting_began", {"by": name, "product": "", "boot": "", "mono": "1"}))
        assert store.facts("J")[0].body["by"] == name
        assert audit_job(store, "J").fault is not None  # a job does not begin with a sitting
        assert store.verify("J") is None


def test_two_sittings_that_bring_new_people_do_not_mix_them(place: Path) -> None:
    def work(job: str, names: list[str]) -> None:
        with Store(place, patience_s=60) as store:
            for i, name in enumerate(names, 1):
                store.append(
                    job, Fact(i, BEGAN, "signed", {"step": "s", "who": name, "role": "", "how": "", "code": ""})
                )

    names = [f"N{i}" for i in range(25)]
    threads = [threading.Thread(target=work, args=(job, names if job == "A" else names[::-1])) for job in "AB"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with Store(place, read_only=True) as store:
        assert [f.body["who"] for f in store.facts("A")] == names
        assert [f.body["who"] for f in store.facts("B")] == names[::-1]


# retention


def job_with_a_note(place: Path, job: str, wall: float) -> str:
    """A job of two facts, one of them a note with its sound; the sound's file name."""
    with Store(place) as store:
        name, digest = keep(place, b"RIFF" + job.encode() * 50, f"{job}-2")
        store.append(job, Fact(1, wall, "sitting_began", {"by": "Kofi", "product": "", "boot": "", "mono": "1"}))
        body = {"step": "s", "text": "", "sound": name, "sha256": digest, "seconds": 2}
        store.append(job, Fact(2, wall + 5, "noted", body))
    return name


def test_after_its_time_sound_and_names_are_gone_and_the_facts_still_hold(place: Path) -> None:
    """Also from the bytes of the file and of its log: a name that was taken away is nowhere any more."""
    old, new = job_with_a_note(place, "old", BEGAN - 400 * DAY), job_with_a_note(place, "new", BEGAN)
    with Store(place) as store:
        rows = {job: list(store.rows(job)) for job in store.job_names()}
        (done,) = retain(store, 365, BEGAN + 10 * DAY)
        assert (done.job, done.sounds, done.names, done.kept_names) == ("old", 1, 1, 0)
        assert {job: list(store.rows(job)) for job in store.job_names()} == rows
        assert find(place, old) is None
        assert find(place, new) is not None
        assert [f.body.get("by") for f in store.facts("old")] == ["person 1", None]
        assert [f.body.get("by") for f in store.facts("new")] == ["Kofi", None]
        (gone,) = removals(store, "old")
        assert (gone.wall, gone.sounds, gone.names) == (BEGAN + 10 * DAY, 1, 1)
        assert retain(store, 365, BEGAN + 11 * DAY) == ()
        retain(store, 1, BEGAN + 400 * DAY)
        assert store.facts("K40-0117")[1].body["by"] == "person 1"
        assert all(store.verify(job) is None for job in store.job_names())
        assert audit_job(store, "K40-0117").fault is None
    everything = b"".join(p.read_bytes() for p in place.parent.iterdir() if p.is_file())
    for name in (b"Kofi", b"Imre", b"Dalia", b"Ruth"):
        assert name not in everything
    assert list(folder_of(place).iterdir()) == []


def test_somebody_who_comes_after_the_names_are_gone_is_somebody_else(place: Path) -> None:
    with Store(place) as store:
        retain(store, 1, BEGAN + 400 * DAY)
        n = len(good_job())
        store.append("K40-0117", Fact(n + 1, BEGAN, "returned", {"who": "Kofi", "remark": "again"}))
        assert [f.body.get("by") or f.body.get("who") for f in store.facts("K40-0117") if f.kind in NAME_KEYS] == [
            "person 1",
            "person 2",
            "Kofi",
        ]


def test_a_sound_that_is_gone_or_changed_without_retention_is_found(place: Path) -> None:
    name = job_with_a_note(place, "J", BEGAN)
    path = find(place, name)
    assert path is not None
    whole = path.read_bytes()
    path.write_bytes(whole + b"x")
    with Store(place, read_only=True) as store:
        names = store.names("J")
        assert names.fault("sitting_began", json.loads(next(iter(store.rows("J"))).body)) == ""
    fill(place, "K", [Fact(1, BEGAN, "job_began", good_job("K")[0].body)])
    with Store(place) as store:
        body = {"step": "", "text": "", "sound": name, "sha256": "0" * 64, "seconds": 1}
        store.append("K", Fact(2, BEGAN, "noted", body))
        found = audit_job(store, "K").fault
        assert found is not None
        assert (found.seq, found.kind) == (2, "sound")
        path.unlink()
        found = audit_job(store, "K").fault
        assert found is not None
        assert "gone" in found.why


@pytest.mark.parametrize("name", ["../bay.sqlite", "/etc/passwd", "", ".", "..", "a/b.wav", "none.wav", "a\0b"])
def test_a_sound_is_only_ever_a_file_of_its_own_folder(place: Path, name: str) -> None:
    keep(place, b"RIFF", "J-2")
    assert find(place, name) is None


def test_a_job_somebody_works_at_is_left_alone(place: Path) -> None:
    with Store(place) as sitting, Store(place) as store:
        sitting.claim("K40-0117", "Imre")
        with pytest.raises(BayError, match="another sitting is at this job"):
            retain(store, 1, BEGAN + 400 * DAY)
        with pytest.raises(BayError, match="less than a day"):
            retain(store, 0, BEGAN)


# the format before


def as_format_1(place: Path, facts: list[Fact]) -> None:
    """The file that version 0.1.0 would have made: its tables word for word, names and bodies of format 1."""
    db = sqlite3.connect(place, isolation_level=None)
    db.executescript(
        """
        CREATE TABLE facts (id INTEGER PRIMARY KEY AUTOINCREMENT, job TEXT NOT NULL, seq INTEGER NOT NULL,
          wall TEXT NOT NULL, kind TEXT NOT NULL, body TEXT NOT NULL, prev TEXT NOT NULL, hash TEXT NOT NULL,
          UNIQUE (job, seq));
        PRAGMA application_id = 1113684310;
        PRAGMA user_version = 1;
        """
    )
    prev = FIRST
    for fact in facts:
        row = write("K40-0117", fact, prev)
        prev = row.hash
        db.execute(
            "INSERT INTO facts (job, seq, wall, kind, body, prev, hash) VALUES (?, ?, ?, ?, ?, ?, ?)",
            ("K40-0117", row.seq, row.wall, row.kind, row.body, row.prev, row.hash),
        )
    db.close()


OLD_KEYS = {"nth", "of", "uncertainty", "limits_from", "trusted", "how", "code", "ago", "model", "from_", "restart"}


def old_facts() -> list[Fact]:
    """The good job with the keys that format 1 had."""
    return [
        Fact(
            f.seq,
            f.wall,
            f.kind,
            {k: 1 if k == "format" else v for k, v in f.body.items() if k not in OLD_KEYS or f.kind == "step_done"},
        )
        for f in good_job()
    ]


def test_a_file_of_format_1_is_read_lifted_and_written_on(tmp_path: Path) -> None:
    """Its facts stay as they are to the last byte; what they lack is filled in as they are read."""
    place = tmp_path / "old.sqlite"
    as_format_1(place, old_facts())
    began, *rest = good_job()
    today = [replace(began, body=began.body | {"format": 1}), *rest]
    with Store(place, read_only=True) as store:
        assert store.version == 1
        assert store.facts("K40-0117") == today
        before = list(store.rows("K40-0117"))
        assert audit_job(store, "K40-0117").fault is None
        assert not store.sealed("K40-0117")
        assert removals(store, "K40-0117") == ()
        by = [f.body["by"] for f in store.facts("K40-0117", badges=True) if "by" in f.body]
        assert by == ["somebody"]
    with Store(place) as store:
        assert store.version == FORMAT
        assert list(store.rows("K40-0117")) == before
        assert store.facts("K40-0117") == today
        store.append("K40-0117", Fact(len(before) + 1, BEGAN + DAY, "signed_off", {"who": "Ruth", "remark": ""}))
        assert "Ruth" not in list(store.rows("K40-0117"))[-1].body
        assert store.facts("K40-0117")[-1].body["who"] == "Ruth"
        (done,) = retain(store, 30, BEGAN + 400 * DAY)
        assert (done.names, done.kept_names) == (1, 1)
        assert store.verify_all() is None
    with Store(place, read_only=True) as store:
        assert store.version == FORMAT
        assert audit_job(store, "K40-0117").fault is None
