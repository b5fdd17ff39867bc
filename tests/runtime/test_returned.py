"""The foreman gives a job back; whoever takes it up through the command line hears why, once, and that is recorded."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bayvoice.cli.main import main
from bayvoice.record.sqlite.store import Store
from bayvoice.report.audit import audit_job
from tests.runtime.worker import Worker


def finished(store: Path) -> Worker:
    """The short job worked to its end, and left."""
    worker = Worker(store)
    assert worker.work()
    assert worker.process.stdin is not None
    worker.process.stdin.close()
    assert worker.process.wait(30) == 0
    return worker


def test_a_returned_job_is_taken_up_with_the_remark(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The same command that began it finds it again; a job that is done and not returned would begin anew."""
    store = tmp_path / "bay.sqlite"
    finished(store)
    assert main(("report", "short", "--return", "Ruth", "--remark", "Wipe the cap.", "--store", str(store))) == 0
    again = Worker(store)
    while (line := again.line()) is not None and line.get("fact") != "remark_heard":
        pass
    assert line is not None, "the remark was never recorded as heard"
    said = [one["text"] for one in again.lines if one["what"] == "says"]
    assert "Ruth has returned this job and says: Wipe the cap." in said
    assert any(text.startswith("Step 11. ") for text in said), "the last step is not open again"
    again.type("sign foreman")
    while (line := again.line()) is not None and not line.get("text", "").startswith("All steps are done"):
        pass
    assert line is not None
    again.kill()
    third = Worker(store)
    while (line := third.line()) is not None and not line.get("text", "").startswith("All steps are done"):
        assert "has returned" not in line.get("text", "")
    third.kill()
    capsys.readouterr()
    assert main(("report", "short", "--sign", "Ruth", "--store", str(store))) == 0
    assert main(("report", "short", "--json", "--store", str(store))) == 0
    words = json.loads(capsys.readouterr().out.partition("\n")[2])["words"]
    assert [(word["kind"], word["heard"] is not None) for word in words] == [("returned", True), ("signed_off", False)]
    with Store(store, read_only=True) as record:
        assert audit_job(record, "short").fault is None


def test_copies_and_retention_from_the_command_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    store, copy, back = (str(tmp_path / name) for name in ("bay.sqlite", "copy.sqlite", "back.sqlite"))
    finished(Path(store))
    assert main(("jobs", "--backup", copy, "--store", store)) == 0
    assert "1 job, " in capsys.readouterr().out
    assert main(("jobs", "--backup", copy, "--store", store)) == 2
    assert "there already" in capsys.readouterr().err
    assert main(("jobs", "--restore", copy, "--store", back, "--json")) == 0
    assert json.loads(capsys.readouterr().out)["jobs"] == 1
    assert main(("jobs", "--restore", copy, "--store", back)) == 2
    assert "a record here already" in capsys.readouterr().err
    with Store(store, read_only=True) as one, Store(back, read_only=True) as other:
        assert one.facts("short") == other.facts("short")
    assert main(("jobs", "--retain", "1", "--store", back)) == 0
    assert capsys.readouterr().out == "Nothing is older than 1 day.\n"
    assert main(("jobs", "--retain", "0", "--store", back)) == 2
    assert "less than a day" in capsys.readouterr().err
    assert main(("audit", "--all", "--store", back)) == 0
