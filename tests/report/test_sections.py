"""A section of the report is one object: added to the tuple it is everywhere, and no other file knows of it."""

from __future__ import annotations

import ast
import csv
import io
import json
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC
from itertools import pairwise
from pathlib import Path

import html5lib
import pytest

import bayvoice.report
from bayvoice.job.facts import Fact
from bayvoice.procedure.model import Do, Step
from bayvoice.report.base.blocks import Block, Table, step_name
from bayvoice.report.base.common import Common, text
from bayvoice.report.base.judging import deviation, undone
from bayvoice.report.base.markup import Markup, el
from bayvoice.report.base.model import Chain, Deviation, StepLine
from bayvoice.report.base.pictures import svg
from bayvoice.report.base.section import Fold, Found, JobReport, Section
from bayvoice.report.base.words import Clock, one_line
from bayvoice.report.render.csv import to_csv
from bayvoice.report.render.json import to_json
from bayvoice.report.render.page import to_html
from bayvoice.report.render.text import to_text
from bayvoice.report.sections import SECTIONS
from bayvoice.report.summary import procedure_of, summarise
from tests.report.every_kind import every_kind_job
from tests.report.whole_job import PROCEDURE, Play, eventful_job, good_job

REPORT = Path(bayvoice.report.__file__).parent
HTML = "{http://www.w3.org/1999/xhtml}"


@dataclass(frozen=True)
class Greasing:
    """One nipple that was greased."""

    step: str
    number: int
    nipple: str
    strokes: str
    wall: float
    seq: int


def _greased(state: list[Greasing], common: Common, fact: Fact) -> None:
    nipple, strokes = text(fact.body, "nipple"), text(fact.body, "strokes")
    state.append(Greasing(*common.at(fact), nipple, strokes, fact.wall, fact.seq))


class Grease(Section[list[Greasing]]):
    """A section the product does not have, with everything a section may have."""

    key = "grease"
    title = "Greased by hand"

    def begin(self, common: Common) -> list[Greasing]:
        """None."""
        return []

    def folds(self) -> Mapping[str, Fold[list[Greasing]]]:
        """A nipple."""
        return {"greased": _greased}

    def deviations(self, found: Found) -> Iterator[Deviation]:
        """Nipples that take no grease."""
        for one in self.of(found):
            if one.strokes == "0":
                what = f"{one_line(one.nipple)} takes no grease"
                yield deviation(found.common, "blocked", one.step, what, one.seq, level="value")

    def missing(self, found: Found, line: StepLine, step: Step) -> Iterator[Deviation]:
        """Grease, in a step that asks for it."""
        if isinstance(step.detail, Do) and "faces" in step.say and not self.of(found):
            yield undone(found.common, line, "no nipple is recorded")

    def remarks(self, report: JobReport, clock: Clock) -> Iterator[str]:
        """How many there were."""
        if self.of(report):
            yield f"{len(self.of(report))} nipples were greased by hand"

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A row a nipple."""
        rows = tuple(
            (step_name(g.number, g.step), one_line(g.nipple), one_line(g.strokes), clock.time(g.wall))
            for g in self.of(report)
        )
        return (Table("Nipples and strokes of the gun", ("Step", "Nipple", "Strokes", "At"), rows),)

    def picture(self, report: JobReport, clock: Clock) -> Markup:
        """A dot."""
        return el("figure", svg("two nipples in a row", [el("circle", cx=5, cy=5, r=4)], 10, 10))

    def data(self, report: JobReport) -> Mapping[str, object]:
        """Every nipple."""
        return {self.key: tuple(self.of(report))}

    def records(self, report: JobReport) -> Iterator[Mapping[str, str]]:
        """A row a nipple."""
        for one in self.of(report):
            yield {"kind": self.key, "name": one.nipple, "value": one.strokes, "text": self.title}


def greased_job() -> list[Fact]:
    p = Play("K40-0400")
    p.begin()
    p.plain("isolate")
    p.enter("scrape")
    for nipple, strokes in (("king pin", "3"), ("drag link", "0")):
        p.wall += 20
        body = {"step": "scrape", "nipple": nipple, "strokes": strokes}
        p.facts.append(Fact(len(p.facts) + 1, p.wall, "greased", body))
    p.leave("scrape")
    return p.facts


def report_of(facts: list[Fact], *more: Section[list[Greasing]]) -> JobReport:
    """With further sections before the list of all facts."""
    sections = (*SECTIONS[:-1], *more, SECTIONS[-1])
    return summarise(facts, procedure_of(facts), Chain(True), sections)


def test_a_section_that_is_added_is_on_page_and_text_in_csv_and_json() -> None:
    """Nothing but the object and the tuple: title, table, picture, deviation, remark, records and data."""
    report = report_of(greased_job(), Grease())
    page, plain = to_html(report, UTC), to_text(report, UTC)
    tree = html5lib.HTMLParser(strict=True).parse(page)
    assert "Greased by hand" in [head.text for head in tree.findall(f".//{HTML}h2")]
    assert "Nipples and strokes of the gun" in [caption.text for caption in tree.findall(f".//{HTML}caption")]
    assert 'aria-label="two nipples in a row"' in page
    lines = plain.splitlines()
    at = lines.index("Greased by hand")
    assert lines[at + 1 : at + 3] == ["-" * 15, "Nipples and strokes of the gun:"]
    assert [line.split()[:3] for line in lines[at + 4 : at + 6]] == [["8", "king", "pin"], ["8", "drag", "link"]]
    for shown in (page, plain):
        assert "drag link takes no grease" in shown
        assert "2 nipples were greased by hand" in shown
        assert shown.index("Greased by hand") < shown.index("Every fact")
    assert [(d.kind, d.level, d.text) for d in report.deviations] == [("blocked", "value", "drag link takes no grease")]
    rows = [row for row in csv.DictReader(io.StringIO(to_csv(report), newline="")) if row["kind"] == "grease"]
    assert [(row["name"], row["value"], row["text"]) for row in rows] == [
        ("king pin", "3", "Greased by hand"),
        ("drag link", "0", "Greased by hand"),
    ]
    whole = json.loads(json.dumps(to_json(report)))
    assert [(one["nipple"], one["strokes"]) for one in whole["grease"]] == [("king pin", "3"), ("drag link", "0")]


def test_without_it_the_report_is_as_before() -> None:
    """The same facts: a kind of fact nobody knows is named, and nothing is lost."""
    report = report_of(greased_job())
    assert "Greased by hand" not in to_html(report, UTC)
    assert "grease" not in to_json(report)
    assert "Kinds of fact this version does not know: greased." in to_text(report, UTC)


def test_a_section_is_asked_what_a_step_left_as_done_still_lacks() -> None:
    p = Play()
    p.begin()
    p.plain("scrape")
    assert [d.text for d in report_of(p.facts, Grease()).deviations] == ["left as done, and no nipple is recorded"]
    assert report_of(p.facts).deviations == ()


@pytest.mark.parametrize("job", [good_job, eventful_job, every_kind_job])
def test_page_and_text_have_the_same_titles_in_the_same_order(job: object) -> None:
    assert callable(job)
    report = report_of(job())
    tree = html5lib.HTMLParser(strict=True).parse(to_html(report, UTC))
    page = [head.text for head in tree.findall(f".//{HTML}h2")]
    lines = to_text(report, UTC).splitlines()
    plain = [one for one, under in pairwise(lines) if under and set(under) == {"-"}]
    assert page == plain
    assert set(page) <= {section.title for section in SECTIONS}
    assert page[-1] == "Every fact"


def test_no_two_sections_have_a_name_in_common() -> None:
    keys, report = Counter(section.key for section in SECTIONS), report_of(eventful_job())
    titles = Counter(section.title for section in SECTIONS)
    data = Counter(key for section in SECTIONS for key in section.data(report))
    assert max(*keys.values(), *titles.values(), *data.values()) == 1
    assert PROCEDURE.title == report.header.title


def names_in(path: Path) -> set[str]:
    """Every module and name that a file imports."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    return found


def test_no_renderer_and_no_base_knows_a_section() -> None:
    wrong = [
        f"{path.name}: {name}"
        for room in ("render", "base")
        for path in (REPORT / room).glob("*.py")
        for name in names_in(path)
        if name.startswith("bayvoice.report.sections")
    ]
    assert wrong == []


def test_what_is_not_in_order_is_marked_and_nothing_else() -> None:
    """A sum is asked for, not judged: it is never marked."""
    tree = html5lib.HTMLParser(strict=True).parse(to_html(report_of(every_kind_job()), UTC))
    marked = [cell.text for cell in tree.findall(f".//{HTML}td[@class='off']")]
    assert sorted(marked) == sorted(
        [
            *["too close to call", "too high", "late", "not in order", "not new", "missing", "1"],
            *["out of date", "out of date", "64 N·m, too high"],
        ]
    )


DETAILS = ("Check", "Measure", "Fasten", "Wait", "Replace", "Tally", "Hold", "Together")
"""What a step asks for, by the class that holds it."""


def test_what_a_kind_of_step_asks_for_only_the_section_of_its_subject_knows() -> None:
    """Each kind of detail is named in one module of the sections; the audit has rules of its own."""
    details = {f"bayvoice.procedure.model.{name}" for name in DETAILS}
    known = Counter(name for path in (REPORT / "sections").glob("*.py") for name in names_in(path) & details)
    assert known == dict.fromkeys(details, 1)
    elsewhere = [
        path.name
        for path in (*REPORT.glob("*.py"), *(REPORT / "base").glob("*.py"), *(REPORT / "render").glob("*.py"))
        if path.name not in ("asked.py", "proof.py") and names_in(path) & details
    ]
    assert elsewhere == []
