"""A job says once, and its report always, that "stop" is no emergency stop."""

from __future__ import annotations

from datetime import UTC

from bayvoice.dialogue.engine.events import Began
from bayvoice.host.datafiles import read_procedure
from bayvoice.report.base.model import Chain
from bayvoice.report.render.page import to_html
from bayvoice.report.render.text import to_text
from bayvoice.report.summary import procedure_of, summarise
from tests.report.whole_job import good_job
from tests.stage import Stage


def test_the_opening_says_it_once_and_taking_up_does_not() -> None:
    """At the beginning of a fresh job; the next technician of the same job has heard of it."""
    stage = Stage(read_procedure("k40-transfer-cover"), ("Imre", "Dalia"))
    stage.take(Began(stage.at, "Imre"))
    assert sum("no emergency stop" in text for text in stage.said) == 1
    stage.said.clear()
    stage.mono += 60.0
    stage.take(Began(stage.at, "Dalia"))
    assert stage.said
    assert not any("emergency" in text for text in stage.said)


def test_reports_say_it() -> None:
    """On the page and in the terminal."""
    facts = good_job()
    report = summarise(facts, procedure_of(facts), Chain(True))
    assert to_html(report, UTC).count("It is no emergency stop") == 1
    assert " ".join(to_text(report, UTC).split()).count("It is no emergency stop") == 1
