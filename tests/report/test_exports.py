"""CSV, JSON lines and PDF: read back by programs that know nothing of us, harmless whatever the record holds."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
from pathlib import Path
from typing import Any

import duckdb
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bayvoice.cli.main import main
from bayvoice.errors import BayError
from bayvoice.job.facts import Fact
from bayvoice.record.baykey import holds
from bayvoice.record.sounds import folder_of
from bayvoice.record.sqlite.store import Store
from bayvoice.report.base.model import Chain
from bayvoice.report.render.csv import HEADS, harmless, rows_csv, to_csv
from bayvoice.report.render.jsonlines import to_jsonl
from bayvoice.report.render.pdf import find_browser, to_pdf
from bayvoice.report.summary import procedure_of, summarise
from tests.record.records import fill
from tests.report.every_kind import SOUND, SOUND_NAME, every_kind_job
from tests.report.whole_job import Play, eventful_job

FORMULAS = [
    "=cmd|' /C calc'!A0",
    "+1+1",
    "-1+1",
    "@SUM(1;2)",
    "\t=1+1",
    "\r=1+1",
    "＝1+1",
    '=HYPERLINK("http://x","y")',
    "=1\r\n2;3",
    'a "quoted", name',
    "two\nlines",
    "nul \x00 and bell \x07",
    "",
    "'",
    "‮gnp",
]


def noisy_job() -> list[Fact]:
    """Notes that a spreadsheet would compute, names with quotes, a note of a megabyte."""
    p = Play("K40-0300")
    p.begin(by='Im"re, =1+1')
    for text in (*FORMULAS, "<b>" * 350_000):
        p.add("noted", step="fit", text=text)
    return p.facts


def as_csv(facts: list[Fact]) -> str:
    return to_csv(summarise(facts, procedure_of(facts)))


@pytest.mark.parametrize("job", [eventful_job, every_kind_job, noisy_job])
def test_two_foreign_readers_find_every_fact(tmp_path: Path, job: Any) -> None:
    """Python's csv, strict, and DuckDB, strict, told nothing but the quote and the comma, agree on every field."""
    facts = job()
    text = as_csv(facts)
    csv.field_size_limit(4_000_000)  # Python's own limit for a field is 128 KiB
    rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert tuple(rows[0]) == HEADS
    # First the result, then the deviations, the worst first, then the facts.
    deviations = len(summarise(facts, procedure_of(facts), Chain(True)).deviations)
    assert [row[3] for row in rows[1 : deviations + 2]] == ["result", *["deviation"] * deviations]
    assert [row[1] for row in rows[deviations + 2 :]] == [str(fact.seq) for fact in facts]
    assert {len(row) for row in rows} == {len(HEADS)}
    place = tmp_path / "job.csv"
    place.write_bytes(text.encode())
    read = duckdb.execute(
        "SELECT * FROM read_csv(?, header=true, all_varchar=true, strict_mode=true, quote='\"', escape='\"', delim=',',"
        " nullstr='\x01', max_line_size=4000000)",
        [str(place)],
    ).fetchall()
    assert [[value or "" for value in row] for row in read] == rows[1:]


def test_the_file_is_what_rfc_4180_asks_for() -> None:
    """Lines end in CRLF (RFC 4180, 2.1), quotes are doubled (2.7), fields with commas or line ends quoted (2.6)."""
    text = rows_csv(("a", "b"), [('say "x"', "1,2"), ("one\r\ntwo", "3")])
    assert text == 'a,b\r\n"say ""x""","1,2"\r\n"one\ntwo",3\r\n'


@pytest.mark.parametrize("field", FORMULAS)
def test_no_field_begins_like_a_formula(field: str) -> None:
    """OWASP, "CSV Injection": = + - @ tab carriage return, and their wide forms."""
    shown = harmless(field)
    assert not shown.startswith(("=", "+", "-", "@", "\t", "\r", "\n", "＝"))
    assert not re.search(r"[\x00-\x08\x0b-\x1f\x7f\u202e]", shown)


@pytest.mark.parametrize("number", ["-0.02", "+5", "-17", "32.50", "0", "1e5"])
def test_numbers_stay_numbers(number: str) -> None:
    assert harmless(number) == number


@given(st.text(st.characters(exclude_categories=[])))
def test_any_field_comes_back_as_one_field(field: str) -> None:
    """Every code point there is."""
    rows = list(csv.reader(io.StringIO(rows_csv(("x", "y"), [("1", field)]), newline=""), strict=True))
    assert rows == [["x", "y"], ["1", harmless(field)]]


def test_the_rows_say_what_the_facts_say() -> None:
    rows = list(csv.DictReader(io.StringIO(as_csv(every_kind_job()), newline="")))
    value = next(row for row in rows if row["kind"] == "measured" and row["name"] == "cap grip")
    assert (value["step"], value["step_number"], value["value"], value["unit"], value["low"], value["high"]) == (
        "grip",
        "7",
        "0.34",
        "mm",
        "0.10",
        "0.30",
    )
    assert (value["verdict"], value["by"], value["time_utc"][:10]) == ("high", "Imre", "2025-03-04")
    assert json.loads(value["rest"])["limits_from"].startswith("housing_depth")
    assert [row["by"] for row in rows if row["kind"] == "replaced"] == ["Dalia", "Dalia"]
    assert next(row for row in rows if row["kind"] == "returned")["text"].startswith("Wipe the flange")


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A record with the job in which every kind of fact occurs, and its note's sound."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    place = tmp_path / "bay.sqlite"
    fill(place, "K40-0201", every_kind_job())
    folder_of(place).mkdir()
    (folder_of(place) / SOUND_NAME).write_bytes(SOUND)
    return place


def test_json_lines_prove_the_chain_to_a_stranger(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """hashlib and json alone: each fact's hash follows from the one before, and the signature is over the last."""
    assert main(("audit", "K40-0201", "--seal", "--store", str(shop))) == 0
    capsys.readouterr()
    assert main(("report", "K40-0201", "--jsonl", "--store", str(shop))) == 0
    lines = capsys.readouterr().out.split("\n")
    assert lines.pop() == ""
    *facts, seal = [json.loads(line) for line in lines]
    prev = "0" * 64
    for number, fact in enumerate(facts, 1):
        whole = {
            "body": json.loads(fact["body"]),
            "job": fact["job"],
            "kind": fact["kind"],
            "prev": prev,
            "seq": number,
            "wall": fact["wall"],
        }
        text = json.dumps(whole, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        assert hashlib.sha256(text.encode()).hexdigest() == fact["hash"], number
        prev = fact["hash"]
    assert json.loads(seal["seal"]["statement"])["head"] == prev
    assert holds(seal["seal"]["key"], seal["seal"]["statement"].encode(), seal["seal"]["signature"])
    assert facts[1]["names"] == {"by": "Imre"}
    assert "Imre" not in facts[1]["body"]


def test_badges_stand_for_names_in_every_form(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Text that people typed stays as it is: a remark that names somebody still does."""
    for form in ("--text", "--csv", "--jsonl", "--json"):
        assert main(("report", "K40-0201", form, "--badges", "--store", str(shop))) == 0
        out = capsys.readouterr().out
        assert "badge 1" in out
        assert "Imre" not in out
        assert "Dalia" not in out
    assert main(("jobs", "--badges", "--store", str(shop))) == 0
    assert "badge" in capsys.readouterr().out


def test_the_page_of_the_command_plays_the_note(shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "job.html"
    assert main(("report", "K40-0201", "--out", str(out), "--store", str(shop))) == 0
    assert "data:audio/wav;base64," in out.read_text(encoding="utf-8")
    (folder_of(shop) / SOUND_NAME).write_bytes(SOUND + b"\0")
    assert main(("report", "K40-0201", "--out", str(out), "--store", str(shop))) == 0
    page = out.read_text(encoding="utf-8")
    assert "is not the one that was recorded; it is left out" in page
    assert "data:audio" not in page
    assert "Do not rely on this record" in page
    (folder_of(shop) / SOUND_NAME).unlink()
    assert main(("report", "K40-0201", "--out", str(out), "--store", str(shop))) == 0
    assert "is not kept any more" in out.read_text(encoding="utf-8")


@pytest.mark.skipif(find_browser() is None, reason="no browser that prints is installed: nothing is printed to PDF")
def test_the_report_on_paper(shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """PDF 1.4 or later by its header (ISO 32000-1, 7.5.2), on A4 (ISO 216)."""
    out = tmp_path / "job.pdf"
    assert main(("report", "K40-0201", "--pdf", "--out", str(out), "--store", str(shop))) == 0
    assert capsys.readouterr().out.strip() == str(out)
    data = out.read_bytes()
    assert re.match(rb"%PDF-1\.[4-7]|%PDF-2\.", data)
    boxes = {tuple(round(float(n)) for n in box.split()) for box in re.findall(rb"/MediaBox \[([^\]]+)\]", data)}
    assert boxes
    assert all(abs(box[2] - 595) <= 1 and abs(box[3] - 842) <= 1 for box in boxes)


def test_without_a_browser_paper_is_refused_in_one_sentence(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("BAYVOICE_BROWSER", str(tmp_path / "none"))
    with pytest.raises(BayError, match="no browser is here that can print"):
        to_pdf("<p>")
    bad = tmp_path / "bad"
    bad.write_text("#!/bin/sh\nexit 3\n")
    bad.chmod(0o755)
    monkeypatch.setenv("BAYVOICE_BROWSER", str(bad))
    with pytest.raises(BayError, match="the browser did not print"):
        to_pdf("<p>")


# the foreman's word


def test_the_foreman_gives_a_job_back_and_signs_it_off(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    store = ("--store", str(shop))
    assert main(("report", "K40-0201", "--return", "Ruth", "--remark", "Oil  at the\nlower corner", *store)) == 0
    assert "said when it is taken up again" in capsys.readouterr().out
    assert main(("jobs", *store)) == 0
    assert "returned" in capsys.readouterr().out
    assert main(("report", "K40-0201", "--sign", "Ruth", *store)) == 2
    assert "the job is not done yet" in capsys.readouterr().err
    with Store(shop) as writer:
        last = writer.facts("K40-0201")[-1]
        told = {key: last.body[key] for key in ("who", "remark")}
        assert (last.kind, told) == ("returned", {"who": "Ruth", "remark": "Oil at the lower corner"})
        assert [name for name, _ in writer.open_jobs()] == ["K40-0201"]
        writer.append("K40-0201", Fact(last.seq + 1, last.wall, "job_done", {}))
    assert main(("report", "K40-0201", "--sign", " Ruth ", "--json", *store)) == 0
    assert json.loads(capsys.readouterr().out)["kind"] == "signed_off"
    assert main(("audit", "K40-0201", *store)) == 0
    text = capsys.readouterr().out
    assert "every fact holds" in text


@pytest.mark.parametrize(
    ("args", "told"),
    [
        (("--return", "Ruth"), "given back with a reason"),
        (("--sign", "Imre"), "Imre worked on this job"),
        (("--sign", "dalia "), "worked on this job"),
        (("--sign", " "), "nobody is named"),
        (("--sign", "Ru\x1bth"), "nobody is named"),
        (("--remark", "alone"), "goes with --sign or --return"),
        (("--return", "Ruth", "--remark", "x" * 501), "up to 500 characters"),
        (("--sign", "Ruth", "--csv"), "not allowed with"),
    ],
)
def test_a_word_that_cannot_be_is_said(
    shop: Path, capsys: pytest.CaptureFixture[str], args: tuple[str, ...], told: str
) -> None:
    try:
        status = main(("report", "K40-0201", *args, "--store", str(shop)))
    except SystemExit as end:
        status = end.code  # type: ignore[assignment]
    assert status == 2
    assert told in capsys.readouterr().err


def test_the_word_waits_for_the_sitting_to_end(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Never into a job somebody is working at: its facts would get mixed up."""
    with Store(shop) as sitting:
        sitting.claim("K40-0201", "Dalia")
        assert main(("report", "K40-0201", "--return", "Ruth", "--remark", "stop", "--store", str(shop))) == 2
        assert "another sitting is at this job by Dalia" in capsys.readouterr().err
        assert list(to_jsonl(sitting, "K40-0201"))[-1].count('"kind": "signed_off"') == 1
