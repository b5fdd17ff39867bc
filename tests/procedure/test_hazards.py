"""The hazard table of the procedures that ship is held to the files and to the tests it names."""

from __future__ import annotations

import subprocess
import sys
from functools import cache

import pytest

from bayvoice.dialogue.flow.passing import NEVER_ALONE
from bayvoice.host.datafiles import data_folder, procedure_names, read_procedure
from bayvoice.procedure.model import Caution, Passing, Procedure, Signal, Step
from tests.hazards import Row, rows

INJURE = (Signal.DANGER, Signal.WARNING, Signal.CAUTION)
FILES = ("tests/procedure/test_unwilling.py", "tests/dialogue/test_references.py")


def of(job: str) -> list[Row]:
    return [row for row in rows() if row.job == job]


def step_of(procedure: Procedure, name: str) -> Step | None:
    return next((step for step in procedure.steps if step.id == name), None)


def written(caution: Caution) -> str:
    return f"{caution.signal.value}: {caution.text}"


@cache
def collected() -> frozenset[str]:
    """Names of the tests that pytest finds, with their parameters."""
    root = data_folder("procedures").parent
    command = [sys.executable, "-m", "pytest", "--collect-only", "-q", "-p", "no:cacheprovider", *FILES]
    found = subprocess.run(command, cwd=root, capture_output=True, text=True, check=False)
    return frozenset(line.partition("::")[2] for line in found.stdout.splitlines() if "::" in line)


def test_every_job_that_ships_has_its_table() -> None:
    """And no job is in it that does not ship."""
    assert {row.job for row in rows()} == set(procedure_names())


@pytest.mark.parametrize("job", procedure_names())
def test_every_caution_against_an_injury_is_in_the_table(job: str) -> None:
    """Each DANGER, WARNING and CAUTION of the file, word for word, at its step; none that the file does not have."""
    procedure = read_procedure(job)
    in_file = {("", written(c)) for c in procedure.cautions if c.signal in INJURE}
    in_file |= {(s.id, written(c)) for s in procedure.steps for c in s.cautions if c.signal in INJURE}
    in_table = [(row.step, row.caution) for row in of(job) if row.caution]
    assert sorted(in_table) == sorted(in_file)


@pytest.mark.parametrize("row", rows(), ids=lambda row: f"{row.job}-{row.line}")
def test_a_row_names_a_step_and_a_guard_that_exist(row: Row) -> None:
    """The step; the guard's step with its kind and who may pass it; a finding that stops or leads on, at that step."""
    procedure = read_procedure(row.job)
    assert row.hazard
    assert not row.step or step_of(procedure, row.step) is not None, row.step
    kind, name = row.guard.kind, row.guard.name
    if kind == "finding":
        finding = next((one for one in procedure.findings if one.say == name), None)
        assert finding is not None, name
        assert finding.stop or finding.to
        assert not finding.steps or row.step in finding.steps
        assert row.guard.passing == (finding.passing if finding.stop else None)
        return
    step = step_of(procedure, name)
    assert step is not None, name
    if kind == "said":
        assert row.caution, "nothing is said there"
        assert any(written(c) == row.caution for c in (*step.cautions, *procedure.cautions))
        return
    assert str(step.kind) == kind
    second = kind in NEVER_ALONE and step.passing is Passing.ALONE
    assert row.guard.passing is (Passing.SECOND if second else step.passing)


@pytest.mark.parametrize("row", rows(), ids=lambda row: f"{row.job}-{row.line}")
def test_a_row_names_tests_that_exist_and_try_its_guard(row: Row) -> None:
    """Collected by name; the first is of the row's own guard."""
    assert row.tests
    for name in row.tests:
        assert name in collected(), name
    own = row.job if row.guard.kind == "said" else str(row.guard)
    assert row.tests[0].endswith(f"[{own}]")


@pytest.mark.parametrize("job", procedure_names())
def test_the_makers_instructions_come_first(job: str) -> None:
    """Each job says so before it begins, and gives its sources."""
    procedure = read_procedure(job)
    assert procedure.references
    assert any("is right" in caution.text and "job stops" in caution.text for caution in procedure.cautions)
    assert "invented" in procedure.text
