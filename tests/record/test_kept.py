"""A record of fact format 2, kept as the file it was written as, opens, is audited and reported as it was then.

`kept/format2.sqlite` holds one job for each dialogue script of the version that wrote format 2 (file format 2), and
`kept/format2.json` what that version's own audit and report said of each.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from bayvoice.record.sqlite.store import Store
from bayvoice.report.audit import audit_job
from bayvoice.report.render.page import to_html
from bayvoice.report.render.text import to_text
from bayvoice.report.sections.measurements import MEASUREMENTS
from bayvoice.report.summary import procedure_of, summarise

KEPT = Path(__file__).parent / "kept"
THEN: dict[str, dict[str, Any]] = json.loads((KEPT / "format2.json").read_text(encoding="utf-8"))


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """The kept file, where it may be written to."""
    return Path(shutil.copy(KEPT / "format2.sqlite", tmp_path / "bay.sqlite"))


@pytest.fixture
def store(copy: Path) -> Iterator[Store]:
    """Read as it is: nothing in it is lifted."""
    with Store(copy, read_only=True) as opened:
        yield opened


def test_it_holds_every_job_it_held(store: Store) -> None:
    """No job is lost, none is there that was not."""
    assert sorted(store.job_names()) == sorted(THEN)


@pytest.mark.parametrize("name", sorted(THEN))
def test_a_job_is_audited_and_reported_as_it_was(store: Store, name: str) -> None:
    """The same facts, the same fault or none, the same values; what deviated then deviates now."""
    then, facts = THEN[name], store.facts(name)
    assert len(facts) == then["facts"]
    found = audit_job(store, name)
    assert (found.fault.why if found.fault else "") == then["fault"]
    report = summarise(facts, procedure_of(facts))
    assert report.header.state == then["state"]
    assert report.header.steps_done == then["steps_done"]
    assert set(then["people"]) <= set(report.header.people)
    assert [[m.name, m.value, m.unit, m.verdict] for m in MEASUREMENTS.of(report).lines] == then["values"]
    for _, step, reason in then["deviations"]:
        # Today's reason also says who allowed it.
        assert any(one.step == step and one.reason.startswith(reason) for one in report.deviations), (step, reason)
    assert report.header.title in to_text(report)
    assert "<html" in to_html(report)


def test_it_is_lifted_when_it_is_written_to_and_says_the_same(copy: Path) -> None:
    """Its facts stay as they are, to the letter."""
    with Store(copy, read_only=True) as store:
        before = {name: list(store.rows(name)) for name in store.job_names()}
    with Store(copy) as store:
        store.add("values", 1_900_000_000.0, "noted", step="", text="after all", sound="", sha256="", seconds=0)
        after = {name: list(store.rows(name)) for name in store.job_names()}
        assert after["values"][:-1] == before["values"]
        assert {name: rows for name, rows in after.items() if name != "values"} == {
            name: rows for name, rows in before.items() if name != "values"
        }
        assert not store.verify("values")
