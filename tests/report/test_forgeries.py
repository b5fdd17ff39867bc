"""What somebody with the record's file and sqlite3 in hand can do, and that a plain audit finds it.

The forger knows how facts are chained (`remade` chains them anew), drops the triggers and puts the counters back.
What the forger lacks is the bay's key.
"""

from __future__ import annotations

import hashlib
import json
import shutil
import sqlite3
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from bayvoice.cli.main import main
from bayvoice.job.facts import Fact
from bayvoice.record.chain import FIRST, Row, read, seal
from bayvoice.record.sqlite.store import Store
from tests.record.records import fill, tamper
from tests.report.every_kind import every_kind_job
from tests.report.whole_job import TEXT, Play, eventful_job, good_job

Forgery = Callable[[sqlite3.Connection], object]


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Three jobs, the first one sealed, names taken out of none; the data directory is the test's own."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    place = tmp_path / "bay.sqlite"
    fill(place, "K40-0117", good_job())
    fill(place, "K40-0118", eventful_job())
    assert main(("audit", "K40-0117", "--seal", "--store", str(place))) == 0
    fill(place, "K40-0119", good_job("K40-0119"))
    return place


def audit(place: Path, capsys: pytest.CaptureFixture[str], *more: str) -> tuple[int, str]:
    capsys.readouterr()
    status = main(("audit", *more, "--store", str(place)))
    return status, capsys.readouterr().out


def rows_of(db: sqlite3.Connection, job: str) -> list[Row]:
    query = "SELECT seq, wall, kind, body, prev, hash FROM facts WHERE job = ? ORDER BY seq"
    return [Row(*values) for values in db.execute(query, (job,))]


def remade(db: sqlite3.Connection, job: str, change: Callable[[Row], Row | None]) -> None:
    """Every fact of `job` changed (None: left out), numbered and chained anew in the places they had."""
    ids = [i for (i,) in db.execute("SELECT id FROM facts WHERE job = ? ORDER BY seq", (job,))]
    made = [row for old in rows_of(db, job) if (row := change(old)) is not None]
    db.execute("DELETE FROM facts WHERE job = ?", (job,))
    prev = FIRST
    for number, (place, row) in enumerate(zip(ids, made, strict=False), 1):
        found = seal(job, number, row.wall, row.kind, row.body, prev)
        db.execute(
            "INSERT INTO facts (id, job, seq, wall, kind, body, prev, hash) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            (place, job, number, row.wall, row.kind, row.body, prev, found),
        )
        prev = found


def count_again(db: sqlite3.Connection) -> None:
    """Put the counter of every table to what is there now."""
    for (name,) in db.execute("SELECT name FROM sqlite_sequence").fetchall():
        column = "id" if name == "facts" else "number"
        db.execute(f"UPDATE sqlite_sequence SET seq = (SELECT max({column}) FROM {name}) WHERE name = ?", (name,))


def value_made_good(db: sqlite3.Connection) -> None:
    def change(row: Row) -> Row:
        if row.kind != "measured" or '"0.19"' not in row.body:
            return row
        return replace(row, body=row.body.replace('"0.19"', '"0.15"').replace('"verdict":"high"', '"verdict":"within"'))

    remade(db, "K40-0118", change)


def refusal_left_out(db: sqlite3.Connection) -> None:
    remade(db, "K40-0118", lambda row: None if row.kind in ("refused", "alert_unanswered") else row)
    db.execute("UPDATE facts SET id = id - 2 WHERE job = 'K40-0119'")
    count_again(db)


def last_facts(db: sqlite3.Connection) -> None:
    db.execute("DELETE FROM facts WHERE job = 'K40-0119' AND seq > 50")
    count_again(db)


def whole_job_out(db: sqlite3.Connection) -> None:
    db.execute("DELETE FROM facts WHERE job = 'K40-0118'")
    db.execute("DELETE FROM people WHERE job = 'K40-0118'")
    db.execute("CREATE TEMP TABLE moved AS SELECT id FROM facts ORDER BY id")
    for new, (old,) in enumerate(db.execute("SELECT id FROM moved").fetchall(), 1):
        db.execute("UPDATE facts SET id = ? WHERE id = ?", (new, old))
    count_again(db)


def seal_out(db: sqlite3.Connection) -> None:
    db.execute("DELETE FROM seals")


def names_out(db: sqlite3.Connection) -> None:
    db.execute("DELETE FROM people WHERE job = 'K40-0119'")
    db.execute(
        "INSERT INTO removed (job, wall, sounds, names) VALUES ('K40-0119', '2025-03-05T00:00:00.000000Z', 0, 2)"
    )


def signed_off(db: sqlite3.Connection) -> None:
    """The foreman's word written in, chained and named rightly."""
    last = rows_of(db, "K40-0118")[-1]
    token = db.execute("SELECT body FROM facts WHERE kind = 'sitting_began' AND job = 'K40-0118'").fetchone()[0]
    who = json.dumps(json.loads(token)["by"], separators=(",", ":"))
    body = f'{{"remark":"","who":{who}}}'
    found = seal("K40-0118", last.seq + 1, last.wall, "signed_off", body, last.hash)
    db.execute(
        "INSERT INTO facts (job, seq, wall, kind, body, prev, hash) VALUES (?, ?, ?, ?, ?, ?, ?)",
        ("K40-0118", last.seq + 1, last.wall, "signed_off", body, last.hash, found),
    )


FORGERIES: dict[str, tuple[Forgery, str]] = {
    "a value made good and chained anew": (value_made_good, "not the fact that the bay signed"),
    "facts left out, the rest chained and numbered anew": (refusal_left_out, "K40-0118: "),
    "the last facts deleted, the counter put back": (last_facts, "K40-0119: it does not hold: the bay signed 55 facts"),
    "a whole job deleted, the rest numbered anew": (whole_job_out, "record: the bay signed 175 facts and 110 are here"),
    "a seal deleted": (seal_out, "a seal was taken out, exchanged or put in"),
    "names deleted and a removal made up": (names_out, "a removal of sounds or names was entered"),
    "the foreman's word written in": (signed_off, "K40-0118: fact 66 does not hold: the bay signs a fact of this kind"),
}


@pytest.mark.parametrize("name", FORGERIES)
def test_a_plain_audit_finds_it(name: str, shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert audit(shop, capsys)[0] == 0
    forge, why = FORGERIES[name]
    tamper(shop, forge)
    status, out = audit(shop, capsys)
    assert (status, why in out) == (1, True), out


def resealed(place: Path, forger: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The forger takes the seal out, changes a value, chains anew and seals with a key of their own, by bayvoice."""
    tamper(place, seal_out)
    tamper(place, lambda db: remade(db, "K40-0117", lambda row: replace(row, body=row.body.replace("0.080", "0.081"))))
    with monkeypatch.context() as other:
        other.setenv("XDG_DATA_HOME", str(forger))
        main(("audit", "K40-0117", "--seal", "--store", str(place)))
        # Should it refuse, the forger does by hand what it would have done.
        with Store(place) as store:
            if store.sealed("K40-0117"):
                return
            from bayvoice.record.baykey import load_key
            from bayvoice.record.sqlite.sealing import seal_job

            seal_job(store, "K40-0117", load_key(), 1_741_090_000.5)


def test_a_seal_by_a_foreign_key_is_found_and_another_bay_can_be_named(
    shop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    resealed(shop, tmp_path / "forger", monkeypatch)
    status, out = audit(shop, capsys)
    assert status == 1, out
    assert "not the fact that the bay signed" in out


def test_a_record_of_another_bay_needs_that_bay_s_key(
    shop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """An honest record that was brought here: found to be signed by another key, and right once that key is named."""
    key = (tmp_path / "data" / "bayvoice" / "bay.pub").read_text().strip()
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "office"))
    # A computer that has no key of its own takes the record's own and says so by naming it.
    status, out = audit(shop, capsys)
    assert (status, key in out) == (0, True)
    fill(tmp_path / "own.sqlite", "J", [*good_job("J")])
    status, out = audit(shop, capsys)
    assert status == 1
    assert f"it was signed with the key {key}, which is not the one this bay is known by" in out
    assert "audit --key HEX" in out
    assert audit(shop, capsys, "--key", key)[0] == 0
    assert audit(shop, capsys, "--key", "12")[0] == 2


def test_a_record_signed_anew_from_its_beginning_is_found_by_the_pinned_key(
    shop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The forger writes the whole record again with bayvoice itself, under a key of their own."""
    made = tmp_path / "made.sqlite"
    with monkeypatch.context() as other:
        other.setenv("XDG_DATA_HOME", str(tmp_path / "forger"))
        for job in ("K40-0117", "K40-0118", "K40-0119"):
            fill(made, job, good_job(job))
        assert audit(made, capsys)[0] == 0
    shutil.copy(made, shop)
    status, out = audit(shop, capsys)
    assert status == 1
    assert "which is not the one this bay is known by" in out


def all_signatures_out(db: sqlite3.Connection) -> None:
    db.execute("DELETE FROM heads")
    db.execute("DELETE FROM sqlite_sequence WHERE name = 'heads'")
    value_made_good(db)


def newest_signatures_out(db: sqlite3.Connection) -> None:
    """All that covers the second job and what came after; the third job is left as if its sitting had broken off."""
    first = db.execute("SELECT min(number) FROM heads WHERE job = 'K40-0118'").fetchone()[0]
    db.execute("DELETE FROM heads WHERE number >= ?", (first,))
    count_again(db)
    value_made_good(db)


def signatures_out_of_the_middle(db: sqlite3.Connection) -> None:
    db.execute("DELETE FROM heads WHERE job = 'K40-0118'")
    value_made_good(db)


def made_older(db: sqlite3.Connection) -> None:
    """As if an older version had written it; a job of today says in its first fact how old it is."""
    db.execute("DROP TABLE heads")
    db.execute("PRAGMA user_version = 2")
    remade(db, "K40-0118", lambda row: replace(row, body=row.body.replace('"format":2', '"format":3')))


@pytest.mark.parametrize("forge", [all_signatures_out, newest_signatures_out, signatures_out_of_the_middle, made_older])
def test_taking_the_bay_s_signatures_out_is_found_too(
    forge: Forgery, shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    tamper(shop, forge)
    status, out = audit(shop, capsys)
    assert (status, "signature" in out or "signed" in out) == (1, True), out


def test_what_only_a_kept_head_shows(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The newest job is deleted with every signature that covers it: the file is as it was before that job."""
    head = audit(shop, capsys, "--head")[1].strip()

    def turn_back(db: sqlite3.Connection) -> None:
        db.execute("DELETE FROM facts WHERE job = 'K40-0119'")
        db.execute("DELETE FROM people WHERE job = 'K40-0119'")
        db.execute("DELETE FROM heads WHERE job = 'K40-0119'")
        count_again(db)

    tamper(shop, turn_back)
    assert audit(shop, capsys)[0] == 0
    status, out = audit(shop, capsys, "--head", head)
    assert (status, "the head is over" in out) == (1, True)


def test_signatures_are_there_however_the_sitting_ends(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A sitting that breaks off is no fault: what it wrote is said to be unsigned, and signed with what ends next."""
    fill(shop, "K40-0120", good_job("K40-0120")[:20])
    status, out = audit(shop, capsys)
    assert status == 0
    assert "the 20 newest are not signed yet, a sitting goes on or broke off" in out
    with Store(shop) as store:
        for fact in good_job("K40-0120")[20:]:
            store.append("K40-0120", fact)
    status, out = audit(shop, capsys)
    assert (status, "not signed yet" in out) == (0, False)


def test_work_goes_on_without_a_key_and_the_audit_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    key = tmp_path / "data" / "bayvoice" / "bay.key"
    key.mkdir(parents=True)
    place = tmp_path / "bay.sqlite"
    fill(place, "K40-0117", good_job())
    status, out = audit(place, capsys)
    assert status == 1
    assert "The bay's key could not be used when it was written" in out


def test_every_kind_of_honest_record_passes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    place = tmp_path / "bay.sqlite"
    fill(place, "K40-0201", every_kind_job())
    (tmp_path / "bay.sqlite.sounds").mkdir()
    from tests.report.every_kind import SOUND, SOUND_NAME

    (tmp_path / "bay.sqlite.sounds" / SOUND_NAME).write_bytes(SOUND)
    status, out = audit(place, capsys)
    assert status == 0, out


# against the procedure


def changed(facts: list[Fact], kind: str, which: int = 0, **body: object) -> list[Fact]:
    """`facts` with the `which`-th of a kind given other values."""
    at = [i for i, fact in enumerate(facts) if fact.kind == kind][which]
    return [*facts[:at], replace(facts[at], body=facts[at].body | body), *facts[at + 1 :]]


def without(facts: list[Fact], *kinds: str, step: str = "") -> list[Fact]:
    left = [f for f in facts if f.kind not in kinds or (step and f.body.get("step") != step)]
    return [replace(fact, seq=n) for n, fact in enumerate(left, 1)]


def gate_too_early() -> list[Fact]:
    """The step behind the wait is begun after 100 of its 180 seconds."""
    facts: list[Fact] = []
    moved = 0.0
    for fact in good_job():
        if fact.kind == "wait_due":
            moved = 150.0
            continue
        wall = fact.wall - moved
        body = fact.body | {"seconds": 100, "verdict": "early"} if fact.kind == "wait_ended" else fact.body
        if fact.kind == "wait_ended" and fact.body["step"] != "remover":
            body = fact.body
        facts.append(replace(fact, seq=len(facts) + 1, wall=wall, body=body))
    return facts


def own_sign() -> list[Fact]:
    p = Play()
    p.facts = good_job()
    return changed(p.facts, "signed", who="Imre")


def passed_alone(format_: int) -> list[Fact]:
    """The step of the remover has a DANGER, and its wait is passed by the technician alone."""
    p = Play(text=TEXT.replace('say = "Let the remover work."', DANGER))
    p.begin()
    began = p.facts[0].body
    digest = hashlib.sha256(p.text.encode()).hexdigest()
    p.facts[0] = replace(p.facts[0], body=began | {"format": format_, "sha256": digest})
    p.facts += [replace(fact, seq=fact.seq) for fact in good_job()[2:] if fact.seq <= 23]
    p.wall = p.facts[-1].wall
    p.add("overridden", 1.0, step="remover", what="wait", name="remover on the plate", reason="already done")
    return p.facts


DANGER = """say = "Let the remover work."
caution = { signal = "DANGER", text = "Fumes." }"""


AGAINST: dict[str, tuple[Callable[[], list[Fact]], str]] = {
    "limits made wider": (
        lambda: changed(changed(good_job(), "measured", value="0.35", said_value="0.35"), "measured", high="0.40"),
        "judged by high 0.40, and the procedure says 0.20",
    ),
    "an uncertainty left out": (
        lambda: changed(every_kind_job(), "measured", 0, uncertainty=""),
        "and the gauge has 0.008",
    ),
    "one reading for three": (
        lambda: changed(every_kind_job(), "measured", 0, of=1),
        "one of 1 readings, and the procedure wants 3",
    ),
    "signed by another role": (
        lambda: changed(good_job(), "signed", role="apprentice"),
        "signed as apprentice, and the procedure wants the",
    ),
    "signed by who works on it": (own_sign, "signed by somebody who works on this job"),
    "a value that was never logged": (
        lambda: without(good_job(), "measured", step="float"),
        "no value of shaft end float is in order",
    ),
    "a sign that was never given": (lambda: without(good_job(), "signed"), "nobody signed and nobody passed it"),
    "a pass left out": (
        lambda: [replace(f, seq=n) for n, f in enumerate((f for f in good_job() if f.body.get("stage") != 3), 1)],
        "not all its passes are recorded",
    ),
    "a torque made smaller": (
        lambda: changed(good_job(), "stage_done", 1, amount="20"),
        "with 20 N.m, and the procedure says 24 N.m",
    ),
    "bolts in another order": (
        lambda: changed(good_job(), "stage_done", 0, order=[1, 2, 3, 4]),
        "not in the order of the procedure",
    ),
    "an old part": (lambda: changed(good_job(), "replaced", new=False), "no new part is recorded"),
    "a shorter wait": (
        lambda: changed(good_job(), "wait_started", at_least=60),
        "minimum of the wait is 60 s, and the procedure gives 180 s",
    ),
    "a longer working time": (
        lambda: changed(good_job(), "wait_started", 1, at_most=900),
        "maximum of the wait is 900 s",
    ),
    "a step begun before its wait": (gate_too_early, "before the wait of step remover allows it"),
    "a step left out": (
        lambda: without(good_job(), "step_entered", "step_done", step="scrape"),
        "and scrape, which comes before it",
    ),
    "a step skipped that nobody passed": (
        lambda: changed(good_job(), "step_done", 0, how="skipped"),
        "isolate is left out, and nobody passed it",
    ),
    "a count never closed": (
        lambda: without(good_job(), "tally_closed"),
        "the count of sump was not closed",
    ),
    "the end taken off and done": (
        lambda: without(good_job(), "step_entered", "checked", "step_done", step="leak"),
        "the job is done, and step leak was neither done nor left out",
    ),
    "passed alone what takes two": (
        lambda: passed_alone(3),
        "the guard of step remover is passed alone, and the procedure wants a second person",
    ),
    "another question": (
        lambda: changed(good_job(), "checked", ask="Is it fine?"),
        "not the question of this step",
    ),
}


@pytest.mark.parametrize("name", AGAINST)
def test_facts_that_are_not_what_the_procedure_asks_for(name: str, tmp_path: Path) -> None:
    """Written by the product's own store, chained and signed rightly: only the procedure shows it."""
    from bayvoice.report.audit import audit_job

    made, why = AGAINST[name]
    facts, place = made(), tmp_path / "bay.sqlite"
    job = str(facts[0].body["job"])
    fill(place, job, facts)
    with Store(place, read_only=True) as store:
        found = audit_job(store, job).fault
    assert found is not None
    assert (found.kind, why in found.why) == ("procedure", True), found


def test_rows_read_back_are_facts(shop: Path) -> None:
    """The forger's own tool writes what the product would read."""
    tamper(shop, value_made_good)
    with Store(shop, read_only=True) as store:
        assert store.verify("K40-0118") is None
        values = [read(row).body["value"] for row in store.rows("K40-0118") if row.kind == "measured"]
    assert values == ["0.50", "0.15", "0.15"]
