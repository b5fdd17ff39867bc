"""What is put down without being judged: vetted, refused where it is wrong, worked by words, and in every report."""

from __future__ import annotations

import json

import pytest

from bayvoice.dialogue.steps import KINDS
from bayvoice.procedure.load import load_text
from bayvoice.procedure.mistakes import BadProcedure
from bayvoice.procedure.vet import vet
from bayvoice.report.base.model import Chain
from bayvoice.report.proof import Proof
from bayvoice.report.render.csv import to_csv
from bayvoice.report.render.json import to_json
from bayvoice.report.render.page import to_html
from bayvoice.report.render.text import to_text
from bayvoice.report.summary import loaded, procedure_of, summarise
from bayvoice.report.top import unknown_line
from tests.stage import SCRIPTS, Stage, play

HEAD = 'format = 1\ntitle = "Pump"\nmachine = "Varrow K40"\n[[step]]\nid = "a"\nsay = "Read it."\n'


def mistakes(step: str) -> list[tuple[str, str]]:
    """(key, what is wrong) of a job of one such step."""
    with pytest.raises(BadProcedure) as caught:
        load_text(HEAD + step, "pump.toml", KINDS)
    return [(one.key, one.what) for one in caught.value.mistakes]


@pytest.mark.parametrize(
    ("step", "key", "what"),
    [
        ('kind = "read"\nas = "text"\n', "name", "missing"),
        ('kind = "read"\nname = "serial number"\n', "as", "missing"),
        ('kind = "read"\nname = "serial number"\nas = "word"\n', "as", "no sort of reading"),
        ('kind = "read"\nname = "running hours"\nas = "number"\n', "unit", "missing"),
        ('kind = "read"\nname = "running hours"\nas = "number"\nunit = "hours"\n', "unit", "no unit"),
        ('kind = "read"\nname = "serial number"\nas = "text"\nunit = "mm"\n', "unit", "a text has no unit"),
        ('kind = "read"\nname = "serial #"\nas = "text"\n', "name", "cannot be spoken"),
        ('kind = "choose"\noptions = ["size a", "size b"]\n', "name", "missing"),
        ('kind = "choose"\nname = "class"\n', "options", "missing"),
        ('kind = "choose"\nname = "class"\noptions = "size a"\n', "options", "where a list belongs"),
        ('kind = "choose"\nname = "class"\noptions = ["size a"]\n', "options", "the number of options is 1"),
        ('kind = "choose"\nname = "class"\noptions = ["size a", "Size A"]\n', "options", "given twice"),
        ('kind = "choose"\nname = "class"\noptions = ["size a", "size-a"]\n', "options", "is said like"),
        ('kind = "choose"\nname = "class"\noptions = ["size a", "# b"]\n', "options", "cannot be spoken"),
        ('kind = "read"\nname = "hours"\nas = "number"\nunit = "h"\nlow = 1\n', "low", "does not belong"),
    ],
)
def test_what_is_wrong_is_named(step: str, key: str, what: str) -> None:
    """One sentence, at its key."""
    found = mistakes(step)
    assert [each for each, _ in found] == [key]
    assert what in found[0][1]


def test_vetting_lists_them_and_remarks_on_a_name_said_twice() -> None:
    """With how each is read off."""
    twice = 'kind = "read"\nname = "plate"\nas = "text"\n[[step]]\nid = "b"\nsay = "Read."\n'
    found = vet(load_text(HEAD + twice + 'kind = "read"\nname = "Plate"\nas = "text"\n', "pump.toml", KINDS))
    assert "1. plate, spelled or typed" in "\n".join(found.lines())
    assert "reads off" in "\n".join(found.lines())


def report_of(stage: Stage) -> dict[str, str]:
    """The report of what was played, in each form."""
    report = summarise(stage.facts, procedure_of(stage.facts), Chain(True))
    assert not unknown_line(report)
    forms = {"page": to_html(report), "text": to_text(report), "csv": to_csv(report)}
    return {**forms, "json": json.dumps(to_json(report))}


def proved(stage: Stage) -> list[str]:
    """What the proof finds wrong in the facts."""
    proof = Proof("job-1", loaded, KINDS.facts)
    return [why for fact in stage.facts if (why := proof.take(fact.seq, fact.wall, fact.kind, fact.body)[1])]


def test_what_was_read_off_is_in_every_report() -> None:
    """Each entry with who put it down; one that a later entry replaced says so; the record proves itself."""
    stage = play(SCRIPTS / "read.script")
    found = report_of(stage)
    for form, text in found.items():
        assert "running hours" in text, form
        assert "4210" in text, form
        assert "K40-19" in text, form
        assert "K40-7-030" in text, form
    assert "Particulars" in found["page"]
    assert "replaced" in found["text"]
    rows = json.loads(found["json"])["particulars"]
    assert [(row["step"], row["value"]) for row in rows] == [
        ("hours", "4210 h"),
        ("serial", "K40-19"),
        ("serial", "K40-7-030"),
    ]
    assert proved(stage) == []


def test_what_was_chosen_is_in_every_report() -> None:
    """The choice that stands and those before it."""
    stage = play(SCRIPTS / "choose.script")
    found = report_of(stage)
    for form, text in found.items():
        assert "size class" in text, form
        assert "next grade" in text, form
    rows = json.loads(found["json"])["particulars"]
    assert [(row["step"], row["value"]) for row in rows] == [
        ("class", "size C"),
        ("oil", "next grade"),
        ("class", "size a"),
    ]
    assert "was put down as size C" in found["text"]
    assert proved(stage) == []


def test_a_fact_without_its_keys_does_not_hold() -> None:
    """As of any other kind of fact."""
    stage = play(SCRIPTS / "read.script")
    fact = next(fact for fact in stage.facts if fact.kind == "read")
    del fact.body["text"]
    assert proved(stage) == ["a fact of this kind says text, and this one does not"]


def test_a_step_left_as_done_without_it_deviates() -> None:
    """A record that says so was not made by this product's dialogue."""
    stage = play(SCRIPTS / "read.script")
    facts = [fact for fact in stage.facts if fact.kind != "read"]
    report = summarise(facts, procedure_of(facts), Chain(True))
    assert "left as done, and no pump serial number is recorded" in [one.text for one in report.deviations]
