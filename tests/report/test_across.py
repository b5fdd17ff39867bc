"""One value over many jobs: the chart, the figures with their conditions, slow steps, overrides that come again."""

from __future__ import annotations

import json
from datetime import UTC
from decimal import Decimal
from pathlib import Path
from typing import Any

import html5lib
import pytest

from bayvoice.cli.main import main
from bayvoice.errors import BayError
from bayvoice.job.facts import Fact
from bayvoice.report.across import RUN, Across, across_json, look_across
from bayvoice.report.render.across import figures, plot, to_page, to_plain
from bayvoice.report.sections.steps import SLOW
from tests.record.records import fill, tamper
from tests.report.every_kind import TEXT as HUB
from tests.report.every_kind import every_kind_job
from tests.report.whole_job import Play, good_job

SVG = "{http://www.w3.org/2000/svg}"


def job(number: int, value: str, low: str = "8", high: str = "20", unit: str = "mm", **more: Any) -> list[Fact]:
    """A short job with one value, a day after the one before it."""
    p = Play(f"J{number}", wall=1_741_078_353.25 + number * 86_400)
    p.begin(by="Imre" if number % 2 else "Dalia")
    p.enter("backlash")
    below, above = low and Decimal(value) < Decimal(low), high and Decimal(value) > Decimal(high)
    verdict = "low" if below else "high" if above else "within"
    p.add(
        "measured",
        20.0,
        step="backlash",
        name="gear backlash",
        value=value,
        unit=unit,
        said_value=value,
        said_unit=unit,
        low=low,
        high=high,
        gauge="",
        verdict=verdict,
        corrects=0,
        words="",
        **more,
    )
    p.leave("backlash")
    p.add("job_done")
    return p.facts


def across(values: list[str], name: str = "gear backlash", **more: Any) -> Across:
    return look_across([(f"J{i}", job(i, value, **more)) for i, value in enumerate(values)], name)


def test_capability_is_the_published_one() -> None:
    """NIST/SEMATECH e-Handbook of Statistical Methods, 6.1.6 (from memory): limits 8 and 20, mean 16, s 2: 1, 0.6667.

    And limits 1.00 ± 0.01, mean 1.002, s 0.003: Cp 1.11 (a published course example); Cpk 0.889 follows.
    """
    v = across(["14", "16", "18"]).values
    assert v is not None
    assert v.capability is not None
    assert (v.capability.mean, v.capability.sd, v.capability.cp) == (16.0, 2.0, 1.0)
    assert v.capability.cpk == pytest.approx(0.6667, abs=5e-5)
    v = across(["0.999", "1.002", "1.005"], low="0.99", high="1.01").values
    assert v is not None
    assert v.capability is not None
    assert v.capability.cp == pytest.approx(1.11, abs=0.005)
    assert v.capability.cpk == pytest.approx(0.889, abs=5e-4)
    flat = " ".join(figures(v))
    assert "Cp 1.11" in flat
    assert "95% interval" in flat
    assert "3 readings are few" in flat
    assert "steady process whose single readings are normally distributed" in flat


@pytest.mark.parametrize(
    ("values", "more", "why"),
    [
        (["16"], {}, "one reading shows no spread"),
        (["16", "16"], {}, "the readings do not differ"),
        (["16", "17"], {"low": "", "high": ""}, "there are none"),
    ],
)
def test_where_there_is_no_figure_it_says_why(values: list[str], more: dict[str, Any], why: str) -> None:
    v = across(values, **more).values
    assert v is not None
    assert v.capability is None
    assert why in " ".join(figures(v))


def test_what_the_figures_rest_on_is_said() -> None:
    mixed = [("A", job(0, "0.6", unit="in")), ("B", job(1, "14")), ("C", job(2, "16", low="9")), ("D", job(3, "25"))]
    v = look_across(mixed, "Gear  Backlash").values
    assert v is not None
    assert (v.unit, [p.job for p in v.points], v.low) == ("mm", ["J1", "J2", "J3"], "8")
    flat = " ".join(figures(v))
    assert "the limits were not the same in all jobs (2 pairs)" in flat
    assert "1 value in another unit than mm left out" in flat
    assert "1 of 3 not within its limits" in flat
    hub = look_across([("K40-0201", every_kind_job())], "bearing end float").values
    assert hub is not None
    assert (hub.points[0].value, hub.points[0].mean_of) == (Decimal("0.114"), 3)
    assert "means of repeated readings" in " ".join(figures(hub))


def test_a_shift_is_hinted_at() -> None:
    """Eight in a row on one side of the median; seven are not enough, and values on the median do not count."""
    up = ["14"] * RUN + ["15"] + ["16"] * RUN
    v = across(up).values
    assert v is not None
    assert f"the last {RUN} values lie on one side" in " ".join(v.remarks)
    v = across(["14", "18"] * 6).values
    assert v is not None
    assert not v.remarks


def test_an_unknown_value_is_told_what_there_is() -> None:
    with pytest.raises(BayError, match="no job has such a value") as told:
        across(["16"], name="moon")
    assert "gear backlash" in told.value.mend
    assert look_across([], "").names == ()


def test_slow_steps_and_overrides_that_come_again() -> None:
    """A median over one and a half of the time given; the same guard passed in two jobs or more, with its reasons."""
    found = look_across([(f"T{i}", every_kind_job(f"T{i}")) for i in range(3)], "")
    slow = {s.step: s for s in found.slow}
    assert "scrape" in slow
    assert slow["scrape"].takes == 360
    assert all(s.middle > SLOW * s.takes and s.jobs == 3 for s in found.slow)
    assert "close" in slow
    assert "chock" not in slow
    again = {(a.step, a.what): a for a in found.again}
    assert again["grip", "measure"].reasons == (("foreman's order", 3),)
    assert (again["bead", "late"].jobs, again["bead", "late"].number) == (3, 12)
    assert look_across([("T0", every_kind_job("T0"))], "").again == ()
    text = to_plain(found, UTC)
    assert "the job went on though a time had run out" in " ".join(text.split())
    assert all(len(line) <= 100 for line in text.splitlines())
    assert dict(found.names)["cap grip"] == 3
    assert "takes" in HUB


def test_the_chart_lies_where_the_values_lie() -> None:
    """A value on the upper limit is drawn on its line, one outside has another shape, the page is valid and closed."""
    v = across(["14", "20", "22", "16"])
    page = to_page(v, UTC)
    tree = html5lib.HTMLParser(strict=True).parse(page)
    (chart,) = [e for e in tree.findall(f".//{SVG}svg") if e.attrib.get("class") == "run"]
    assert "4 values in the order of time, 8 to 20 mm" in chart.attrib["aria-label"]
    band = chart.find(f"{SVG}rect")
    circles = chart.findall(f".//{SVG}circle")
    assert float(circles[1].attrib["cy"]) == pytest.approx(float(band.attrib["y"]), abs=0.2)
    assert len(circles) == 3
    assert len([e for e in chart.iter(f"{SVG}path") if e.attrib.get("class") == "mark misses"]) == 1
    assert "<script" not in page
    assert v.values is not None
    letters = "\n".join(plot(v.values))
    assert letters.count("o") == 3
    assert letters.count("X") == 1
    assert "20 |" in letters


def test_hostile_names_stay_names() -> None:
    evil = "<script>alert(1)</script>\x1b[31m"
    facts = job(1, "14")
    made = [Fact(f.seq, f.wall, f.kind, f.body | ({"name": evil} if "name" in f.body else {})) for f in facts]
    found = look_across([("J", made), ("K", made)], evil)
    page = to_page(found, UTC)
    html5lib.HTMLParser(strict=True).parse(page)
    assert "<script" not in page
    assert "\x1b" not in to_plain(found, UTC)


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    place = tmp_path / "bay.sqlite"
    for i, value in enumerate(["14", "16", "18", "21"]):
        fill(place, f"J{i}", job(i, value))
    fill(place, "K40-0117", good_job())
    store = ("--store", str(place))
    assert main(("jobs", "--values", "gear backlash", *store)) == 0
    out = capsys.readouterr().out
    assert "gear backlash over 5 jobs" in out
    assert main(("jobs", "--values", "gear backlash", "--since", "2025-03-05", "--json", *store)) == 0
    whole = json.loads(capsys.readouterr().out)
    assert [p["job"] for p in whole["values"]["points"]] == ["J1", "J2", "J3"]
    assert whole["values"]["capability"]["n"] == 3
    same = look_across([(f"J{i}", job(i, v)) for i, v in ((1, "16"), (2, "18"), (3, "21"))], "gear backlash")
    assert whole == json.loads(json.dumps(across_json(same)))
    page = tmp_path / "values.html"
    assert main(("jobs", "--values", "gear backlash", "--html", str(page), *store)) == 0
    assert capsys.readouterr().out.strip() == str(page)
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert main(("jobs", "--last", "2", *store)) == 0
    listed = capsys.readouterr().out.splitlines()
    # J3 holds nothing but a value: its record is not what the procedure asks for, and what is wrong stands below it.
    assert [line.split()[0] for line in listed[1:3]] == ["K40-0117", "J3"]
    assert "Do not rely on this record" in listed[2]
    assert "step backlash is begun, and isolate, which comes before it" in listed[3]
    assert listed[4:] == ["3 older; --last 5 lists them too."]
    assert len(json.loads((main(("jobs", "--json", *store)), capsys.readouterr().out)[1])["jobs"]) == 5
    tamper(place, lambda db: db.execute("UPDATE facts SET body = '[' WHERE job = 'J1' AND seq = 4"))
    assert main(("jobs", "--values", *store)) == 0
    done = capsys.readouterr()
    assert "gear backlash" in done.out
    assert "fact 4 of job J1 cannot be read" in done.err


@pytest.mark.parametrize(
    "args",
    [
        ("--values", "x", "--since", "March"),
        ("--since", "2025-03-01"),
        ("--html", "x.html"),
        ("--values", "moon"),
        ("--last", "0"),
    ],
)
def test_wrong_use_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str], args: tuple[str, ...]) -> None:
    place = tmp_path / "bay.sqlite"
    fill(place, "J1", job(1, "14"))
    assert main(("jobs", *args, "--store", str(place))) == 2
    assert capsys.readouterr().err.startswith("bayvoice: ")
