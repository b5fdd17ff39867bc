"""The audit: every change is found at its place, every verdict is worked out again, and the meaning is said."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from bayvoice.cli.main import main
from bayvoice.job.facts import Fact, upward
from bayvoice.record.chain import FIRST, Row, fault, write
from bayvoice.record.sqlite.store import Store
from bayvoice.report.audit import MEANS, Break, audit_job
from bayvoice.report.proof import Proof
from tests.record.records import fill, tamper
from tests.report.whole_job import BEGAN, TEXT, Play, count_in, eventful_job, good_job
from tests.stage import SCRIPTS, play

THOUSAND = 1000


def thousand() -> list[Row]:
    """A job of a thousand facts, as it is stored."""
    rows, prev = [], FIRST
    for i in range(1, THOUSAND + 1):
        body = {"step": "fit", "text": f"note {i}", "sound": "", "sha256": "", "seconds": 0}
        rows.append(write("J", Fact(i, BEGAN + i, "noted", body), prev))
        prev = rows[-1].hash
    return rows


def first_fault(rows: list[Row], start: int = 0) -> int:
    """Number of the first fact that does not hold, 0 where all do; the `start` first ones are known to hold."""
    prev = rows[start - 1].hash if start else FIRST
    for number, row in enumerate(rows[start:], start + 1):
        if found := fault("J", row, number, prev):
            return found.seq
        prev = row.hash
    return 0


@pytest.mark.parametrize("hand", ["changed", "removed", "reordered", "inserted", "inserted and sealed"])
def test_any_single_hand_on_any_of_a_thousand_facts_is_found(hand: str) -> None:
    """At every position; facts after it are numbered anew, as a careful hand would do it.

    What was taken from the very end shows in the file's own count, under a seal, or against a printed head.
    """
    rows = thousand()
    assert first_fault(rows) == 0
    for at in range(THOUSAND):
        prev = rows[at - 1].hash if at else FIRST
        own = write("J", Fact(at + 1, BEGAN, "noted", {"step": "fit", "text": "slipped in"}), prev)
        if hand == "changed":
            made = [*rows[:at], replace(rows[at], body=rows[at].body.replace("note", "nota")), *rows[at + 1 :]]
        elif hand == "removed":
            made = [*rows[:at], *(replace(row, seq=row.seq - 1) for row in rows[at + 1 :])]
        elif hand == "reordered":
            if at + 1 == THOUSAND:
                continue
            swapped = [replace(rows[at + 1], seq=at + 1), replace(rows[at], seq=at + 2)]
            made = [*rows[:at], *swapped, *rows[at + 2 :]]
        else:
            slipped = own if hand == "inserted and sealed" else replace(rows[at], seq=at + 1)
            made = [*rows[:at], slipped, *(replace(row, seq=row.seq + 1) for row in rows[at:])]
        # A fact that is sealed rightly holds by itself: the one after it no longer follows.
        expected = at + 2 if hand == "inserted and sealed" else at + 1
        if hand == "inserted":
            expected = at + 2
        if hand == "removed" and at + 1 == THOUSAND:
            expected = 0
        assert first_fault(made, max(0, at - 1)) == expected, at


@pytest.mark.parametrize("at", [1, 2, 500, 999, 1000])
def test_a_hand_on_the_file_is_found_at_its_place(tmp_path: Path, at: int) -> None:
    place = tmp_path / "bay.sqlite"
    with Store(place) as store, store.writing() as db:
        for row in thousand():
            db.execute(
                "INSERT INTO facts (job, seq, wall, kind, body, prev, hash) VALUES ('J', ?, ?, ?, ?, ?, ?)",
                (row.seq, row.wall, row.kind, row.body, row.prev, row.hash),
            )
    tamper(place, lambda db: db.execute("UPDATE facts SET body = replace(body, 'note', 'nota') WHERE seq = ?", (at,)))
    with Store(place, read_only=True) as store:
        found = store.verify("J")
    assert found is not None
    assert found.seq == at


# what follows from its own values


def audit(tmp_path: Path, facts: list[Fact]) -> Break | None:
    """Keep the facts and audit them; their chain holds, whatever they say."""
    place = tmp_path / "bay.sqlite"
    fill(place, facts[0].body["job"], facts)
    with Store(place, read_only=True) as store:
        assert store.verify_all() is None
        return audit_job(store, facts[0].body["job"]).fault


@pytest.mark.parametrize("job", [good_job, eventful_job])
def test_a_whole_job_holds(tmp_path: Path, job: Any) -> None:
    assert audit(tmp_path, job()) is None


@pytest.mark.parametrize("path", sorted(SCRIPTS.glob("*.script")), ids=lambda path: path.stem)
def test_what_the_product_itself_records_holds(path: Path) -> None:
    """Every dialogue of the tests, on the real core: the audit finds nothing in what it wrote down."""
    stage = play(path)
    proof = Proof("job-1", lambda text: stage.procedure)
    found = [(f.seq, f.kind, *proof.take(f.seq, f.wall, f.kind, f.body)) for f in stage.facts]
    # On the stage everything is said in no time and five seconds ago, so what hangs on that is dated back.
    assert [one for one in found if one[3] and one[1] != "remark_heard"] == []


def played(*facts: tuple[str, float, dict[str, Any]], text: str = "") -> list[Fact]:
    """A job of these facts. Without a procedure that can be read, they are held against their own values alone."""
    p = Play(text=text)
    p.begin()
    if text:
        p.plain("isolate")
        p.check("chock")
        p.leave("chock")
        count_in(p)
        p.enter("lift")
        p.add("helped", step="lift", people=2)
        p.leave("lift")
    else:
        p.facts[0] = replace(p.facts[0], body=p.facts[0].body | {"sha256": ""})
    p.enter("backlash")
    for kind, after, body in facts:
        p.add(kind, after, **body)
    return p.facts


def measured(value: str, verdict: str, **more: Any) -> tuple[str, float, dict[str, Any]]:
    body = {
        "step": "backlash",
        "name": "gear backlash",
        "value": value,
        "unit": "mm",
        "said_value": value,
        "said_unit": "mm",
        "low": "0.10",
        "high": "0.20",
        "gauge": "dial gauge",
        "verdict": verdict,
        "corrects": 0,
        "words": "",
    }
    return "measured", 5.0, body | more


def averaged(value: str, verdict: str, **more: Any) -> tuple[str, float, dict[str, Any]]:
    body = {
        "step": "backlash",
        "name": "gear backlash",
        "value": value,
        "unit": "mm",
        "n": 3,
        "spread": "0.02",
        "deviation": "0.01",
        "spread_limit": "",
        "low": "0.10",
        "high": "0.20",
        "uncertainty": "",
        "verdict": verdict,
    }
    return "averaged", 1.0, body | more


def started(least: int | None, most: int | None, ago: int = 0) -> tuple[str, float, dict[str, Any]]:
    body = {"step": "remover", "name": "remover", "wait": "act", "at_least": least, "at_most": most, "mono": "5.0"}
    return "wait_started", 1.0, body | {"ago": ago}


def ended(after: float, seconds: int, verdict: str) -> tuple[str, float, dict[str, Any]]:
    return "wait_ended", after, {"step": "remover", "name": "remover", "seconds": seconds, "verdict": verdict}


def three(*values: str) -> list[tuple[str, float, dict[str, Any]]]:
    return [measured(value, "within", nth=i, of=3) for i, value in enumerate(values, 1)]


def counted(change: int, inside: int) -> tuple[str, float, dict[str, Any]]:
    return "counted", 1.0, {"step": "backlash", "opening": "sump", "thing": "rag", "change": change, "inside": inside}


CLOSED = ("tally_closed", 1.0, {"step": "backlash", "opening": "sump"})
PASSED = ("overridden", 1.0, {"step": "backlash", "what": "tally", "name": "sump", "reason": "x", "who": "Ruth"})
CHANGED = ("wait_changed", 1.0, {"step": "remover", "name": "remover", "at_least": 60, "at_most": 90, "reason": "x"})
SAT_AGAIN = ("sitting_began", 9.0, {"by": "Imre", "product": "", "boot": "b2", "mono": "1"})
MOVED = ("clock_moved", 1.0, {"seconds": -3600, "what": "x"})


def stage(n: int, of: int = 2) -> tuple[str, float, dict[str, Any]]:
    body = {"step": "tighten", "stage": n, "stages": of, "amount": "10", "unit": "N.m", "order": [1, 2], "name": "bolt"}
    return "stage_done", 1.0, body


def bolt(number: int, place: int) -> tuple[str, float, dict[str, Any]]:
    body = {
        "step": "tighten",
        "stage": 1,
        "number": number,
        "place": place,
        "amount": "10",
        "unit": "N.m",
        "achieved": "",
        "achieved_unit": "",
        "verdict": "",
    }
    return "fastened", 1.0, body


def gauge(due: str, state: str) -> tuple[str, float, dict[str, Any]]:
    body = {"step": "backlash", "gauge": "dial gauge", "number": "DG-12", "uncertainty": "", "unit": "mm"}
    return "gauge_used", 1.0, body | {"due": due, "state": state}


def batch(expires: str, state: str) -> tuple[str, float, dict[str, Any]]:
    body = {"step": "backlash", "item": "sealant", "name": "sealant", "number": "B4"}
    return "batch", 1.0, body | {"expires": expires, "state": state}


RIGHT: dict[str, list[tuple[str, float, dict[str, Any]]]] = {
    "within": [measured("0.20", "within")],
    "on the limit": [measured("0.10", "within")],
    # ISO 14253-1: nearer to a limit than the expanded uncertainty, neither is proven
    "close": [measured("0.19", "close", uncertainty="0.02")],
    "one-sided": [measured("9", "within", low="", high="9"), measured("8", "low", low="9", high="")],
    "converted": [measured("0.127", "within", said_value="5", said_unit="thou")],
    "corrected": [measured("0.50", "high"), measured("0.15", "within", corrects=4)],
    "mean": [*three("0.14", "0.15", "0.16"), averaged("0.15", "within")],
    "mean, one reading corrected": [
        measured("0.44", "high", nth=1, of=3),
        *three("0.14", "0.15", "0.16")[1:],
        measured("0.14", "within", nth=1, of=3, corrects=4),
        averaged("0.15", "within"),
    ],
    "scattered": [*three("0.14", "0.15", "0.16"), averaged("0.15", "scattered", spread_limit="0.01")],
    "wait": [started(180, 480), ended(180, 180, "in window")],
    "wait begun before": [started(180, 480, ago=60), ended(120, 180, "in window")],
    "early": [started(180, 480), ended(100, 100, "early")],
    "late": [started(None, 480), ended(481, 481, "late")],
    "at the very limit": [started(180, 480), ended(480.6, 480, "late")],
    "changed": [started(180, 480), CHANGED, ended(79, 80, "in window")],
    "restarted computer": [started(180, 480), SAT_AGAIN, ended(10, 200, "in window")],
    "clock set, and said": [started(180, 480), MOVED, ended(-3600, 200, "in window")],
    "count": [counted(2, 2), counted(-2, 0), CLOSED],
    "count passed": [counted(2, 2), PASSED, CLOSED],
    "stages": [stage(1), stage(2), stage(1)],
    "gauges": [
        gauge("2025-03-04", "in date"),
        gauge("2025-03-02", "out of date"),
        gauge("", "not known"),
        gauge("2025-03-03", "in date"),
        gauge("ask", "in date"),
    ],
    "batches": [batch("2025-03", "in date"), batch("2025-02", "out of date"), batch("", "not said")],
    "the foreman's own clock": [counted(1, 1), ("returned", -900.0, {"who": "Ruth", "remark": "x"})],
    "bolts": [bolt(3, 1), bolt(1, 2), stage(1), bolt(3, 1)],
    "a later version's fact": [("noted", 1.0, {"step": "fit", "text": ""})],
}


@pytest.mark.parametrize("name", RIGHT)
def test_what_follows_holds(tmp_path: Path, name: str) -> None:
    assert audit(tmp_path, played(*RIGHT[name])) is None


WRONG: dict[str, tuple[str, str, list[tuple[str, float, dict[str, Any]]]]] = {
    "verdict": ("sum", "0.21 mm against its limits is high, not within", [measured("0.21", "within")]),
    "close called within": ("sum", "is close, not within", [measured("0.19", "within", uncertainty="0.02")]),
    "other value": ("sum", "0.51 was said and 0.15 is logged", [measured("0.15", "within", said_value="0.51")]),
    "no number": ("sum", "cannot be read", [measured("much", "within", said_value="much")]),
    "corrects nothing": ("order", "no earlier reading", [measured("0.15", "within", corrects=2)]),
    "mean": (
        "sum",
        "mean of the readings is 0.15, not 0.16",
        [*three("0.14", "0.15", "0.16"), averaged("0.16", "within")],
    ),
    "count of readings": (
        "sum",
        "mean of 3 readings, and 2 stand",
        [*three("0.14", "0.15", "0.16")[:2], averaged("0.15", "within")],
    ),
    "spread": (
        "sum",
        "0.02 apart, not 0.01",
        [*three("0.14", "0.15", "0.16"), averaged("0.15", "within", spread="0.01")],
    ),
    "deviation": (
        "sum",
        "standard deviation",
        [*three("0.14", "0.15", "0.16"), averaged("0.15", "within", deviation="0.02")],
    ),
    "not scattered": (
        "sum",
        "it is not within",
        [*three("0.14", "0.15", "0.16"), averaged("0.15", "within", spread_limit="0.01")],
    ),
    "verdict of the mean": ("sum", "is within, not high", [*three("0.14", "0.15", "0.16"), averaged("0.15", "high")]),
    "gauge in date": ("sum", "until 2025-03-01 it was not in date", [gauge("2025-03-01", "in date")]),
    "gauge out of date": ("sum", "until 2026-03-01 it was not out of date", [gauge("2026-03-01", "out of date")]),
    "batch in date": ("sum", "until 2025-02 it was not in date", [batch("2025-02", "in date")]),
    "not early": ("sum", "it was not early", [started(180, 480), ended(200, 200, "early")]),
    "not late": ("sum", "it was not late", [started(180, 480), ended(200, 200, "late")]),
    "not in window": ("sum", "not in its window", [started(180, 480), ended(500, 500, "in window")]),
    "too short": ("sum", "not in its window", [started(180, 480), ended(100, 100, "in window")]),
    "longer than it took": ("time", "lasted 100 s, not 200", [started(180, 480), ended(100, 200, "in window")]),
    "never begun": ("order", "never begun", [ended(9, 9, "dropped")]),
    "clock set": ("time", "dated 3600 s before", [counted(1, 1), ("paused", -3600.0, {})]),
    "count": ("sum", "2 of rag are inside, not 3", [counted(2, 3)]),
    "below nought": ("sum", "-1 of rag are inside", [counted(-1, -1)]),
    "closed with something in": ("sum", "closed with 2 rag inside", [counted(2, 2), CLOSED]),
    "pass left out": ("sum", "pass 2 of 2 does not follow pass 0", [stage(2)]),
    "same bolt twice": ("sum", "fastener 3 was taken twice", [bolt(3, 1), bolt(3, 2)]),
    "step never begun": ("order", "never begun", [("step_done", 1.0, {"step": "leak", "how": "done", "reason": ""})]),
    "step of another procedure": ("order", "does not have", [("noted", 1.0, {"step": "wings", "text": ""})]),
    "remark of nobody": ("order", "no remark", [("remark_heard", 1.0, {"seq": 2})]),
}


NEEDS_PROCEDURE = {"step of another procedure"}


@pytest.mark.parametrize("name", WRONG)
def test_what_does_not_follow_is_named_with_its_meaning(tmp_path: Path, name: str) -> None:
    kind, why, facts = WRONG[name]
    made = played(*facts, text=TEXT if name in NEEDS_PROCEDURE else "")
    found = audit(tmp_path, made)
    assert found is not None
    assert why in found.why
    assert (found.seq, found.kind, found.means) == (len(made), kind, MEANS[kind])


def test_the_first_fact_is_the_job_s_own(tmp_path: Path) -> None:
    facts = good_job()
    other = audit(
        tmp_path / "a", [replace(facts[0], body=facts[0].body | {"job": "K40-0117", "text": "x"}), *facts[1:]]
    )
    assert other is not None
    assert "fingerprint" in other.why
    twice = audit(tmp_path / "b", [*facts, replace(facts[0], seq=len(facts) + 1, wall=facts[-1].wall)])
    assert twice is not None
    assert (twice.seq, twice.kind) == (len(facts) + 1, "order")


def test_a_fact_that_lacks_a_key_is_said_and_one_of_a_later_version_is_not(tmp_path: Path) -> None:
    facts = played(measured("0.15", "within"))
    lacking = [*facts[:3], replace(facts[3], body={k: v for k, v in facts[3].body.items() if k != "low"})]
    found = audit(tmp_path / "a", lacking)
    assert found is not None
    assert "says low" in found.why
    older = upward("measured", {k: v for k, v in facts[3].body.items() if k != "nth"})
    assert audit(tmp_path / "b", [*facts[:3], replace(facts[3], body=older)]) is None
    later = Fact(5, facts[3].wall, "weighed", {"grams": "12.5"})
    assert audit(tmp_path / "c", [*facts, later]) is None


# the command


def run(capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, str]:
    status = main(args)
    return status, capsys.readouterr().out


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A record of two jobs; the data directory is the test's own."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    place = tmp_path / "bay.sqlite"
    fill(place, "K40-0117", good_job())
    fill(place, "K40-0118", eventful_job())
    return place


def test_the_command_seals_proves_and_keeps_a_head(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    store = ("--store", str(shop))
    status, out = run(capsys, "audit", "K40-0117", "--seal", *store)
    assert (status, "nothing more can be added" in out) == (0, True)
    status, out = run(capsys, "audit", "--all", *store)
    assert status == 0
    assert "K40-0117: every fact holds (55 facts, chain, order, times, sums, procedure)" in out
    assert "by this bay's key" in out
    head = out.splitlines()[-1].removeprefix("head over all jobs: ")
    assert run(capsys, "audit", "--head", *store) == (0, head + "\n")
    status, out = run(capsys, "audit", "--all", "--head", head, *store)
    assert (status, "everything it covers is here" in out) == (0, True)
    whole = json.loads(run(capsys, "audit", "--all", "--json", *store)[1])
    assert whole["holds"] is True
    assert whole["jobs"][0]["seal"]["algorithm"] == "Ed25519"
    assert f"{whole['head']['facts']}:{whole['head']['root']}" == head

    def take_out(db: sqlite3.Connection) -> None:
        db.execute("DELETE FROM facts WHERE job = 'K40-0118'")
        db.execute("UPDATE sqlite_sequence SET seq = (SELECT count(*) FROM facts) WHERE name = 'facts'")

    tamper(shop, take_out)
    # The count was put back too: what the bay signed while it was written shows it.
    status, out = run(capsys, "audit", "--all", *store)
    assert (status, "record: the bay signed 120 facts and 55 are here" in out) == (1, True), out
    status, out = run(capsys, "audit", "--all", "--head", head, *store)
    assert status == 1
    assert "kept head: the head is over 120 facts and 55 are here" in out
    assert MEANS["head"] in out


def test_the_command_names_what_does_not_hold(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    tamper(shop, lambda db: db.execute("UPDATE facts SET body = replace(body, '0.19', '0.15') WHERE job = 'K40-0118'"))
    store = ("--store", str(shop))
    status, out = run(capsys, "audit", "K40-0118", *store)
    assert status == 1
    seq = next(f.seq for f in eventful_job() if f.kind == "measured" and f.body["value"] == "0.19")
    assert f"K40-0118: fact {seq} does not hold: its content is not what was sealed when it was written" in out
    assert MEANS["chain"] in out
    whole = json.loads(run(capsys, "audit", "--json", *store)[1])
    assert [job["holds"] for job in whole["jobs"]] == [True, False]
    assert whole["jobs"][1]["means"] == MEANS["chain"]


@pytest.mark.parametrize(
    "args",
    [
        ("--seal",),
        ("--seal", "--all"),
        ("K40-0117", "--all"),
        ("--head", "12"),
        ("nobody",),
        ("nobody", "--seal"),
        ("K40-0117", "--seal", "--head", "1"),
    ],
)
def test_wrong_use_of_the_command_is_said(
    shop: Path, capsys: pytest.CaptureFixture[str], args: tuple[str, ...]
) -> None:
    assert main(("audit", *args, "--store", str(shop))) == 2
    assert capsys.readouterr().err.startswith("bayvoice: ")
