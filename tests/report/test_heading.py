"""A job is headed alike wherever it is shown, and never "In order" where its record does not hold."""

from __future__ import annotations

import csv
import io
import json
import sqlite3
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

from bayvoice.cli.main import main
from bayvoice.job.facts import Fact, upward
from bayvoice.record.sqlite.store import Store
from bayvoice.report.judged import job_lines, report_of
from bayvoice.report.render.look import JobsLook
from bayvoice.report.render.text import to_text
from bayvoice.report.sections.sittings import SITTINGS
from bayvoice.screen.overview import card_text
from bayvoice.screen.signs import UNICODE
from tests.record.records import fill, tamper
from tests.report.whole_job import eventful_job, good_job


def changed(db: sqlite3.Connection) -> None:
    db.execute("UPDATE facts SET body = replace(body, '0.080', '0.081') WHERE job = 'K40-0117'")


def chained_anew_with_the_seal_out(db: sqlite3.Connection) -> None:
    db.execute("DELETE FROM heads WHERE number > 1")
    db.execute("INSERT INTO seals VALUES ('K40-0117', '{}', 'ab', 'cd')")


def no_value() -> list[Fact]:
    """The end float was never measured, and its step is left as done all the same."""
    left = [f for f in good_job() if not (f.kind == "measured" and f.body["step"] == "float")]
    return [replace(fact, seq=n) for n, fact in enumerate(left, 1)]


def all_screens(place: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, str]:
    """The heading of the only job on every screen there is."""
    store, found = ("--store", str(place)), {}

    def run(*args: str) -> str:
        capsys.readouterr()
        assert main((*args, *store)) == 0
        return capsys.readouterr().out

    found["jobs"] = run("jobs").splitlines()[1]
    found["jobs --json"] = json.loads(run("jobs", "--json"))["jobs"][0]["heading"]
    found["text"] = run("report", "K40-0117", "--text").splitlines()[3].capitalize()
    found["json"] = json.loads(run("report", "K40-0117", "--json"))["heading"]
    found["csv"] = next(csv.DictReader(io.StringIO(run("report", "K40-0117", "--csv"))))["text"]
    page = place.with_suffix(".html")
    run("report", "K40-0117", "--out", str(page))
    found["page"] = page.read_text().partition("<strong>")[2].partition("</strong>")[0]
    with Store(place, read_only=True) as opened:
        (card,) = JobsLook(opened)()
    found["live look"] = str(card_text(card, 100, UNICODE)).splitlines()[2]
    return found


@pytest.mark.parametrize("hand", [changed, chained_anew_with_the_seal_out])
def test_a_record_that_does_not_hold_is_headed_so_everywhere(
    hand: Callable[[sqlite3.Connection], None], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = tmp_path / "bay.sqlite"
    fill(place, "K40-0117", good_job())
    assert all("In order" in shown for shown in all_screens(place, capsys).values())
    tamper(place, hand)
    for where, shown in all_screens(place, capsys).items():
        assert "Do not rely on this record" in shown, where
        assert "In order" not in shown, where
    assert main(("audit", "K40-0117", "--store", str(place))) == 1


def test_a_step_done_without_its_value_is_in_order_nowhere(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    place = tmp_path / "bay.sqlite"
    fill(place, "K40-0117", no_value())
    for where, shown in all_screens(place, capsys).items():
        assert "Do not rely on this record; 1 deviation" in shown, where
    with Store(place, read_only=True) as store:
        report = report_of(store, "K40-0117")
    assert [(d.level, d.number, d.text) for d in report.deviations] == [
        ("guard passed", 6, "left as done, and no value of shaft end float is recorded")
    ]


def test_the_worst_comes_first_on_every_screen(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    place = tmp_path / "bay.sqlite"
    fill(place, "K40-0118", eventful_job())
    with Store(place, read_only=True) as store:
        (line,), report, (card,) = job_lines(store), report_of(store, "K40-0118"), JobsLook(store)()
    worst = [d.text for d in report.deviations]
    assert line.worst == worst[0]
    assert list(card.flags[:4]) == worst[:4]
    plain = " ".join(to_text(report).split()).casefold()
    assert (places := [plain.index(text.casefold()) for text in worst]) == sorted(places)


def test_a_hand_on_the_file_shows_in_a_look_that_is_open(tmp_path: Path) -> None:
    place = tmp_path / "bay.sqlite"
    fill(place, "K40-0117", good_job())
    with Store(place, read_only=True) as store:
        look = JobsLook(store)
        assert look()[0].heading == "In order"
        tamper(place, changed)
        headings = [look()[0].heading for _ in range(4)]
    assert headings[-1] == "Do not rely on this record"


def handed(facts: list[Fact], after: int) -> list[Fact]:
    """Imre hands the job over to Dalia in the middle of a sitting."""
    at = facts[after]
    body = upward("handed_over", {"leaves": "Imre", "takes": "Dalia", "told": ["Two rags are in the sump."]})
    made = [*facts[: after + 1], Fact(0, at.wall + 0.01, "handed_over", body), *facts[after + 1 :]]
    return [replace(fact, seq=n) for n, fact in enumerate(made, 1)]


def test_everybody_who_worked_is_listed(tmp_path: Path) -> None:
    """Handed over within a sitting: the list of sittings names both, and who is at the job is the same everywhere."""
    place = tmp_path / "bay.sqlite"
    fill(place, "K40-0117", handed(good_job(), 20)[:40])
    with Store(place, read_only=True) as store:
        report, (line,), (card,) = report_of(store, "K40-0117"), job_lines(store), JobsLook(store)()
    assert report.header.people == ("Imre", "Dalia")
    assert [sitting.hands for sitting in SITTINGS.of(report)] == [("Imre", "Dalia")]
    assert "Imre, then Dalia" in to_text(report)
    assert line.by == card.by == "Dalia"


def test_a_sign_of_a_step_is_not_the_job_s(tmp_path: Path) -> None:
    place = tmp_path / "bay.sqlite"
    fill(place, "K40-0117", good_job())

    def told() -> str:
        with Store(place, read_only=True) as store:
            return " ".join(to_text(report_of(store, "K40-0117")).split())

    before = told()
    for piece in ("Steps signed by: Ruth", "Job signed off by: nobody", "The job is not signed off."):
        assert piece in before, piece
    assert "signature of Ruth at step 10 is only a name: no code was asked for" in before
    with Store(place) as store:
        store.add("K40-0117", good_job()[-1].wall + 60, "signed_off", who="Kofi", remark="")
    after = told()
    assert "Job signed off by: Kofi" in after
    assert "not signed off" not in after


def test_an_unread_procedure_is_not_in_order(tmp_path: Path) -> None:
    """Nothing could be held against a procedure that cannot be read: that is said, and no judgement given."""
    facts = good_job()
    body = facts[0].body | {"text": "format = 99", "sha256": ""}
    place = tmp_path / "bay.sqlite"
    fill(place, "K40-0117", [replace(facts[0], body=body), *facts[1:]])
    with Store(place, read_only=True) as store:
        report = report_of(store, "K40-0117")
    assert SimpleNamespace(ok=report.chain.ok, order=report.in_order) == SimpleNamespace(ok=True, order=False)
    assert report.deviations[0].text.startswith("the procedure in the record cannot be read")
