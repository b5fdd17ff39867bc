"""The page and the plain text: valid, readable by everyone, harmless whatever the record holds."""

from __future__ import annotations

import contextlib
import csv
import io
import re
import shutil
import socket
import subprocess
import threading
import unicodedata
from datetime import timedelta, timezone
from pathlib import Path
from typing import Any

import html5lib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bayvoice.job.facts import Fact
from bayvoice.report.base.model import Chain
from bayvoice.report.base.section import JobReport
from bayvoice.report.base.words import Clock, clean, limits, quantity, sentence, span, window
from bayvoice.report.render.csv import to_csv
from bayvoice.report.render.page import to_html
from bayvoice.report.render.style import DARK, LIGHT, PAPER
from bayvoice.report.render.text import to_text
from bayvoice.report.summary import procedure_of, summarise
from tests.report.every_kind import data_address, every_kind_job, fetch
from tests.report.whole_job import Play, eventful_job, good_job

ZONE = timezone(timedelta(hours=1))
HTML = "{http://www.w3.org/1999/xhtml}"
SVG = "{http://www.w3.org/2000/svg}"
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")

HOSTILE = (
    "<script>document.title='owned'</script><img src=x onerror=\"document.title='owned'\">"
    "</title></style><style>*{display:none}</style>&lt;b&gt; ' \" \x00\x1b[31mred\x1b[0m \x9b2J "
    "\u202egnp.exe \ufffe --> <svg/onload=alert(1)><iframe src=http://bad.example/f></iframe>"
    "<img src=http://bad.example/i><link rel=stylesheet href=http://bad.example/s>"
    "<meta http-equiv=refresh content='0;url=http://bad.example/m'><audio src=http://bad.example/a autoplay></audio>"
)


def report_of(facts: list[Fact], chain: Chain = Chain(True)) -> JobReport:  # noqa: B008
    return summarise(facts, procedure_of(facts), chain)


def hostile_job() -> list[Fact]:
    """Hostile text wherever the record takes text."""
    p = Play(HOSTILE)
    p.begin(HOSTILE, HOSTILE)
    p.add("noted", step=HOSTILE, text=HOSTILE + "\n" + "a" * 5000)
    p.add("checked", step="leak", ask=HOSTILE, answer=HOSTILE, want=HOSTILE + "!")
    p.add(
        "measured",
        step=HOSTILE,
        name=HOSTILE,
        value="0.5",
        unit=HOSTILE,
        said_value="1",
        said_unit="mm",
        low="0.1",
        high="0.2",
        gauge=HOSTILE,
        verdict=HOSTILE,
        corrects=0,
        words=HOSTILE,
    )
    p.add("overridden", step="fit", what=HOSTILE, name=HOSTILE, reason=HOSTILE)
    p.add("signed", step=HOSTILE, who=HOSTILE, role=HOSTILE)
    p.add("wait_started", step=HOSTILE, name=HOSTILE, wait=HOSTILE, at_least=5, at_most=10, mono=HOSTILE)
    p.add("wait_ended", step=HOSTILE, name=HOSTILE, seconds=20, verdict="late")
    p.add("counted", step="fit", opening=HOSTILE, thing=HOSTILE, change=1, inside=1)
    p.add("trouble", part=HOSTILE, what=HOSTILE)
    p.add("sitting_left", why=HOSTILE)
    p.facts.append(Fact(len(p.facts) + 1, p.wall, HOSTILE, {HOSTILE: [HOSTILE, {"deep": HOSTILE}]}))
    return p.facts


JOBS = {"good": good_job, "eventful": eventful_job, "hostile": hostile_job, "every kind": every_kind_job}


def page_of(facts: list[Fact]) -> str:
    """The page with the sound of its notes."""
    return to_html(report_of(facts), ZONE, fetch)


def parsed(page: str) -> Any:
    """The page as html5lib, an independent parser of the HTML standard, reads it; any parse error fails."""
    return html5lib.HTMLParser(strict=True).parse(page)


@pytest.mark.parametrize("job", JOBS)
def test_the_page_is_valid_and_self_contained(job: str) -> None:
    """Strict parse; no script, nothing that fetches, no handler, whatever was in the record."""
    page = page_of(JOBS[job]())
    tree = parsed(page)
    names = {element.tag.rpartition("}")[2] for element in tree.iter() if isinstance(element.tag, str)}
    assert names <= {
        "html",
        "head",
        "meta",
        "title",
        "style",
        "body",
        "main",
        "p",
        "h1",
        "h2",
        "div",
        "strong",
        "dl",
        "dt",
        "dd",
        "h3",
        "ol",
        "li",
        "ul",
        "span",
        "section",
        "table",
        "caption",
        "thead",
        "tbody",
        "tr",
        "th",
        "td",
        "s",
        "small",
        "svg",
        "path",
        "rect",
        "circle",
        "text",
        "g",
        "blockquote",
        "footer",
        "figure",
        "figcaption",
        "audio",
    }
    for element in tree.iter():
        assert not any(key.startswith("on") or key in ("href", "srcset", "style") for key in element.attrib)
        # A sound is in the page itself; nothing else has an address.
        if "src" in element.attrib:
            assert element.tag == f"{HTML}audio"
            assert element.attrib["src"] == data_address()
    assert len(tree.findall(f".//{HTML}style")) == 1
    assert not re.search(r"url\(|@import|https?:", tree.find(f".//{HTML}style").text)


@pytest.mark.parametrize("job", JOBS)
def test_the_page_can_be_read_without_seeing_it(job: str) -> None:
    """Language, one first heading and no level left out, captions, scoped heads, words for every picture."""
    tree = parsed(page_of(JOBS[job]()))
    assert tree.attrib["lang"] == "en"
    assert tree.find(f".//{HTML}title").text.strip()
    levels = [int(e.tag[-1]) for e in tree.iter() if isinstance(e.tag, str) and re.fullmatch(rf"{HTML}h[1-6]", e.tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert levels[1] == 2
    assert set(levels[1:]) <= {2, 3}
    tables = tree.findall(f".//{HTML}table")
    assert tables
    for table in tables:
        assert table[0].tag == f"{HTML}caption"
        heads = table.findall(f"{HTML}thead/{HTML}tr/{HTML}th")
        assert all(head.attrib["scope"] == "col" and head.text for head in heads)
        for row in table.findall(f"{HTML}tbody/{HTML}tr"):
            assert len(row) == len(heads)
            assert row[0].attrib["scope"] == "row"
    for picture in tree.findall(f".//{SVG}svg"):
        assert picture.attrib["role"] == "img"
        assert len(picture.attrib["aria-label"]) > 10


def test_the_result_and_the_deviations_come_first() -> None:
    page = to_html(report_of(eventful_job()), ZONE)
    places = [
        page.index(piece)
        for piece in ("9 deviations", ">Deviations, the worst first<", ">Measurements<", ">Waits<", ">Every fact<")
    ]
    assert places == sorted(places)
    assert "In order" in to_html(report_of(good_job()), ZONE)
    assert "In order so far" in to_html(report_of(good_job()[:9]), ZONE)


def test_a_struck_value_says_by_whom_and_when() -> None:
    tree = parsed(to_html(report_of(eventful_job()), ZONE))
    (struck,) = tree.findall(f".//{HTML}s")
    assert struck.text == "0.50 mm"
    assert any(small.text == "until 09:54:22, by Imre" for small in tree.findall(f".//{HTML}small"))


def test_pictures_say_what_they_show() -> None:
    labels = [e.attrib["aria-label"] for e in parsed(to_html(report_of(eventful_job()), ZONE)).findall(f".//{SVG}svg")]
    assert labels == [
        "gear backlash: 0.15 mm (within the limits), limits 0.10 to 0.20 mm",
        "shaft end float: 0.19 mm (above the limits), limits 0.05 to 0.15 mm",
        "2 waits on the time of the job; 1 outside its window",
        "remover on the plate: 3 min 35 s, in window, window 3 min to 8 min",
        "sealant on the plate: 6 min 52 s, late, window at most 6 min",
    ]


def test_the_mark_lies_where_the_value_lies() -> None:
    """The round mark of a value in the middle of its limits lies in the middle of the band."""
    p = Play()
    p.begin()
    p.measure("backlash", "0.15", "within")
    (picture,) = parsed(to_html(report_of(p.facts), ZONE)).findall(f".//{SVG}svg")
    band, mark = picture.find(f"{SVG}rect"), picture.find(f"{SVG}circle")
    assert float(mark.attrib["cx"]) == pytest.approx(float(band.attrib["x"]) + float(band.attrib["width"]) / 2, abs=0.2)
    p.measure("backlash", "0.90", "high")
    (picture,) = parsed(to_html(report_of(p.facts), ZONE)).findall(f".//{SVG}svg")
    assert picture.find(f"{SVG}circle") is None, "outside the limits the mark has another shape, not only a colour"


def test_a_broken_record_is_said_at_the_top() -> None:
    report = report_of(good_job(), Chain(False, 7, "its content is not what was sealed when it was written"))
    line = "Fact 7 does not hold: its content is not what was sealed when it was written."
    page, plain = to_html(report, ZONE), " ".join(to_text(report, ZONE).split())
    assert "<strong>Do not rely on this record</strong>" in page
    assert "DO NOT RELY ON THIS RECORD." in plain
    for shown in (page, plain):
        assert line in shown
        assert "In order" not in shown
    assert not report.in_order
    rows = list(csv.DictReader(io.StringIO(to_csv(report))))
    assert (rows[0]["kind"], rows[0]["text"], rows[0]["seq"]) == ("result", "Do not rely on this record", "7")


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_every_text_colour_can_be_read() -> None:
    """7:1 or more, WCAG 2.2 SC 1.4.6; graphics 3:1, SC 1.4.11. The formula is checked on published pairs first."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#0000ff", "#ffffff") == pytest.approx(8.59, abs=0.005)
    assert contrast("#0000ff", "#ff0000") == pytest.approx(2.15, abs=0.005)
    for colours in (LIGHT, DARK, PAPER):
        for ground in ("ground", "panel"):
            for text in ("ink", "quiet", "good", "bad", "near"):
                assert contrast(colours[text], colours[ground]) >= 7, (text, ground)
        for shape, ground in (
            ("good", "band"),
            ("bad", "ground"),
            ("trail", "ground"),
            ("ink", "band"),
            ("trail", "band"),
            ("near", "band"),
        ):
            assert contrast(colours[shape], colours[ground]) >= 3, (shape, ground)


@pytest.mark.parametrize("job", JOBS)
def test_plain_text_stays_within_its_columns_and_steers_no_terminal(job: str) -> None:
    text = to_text(report_of(JOBS[job]()), ZONE)
    assert all(len(line) <= 100 for line in text.splitlines())
    steering = {c for c in text if unicodedata.category(c) in ("Cc", "Cf", "Cs", "Cn") and c != "\n"}
    assert steering == set()


def test_plain_text_says_the_same_as_the_page() -> None:
    text = " ".join(to_text(report_of(eventful_job()), ZONE).split())
    for d in report_of(eventful_job()).deviations:
        assert sentence(d.text)[1:] in text
    for piece in (
        "9 DEVIATIONS.",
        "Time worked",
        "Light scoring at bolt 3.",
        "1 min 20 s missing",
        "Reason given: part missing.",
    ):
        assert piece in text


@settings(max_examples=60, deadline=None)
@given(st.text(st.characters(exclude_categories=[]), max_size=40))
def test_any_text_is_shown_and_stays_text(text: str) -> None:
    """Every code point there is, in a note and in a name: still a valid page that shows the printable part."""
    p = Play()
    p.begin(by=f"I{text}")
    p.add("noted", step="fit", text=f"[{text}]")
    page = to_html(report_of(p.facts), ZONE)
    (note,) = parsed(page).findall(f".//{HTML}blockquote")
    assert note.text == clean(f"[{text}]")
    page.encode("utf-8")
    to_text(report_of(p.facts), ZONE).encode("utf-8")


def test_a_note_of_a_megabyte_is_shown() -> None:
    p = Play()
    p.begin()
    p.add("noted", step="fit", text="<b>" * 350_000)
    page = to_html(report_of(p.facts), ZONE)
    assert page.count("&lt;b&gt;") > 350_000
    assert "(1050000 characters)" in page


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0, "0 s"),
        (45, "45 s"),
        (60, "1 min"),
        (192, "3 min 12 s"),
        (3600, "1 h"),
        (7505, "2 h 5 min"),
        (90_000, "25 h"),
    ],
)
def test_durations_read_as_they_are_said(seconds: int, text: str) -> None:
    assert span(seconds) == text


def test_values_limits_and_windows_read_well() -> None:
    assert quantity("32.50", "N.m") == "32.50 N·m"
    assert quantity("60", "deg") == "60°"
    assert quantity("-0.02", "mm") == "−0.02 mm"
    assert quantity("3", "furlong") == "3 furlong"
    assert limits("0.10", "0.20", "mm") == "0.10 to 0.20 mm"
    assert limits("5", "", "bar") == "at least 5 bar"
    assert limits("", "2", "degC") == "at most 2 °C"
    assert window(180, 480) == "3 min to 8 min"
    assert window(None, 360) == "at most 6 min"
    assert window(120, None) == "at least 2 min"


def test_times_are_the_readers_and_say_so() -> None:
    """2025-03-04 08:52:33 UTC is 09:52:33 in Berlin in winter; a job over midnight names the day."""
    clock = Clock.over(1_741_078_353.25, 1_741_078_400.0, ZONE)
    assert clock.time(1_741_078_353.25) == "09:52:33"
    assert clock.full(1_741_078_353.25) == "4 Mar 2025, 09:52"
    assert clock.zone_name(1_741_078_353.25) == "UTC+01:00"
    night = Clock.over(1_741_129_000.0, 1_741_132_000.0, ZONE)
    assert night.time(1_741_129_000.0) == "4 Mar 23:56:40"
    assert night.time(1_741_132_000.0) == "5 Mar 00:46:40"
    page = to_html(report_of(good_job()), ZONE)
    assert "09:52:33" in page
    assert "2025-03-04 08:52:33.250 Z" in page
    assert "UTC+01:00" in page


def chromium(folder: Path, *options: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [
            str(CHROMIUM),
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-dev-shm-usage",
            f"--user-data-dir={folder / 'profile'}",
            *options,
        ],
        capture_output=True,
        text=True,
        timeout=120,
    )


class Proxy(threading.Thread):
    """Takes every request a browser would make through it and answers none; `asked`: what it was asked for."""

    def __init__(self) -> None:
        super().__init__(daemon=True)
        self.asked: list[bytes] = []
        self._socket = socket.create_server(("127.0.0.1", 0))
        self.port = self._socket.getsockname()[1]

    def run(self) -> None:
        while True:
            try:
                client, _ = self._socket.accept()
            except OSError:
                return
            with client:
                client.settimeout(5)
                with contextlib.suppress(OSError):
                    self.asked.append(client.recv(4096))

    def close(self) -> None:
        """No more requests."""
        self._socket.close()


@pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed: no browser is watched for requests")
def test_a_real_browser_asks_nobody_for_anything(tmp_path: Path) -> None:
    """Hostile texts with images, frames, styles, sounds and a refresh: the browser goes through a proxy of ours.

    A page that does ask is opened first, so that silence means something. A dialog would hold the browser until it is
    stopped; it ends by itself.
    """
    proxy = Proxy()
    proxy.start()
    through = f"--proxy-server=http://127.0.0.1:{proxy.port}"
    try:
        asking = tmp_path / "asking.html"
        asking.write_text("<!DOCTYPE html><title>x</title><img src=http://bad.example/control>", encoding="utf-8")
        chromium(tmp_path, through, "--dump-dom", asking.as_uri())
        assert any(b"bad.example/control" in asked for asked in proxy.asked), "the proxy sees nothing"
        proxy.asked.clear()
        page = tmp_path / "report.html"
        page.write_text(page_of(hostile_job()), encoding="utf-8")
        shown = chromium(tmp_path, through, "--virtual-time-budget=3000", "--dump-dom", page.as_uri())
        assert shown.returncode == 0, shown.stderr
        assert "bad.example" in shown.stdout, "the hostile text is not shown"
        assert not [asked for asked in proxy.asked if b"bad.example" in asked]
    finally:
        proxy.close()


@pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed: the page is not opened in a browser")
@pytest.mark.parametrize("job", ["every kind", "hostile"])
def test_a_real_browser_shows_and_prints_it(tmp_path: Path, job: str) -> None:
    """Opened, pictured and printed; the title stays what it was, so nothing in the record ran."""
    page = tmp_path / "report.html"
    page.write_text(page_of(JOBS[job]()), encoding="utf-8")
    shown = chromium(tmp_path, "--dump-dom", page.as_uri())
    assert shown.returncode == 0, shown.stderr
    assert "<title>owned</title>" not in shown.stdout
    assert shown.stdout.count("<script") == 0
    assert ">Every fact<" in shown.stdout
    picture, paper = tmp_path / "report.png", tmp_path / "report.pdf"
    assert chromium(tmp_path, "--window-size=1200,1600", f"--screenshot={picture}", page.as_uri()).returncode == 0
    assert picture.read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"
    assert chromium(tmp_path, "--no-pdf-header-footer", f"--print-to-pdf={paper}", page.as_uri()).returncode == 0
    printed = paper.read_bytes()
    assert printed[:5] == b"%PDF-"
    # A4 is 210 mm by 297 mm (ISO 216): 595 by 842 points, which Chromium rounds to its own pixels.
    boxes = {tuple(round(float(n)) for n in box.split()) for box in re.findall(rb"/MediaBox \[([^\]]+)\]", printed)}
    assert all(box[:2] == (0, 0) and abs(box[2] - 595) <= 1 and abs(box[3] - 842) <= 1 for box in boxes)
    assert boxes
