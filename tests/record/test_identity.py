"""One check of who signs, on the real command line: nobody, look-alikes, codes, waits after wrong ones, the roster."""

from __future__ import annotations

import io
import json
import os
import pty
import select
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from bayvoice.cli.main import main
from bayvoice.record.sqlite import roster
from bayvoice.record.sqlite.store import Store
from bayvoice.report.audit import audit_job, head_of
from tests.record.records import fill, tamper
from tests.report.whole_job import good_job

JOB = "K40-0117"
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A record with one job that is done, worked by Imre, in a bay with a data directory of its own."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("HOME", str(tmp_path))
    place = tmp_path / "bay.sqlite"
    fill(place, JOB, good_job())
    return place


@pytest.fixture
def run(place: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Runs a command on that record: exit status, standard output, standard error. `lines`: what the pipe gives."""

    def command(*arguments: str, lines: str = "") -> tuple[int, str, str]:
        monkeypatch.setattr("sys.stdin", io.StringIO(lines))
        capsys.readouterr()
        status = main((*arguments, "--store", str(place)))
        told = capsys.readouterr()
        return status, told.out, told.err

    return command


Later = Callable[[float], None]


@pytest.fixture
def later(monkeypatch: pytest.MonkeyPatch) -> Later:
    """Lets so many seconds pass for the waits after wrong codes, in this process."""
    passed = [0.0]
    real = roster.now

    def ahead() -> roster.Moment:
        at = real()
        return roster.Moment(at.boot, at.mono + passed[0], at.wall + passed[0])

    def go_on(seconds: float) -> None:
        passed[0] += seconds

    monkeypatch.setattr(roster, "now", ahead)
    return go_on


def last_kind(place: Path) -> str:
    """The kind of the last fact that was added to the job; "job_done" where none was."""
    with Store(place, read_only=True) as store:
        facts = store.facts(JOB)
    return facts[-1].kind if len(facts) > len(good_job()) else "job_done"


# without a roster


@pytest.mark.parametrize("who", ["Nobody", "somebody", "foreman", "the foreman", "Foreman.", "n/a", "-", "me", "  "])
def test_nobody_cannot_sign_a_job_off(run: Run, place: Path, who: str) -> None:
    status, _, told = run("report", JOB, "--sign", who)
    assert status == 2, told
    assert last_kind(place) == "job_done"


@pytest.mark.parametrize("who", ["Imre", "Imre.", "Mr Imre", "I mre", "Imr\u0435", "lmre", "IMRE", "Imra", "Imre Nagy"])
@pytest.mark.parametrize("word", ["--sign", "--return"])
def test_who_worked_cannot_sign_under_a_look_alike(run: Run, place: Path, who: str, word: str) -> None:
    status, _, told = run("report", JOB, word, who, "--remark", "as it is")
    assert status == 2, told
    assert last_kind(place) == "job_done"


def test_a_signature_without_a_roster_says_so(run: Run, place: Path) -> None:
    status, told, _ = run("report", JOB, "--sign", "Adaeze")
    assert status == 0
    assert "without a roster" in told
    assert "no code was asked for" in told
    assert "signed without a roster" in run("report", JOB, "--text")[1].lower().replace("\n", " ")


# with one


def test_only_the_foreman_signs_off_and_with_the_code(run: Run, place: Path, later: Later) -> None:
    assert run("people", "--add", "Ruth", "--role", "foreman", "--code", lines="730519\n")[0] == 0
    assert run("people", "--add", "Kofi", "--role", "mechanic", lines="730519\n")[0] == 0
    for who, code, what in (
        ("Kofi", "730519", "foreman"),
        ("Adaeze", "730519", "know"),
        ("Ruth", "", "code"),
        ("Ruth", "111111", "wrong"),
    ):
        status, _, told = run("report", JOB, "--sign", who, lines=f"{code}\n")
        assert status == 2, who
        assert what in told
        assert last_kind(place) == "job_done"
    later(700)
    status, told, _ = run("report", JOB, "--sign", "ruth", lines="730519\n")
    assert (status, last_kind(place)) == (0, "signed_off")
    assert "Ruth" in told
    with Store(place, read_only=True) as store:
        body = store.facts(JOB)[-1].body
        before = list(store.rows(JOB))[-2]
        assert audit_job(store, JOB).fault is None
    assert body == {
        "who": "Ruth",
        "remark": "",
        "role": "foreman",
        "code": "right",
        "head": before.hash,
        "facts": before.seq,
    }
    everything = b"".join(p.read_bytes() for p in place.parent.rglob("*") if p.is_file())
    assert b"730519" not in everything
    assert b"111111" not in everything


def test_wrong_codes_wait_longer_across_processes(run: Run, place: Path, later: Later) -> None:
    """Each wrong one doubles the wait; the wait is in the record, so another process keeps to it."""
    run("people", "--add", "Ruth", "--role", "foreman", "--code", lines="730519\n")
    assert "wrong" in run("report", JOB, "--sign", "Ruth", lines="000000\n")[2]
    for _ in range(3):
        later(700)
        run("report", JOB, "--sign", "Ruth", lines="000000\n")
    done = subprocess.run(
        [sys.executable, "-m", "bayvoice", "report", JOB, "--sign", "Ruth", "--store", str(place)],
        input="730519\n",
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert done.returncode == 2, "the right code during the wait opens nothing"
    assert " s" in done.stderr
    assert "wait" in done.stderr.lower()
    assert last_kind(place) == "job_done"
    with Store(place, read_only=True) as store:
        wrong = [fact for fact in roster.history(store) if fact.kind == "code_wrong"]
    assert [fact.body["count"] for fact in wrong] == [1, 2, 3, 4]
    assert [roster.pause_s(n) for n in (1, 2, 3, 4, 20)] == [1, 2, 4, 8, 600]


def test_setting_the_clock_back_or_the_power_does_not_shorten_the_wait(place: Path) -> None:
    """Same start of the computer: its own counting clock decides. Another start: the wall clock, never before it."""
    with Store(place) as store:
        new = roster.Entry("Ruth", "foreman", "", roster.hashed("4711"))
        roster.carry_out(store, roster.change(roster.take_up(store), "Ruth", new), "", roster.Moment("b", 5, 1e9))
        assert roster.tried(store, "Ruth", "0000", roster.Moment("b", 10, 1e9)).verdict == "wrong"
        assert roster.tried(store, "Ruth", "4711", roster.Moment("b", 10.5, 1e9 + 9e6)).verdict == "wait"
        assert roster.tried(store, "Ruth", "4711", roster.Moment("c", 1, 1e9 - 3600)).verdict == "wait"
        assert roster.tried(store, "Ruth", "4711", roster.Moment("c", 1.5, 1e9 - 3600)).verdict == "wait"
        assert roster.tried(store, "Ruth", "4711", roster.Moment("c", 3, 1e9 - 3590)).verdict == "right"
        assert roster.tried(store, "Ruth", "0000", roster.Moment("c", 4, 1e9)).wait == 1, "a right one forgives"


def test_a_roster_that_is_swapped_in_the_data_directory_changes_nothing(run: Run, place: Path, tmp_path: Path) -> None:
    """people.toml is read upward once, with a line, and never believed again."""
    data = tmp_path / "data" / "bayvoice"
    data.mkdir(parents=True, exist_ok=True)
    text = '[[person]]\nname = "{}"\nrole = "foreman"\ncode = "' + roster.hashed("4711") + '"\n'
    (data / "people.toml").write_text(text.format("Ruth"), encoding="utf-8")
    status, _, told = run("report", JOB, "--sign", "Kofi", lines="4711\n")
    assert status == 2
    assert "taken into the record" in told
    (data / "people.toml").write_text(text.format("Mallory"), encoding="utf-8")
    assert run("report", JOB, "--sign", "Mallory", lines="4711\n")[0] == 2
    assert "Mallory" not in run("people")[1]
    (data / "people.toml").unlink()
    assert "Ruth" in run("people")[1]
    assert run("report", JOB, "--sign", "Ruth", lines="4711\n")[0] == 0


@pytest.mark.parametrize(
    "change",
    [
        'UPDATE facts SET body = replace(body, \'"role":"foreman"\', \'"role":"mechanic"\') WHERE job = :roster',
        "UPDATE people SET name = 'Mallory' WHERE job = :roster AND name = 'Ruth'",
        "DELETE FROM people WHERE job = :roster AND name = 'Ruth'",
        "DELETE FROM facts WHERE job = :roster AND seq = 2",
        "DELETE FROM facts WHERE job = :roster",
    ],
)
def test_a_roster_changed_in_the_file_is_found_and_not_used(run: Run, place: Path, change: str) -> None:
    run("people", "--add", "Ruth", "--role", "foreman", "--code", lines="730519\n")
    run("people", "--add", "Kofi", "--role", "mechanic", lines="730519\n")
    with Store(place, read_only=True) as store:
        head = head_of(store)
    tamper(place, lambda db: db.execute(change, {"roster": roster.CHAIN}))
    assert run("audit")[0] == 1
    assert run("audit", "--head", str(head))[0] == 1
    assert run("report", JOB, "--sign", "Ruth", lines="730519\n")[0] == 2
    assert run("report", JOB, "--sign", "Mallory", lines="730519\n")[0] == 2
    assert run("report", JOB, "--sign", "Adaeze")[0] == 2
    assert last_kind(place) == "job_done"


def test_the_roster_is_no_job(run: Run, place: Path) -> None:
    run("people", "--add", "Ruth", "--role", "foreman", "--code", lines="730519\n")
    with Store(place, read_only=True) as store:
        assert store.job_names() == [JOB]
        assert list(store.ends()) == [JOB]
        assert not store.has(roster.CHAIN)
    status, _, told = run("report", roster.CHAIN)
    assert status == 2
    assert "no such job" in told
    assert json.loads(run("jobs", "--json")[1])["jobs"][0]["job"] == JOB


# who may change it


def test_changes_need_a_foreman_and_a_code_the_old_one(run: Run, place: Path, later: Later) -> None:
    add = ("people", "--add")
    assert run(*add, "Kofi", "--role", "mechanic", "--code", lines="5511\n")[0] == 0, "the first may be set freely"
    assert run(*add, "Kofi", "--code", lines="9999\n6622\n")[0] == 2, "not the old code"
    later(700)
    assert run(*add, "Kofi", "--code", lines="5511\n6622\n")[0] == 0
    assert run("people", "--remove", "Kofi", lines="5511\n")[0] == 2, "the code before is no code"
    later(700)
    assert run(*add, "Ruth", "--role", "foreman", "--code", lines="4711\n")[0] == 0
    for change in (
        (*add, "Mallory", "--role", "foreman"),
        (*add, "Kofi", "--role", "foreman"),
        ("people", "--remove", "Kofi"),
        ("people", "--remove", "Ruth"),
        (*add, "Kofi", "--badge", "7"),
    ):
        assert run(*change, lines="6622\n")[0] == 2, change
        later(700)
        assert run(*change)[0] == 2, change
    assert run(*add, "Kofi", "--code", lines="4711\n8833\n")[0] == 2, "his own is asked for"
    later(700)
    assert run(*add, "Kofi", "--code", "--by", "Ruth", lines="4711\n8833\n")[0] == 0, "a foreman's does"
    assert run(*add, "Kofi", "--role", "welder", lines="4711\n")[0] == 0
    assert run("people", "--remove", "kofi", lines="4711\n")[0] == 0
    listed = json.loads(run("people", "--json")[1])["people"]
    assert [one["name"] for one in listed] == ["Ruth"]


@pytest.mark.parametrize("name", ["Ruth.", "Mr Ruth", "Rut\u04bb", "Ruht", "Nobody", "foreman", "Ruth Klein"])
def test_nobody_is_added_who_looks_like_somebody(run: Run, name: str) -> None:
    """The same name in other letters is that person (a change); one that is only close is refused."""
    run("people", "--add", "Ruth", "--role", "foreman")
    run("people", "--add", name, "--role", "foreman")
    listed = json.loads(run("people", "--json")[1])["people"]
    assert [one["name"] for one in listed] == ["Ruth"]


# signing looks first


@pytest.mark.parametrize("word", ["--sign", "--return"])
def test_an_edited_record_is_not_signed(run: Run, place: Path, word: str) -> None:
    tamper(
        place,
        lambda db: db.execute(
            "UPDATE facts SET body = replace(body, '\"value\":\"', '\"value\":\"1') WHERE kind = 'measured'"
        ),
    )
    with Store(place, read_only=True) as store:
        fault = audit_job(store, JOB).fault
    assert fault is not None
    status, _, told = run("report", JOB, word, "Adaeze", "--remark", "as it is")
    assert status == 2
    assert f"fact {fault.seq}" in told
    assert last_kind(place) == "job_done"


def test_a_signature_over_other_facts_is_found(run: Run, place: Path) -> None:
    """Written by hand, with a chain that holds: the head in the signature is not that of the fact before it."""
    with Store(place) as store:
        n = len(good_job())
        body = {"who": "Ruth", "remark": "", "role": "foreman", "code": "", "head": "0" * 64, "facts": n}
        store.add(JOB, good_job()[-1].wall + 60, "signed_off", **body)
        found = audit_job(store, JOB).fault
        assert found is not None
        assert found.seq == n + 1
    assert run("audit", JOB)[0] == 1
    assert run("audit", JOB, "--seal")[0] == 2


# at work

HOLD = """
format = 1
title = "Sign"
machine = "Hollin 25 lift truck"
[[step]]
id = "look"
kind = "hold"
say = "Call the foreman."
look = "the hub"
[[step]]
id = "wipe"
kind = "do"
say = "Wipe the face."
"""


def work(place: Path, tmp_path: Path, by: str, lines: str, *more: str) -> tuple[int, str]:
    procedure = tmp_path / "sign.toml"
    procedure.write_text(HOLD, encoding="utf-8")
    done = subprocess.run(
        [
            sys.executable,
            "-m",
            "bayvoice",
            "work",
            str(procedure),
            "--by",
            by,
            "--store",
            str(place),
            "--mic",
            "off",
            "--ears",
            "typed",
            "--speaker",
            "off",
            "--screen",
            "off",
            *more,
        ],
        input=lines,
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
        env=dict(os.environ),
    )
    return done.returncode, done.stdout + done.stderr


def test_wrong_codes_at_work_count_for_the_command_line_too(run: Run, place: Path, tmp_path: Path) -> None:
    run("people", "--add", "Ruth", "--role", "foreman", "--code", lines="730519\n")
    told = work(place, tmp_path, "Imre", "sign ruth\n111111\n730519\n222222\n730519\n")[1]
    assert "That code is wrong" in told
    assert "Codes must wait" in told
    assert "Signed by Ruth" not in told
    with Store(place, read_only=True) as store:
        facts = store.facts("sign-1")
        wrong = [fact for fact in roster.history(store) if fact.kind == "code_wrong"]
    assert [fact.body["what"] for fact in facts if fact.kind == "refused"] == ["code"]
    assert len(wrong) == 1


def test_who_comes_back_under_a_look_alike_is_who_was_there(place: Path, tmp_path: Path, run: Run) -> None:
    assert work(place, tmp_path, "Imre", "which step\n")[0] == 0
    assert work(place, tmp_path, "lmre.", "which step\n")[0] == 0
    with Store(place, read_only=True) as store:
        by = [fact.body["by"] for fact in store.facts("sign-1") if fact.kind == "sitting_began"]
    assert by == ["Imre", "Imre"]
    status, told = work(place, tmp_path, "Imra", "which step\n")
    assert status == 2
    assert "Imre" in told


def test_the_roster_of_an_environment_signs_nothing(run: Run, place: Path, tmp_path: Path) -> None:
    run("people", "--add", "Ruth", "--role", "foreman", "--code", lines="730519\n")
    os.environ["BAYVOICE_PEOPLE"] = "Mallory"
    try:
        told = work(place, tmp_path, "Imre", "sign mallory\n")[1]
    finally:
        del os.environ["BAYVOICE_PEOPLE"]
    assert "I don't know mallory here" in told


def test_names_of_the_roster_are_tokens(run: Run, place: Path) -> None:
    run("people", "--add", "Ruth", "--role", "foreman", "--code", lines="730519\n")
    rows = sqlite3.connect(place).execute("SELECT body FROM facts WHERE job = ?", (roster.CHAIN,)).fetchall()
    assert rows
    assert all("Ruth" not in body for (body,) in rows)


def on_a_terminal(arguments: tuple[str, ...], answers: tuple[tuple[str, str], ...]) -> tuple[int, str]:
    """Run a command on a terminal of its own, and answer each prompt once it stands there."""
    pid, terminal = pty.fork()
    if pid == 0:
        os.execv(sys.executable, [sys.executable, "-m", "bayvoice", *arguments])
    shown = ""

    def more() -> bool:
        nonlocal shown
        try:
            found = os.read(terminal, 4096) if select.select([terminal], [], [], 60)[0] else b""
        except OSError:
            found = b""
        shown += found.decode()
        return bool(found)

    for prompt, answer in answers:
        while prompt not in shown and more():
            pass
        # The prompt is written after the echo was turned off, so what is typed now is not shown.
        os.write(terminal, f"{answer}\n".encode())
    while more():
        pass
    os.close(terminal)
    return os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]), shown


def test_on_a_terminal_codes_are_asked_for_without_an_echo(place: Path) -> None:
    new = ("people", "--add", "Ruth", "--role", "foreman", "--code", "--store", str(place))
    status, shown = on_a_terminal(new, (("New code", "730519"), ("Once more", "730519")))
    assert status == 0, shown
    assert "730519" not in shown
    status, shown = on_a_terminal(
        ("report", JOB, "--sign", "Ruth", "--store", str(place)), (("Code of Ruth: ", "730519"),)
    )
    assert status == 0, shown
    assert "730519" not in shown
    assert last_kind(place) == "signed_off"
