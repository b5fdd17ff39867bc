"""The command line as a stranger uses it: what goes wrong gets one sentence, what goes right gets its answer."""

from __future__ import annotations

import ctypes.util
import json
import wave
from pathlib import Path

import pytest

from tests.runtime.command import bayvoice
from tests.runtime.worker import SHORT, Worker


@pytest.fixture(scope="module")
def worked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A record with one whole job, worked through the command line by typed words."""
    store = tmp_path_factory.mktemp("worked") / "bay.sqlite"
    worker = Worker(store)
    assert worker.work()
    assert worker.process.stdin is not None
    worker.process.stdin.close()
    assert worker.process.wait(30) == 0
    return store


NO_TAPE = ("work", "k40-transfer-cover", "--screen", "off", "--mic", "{tmp}/none.wav", "--store", "{tmp}/bay.sqlite")

WRONG: list[tuple[tuple[str, ...], int, str]] = [
    (("work", "no-such-job", "--screen", "off", "--mic", "off"), 2, "there is no such procedure"),
    (NO_TAPE, 2, "the recording cannot be read"),
    (("work", "k40-transfer-cover", "--store", "{tmp}/x.sqlite"), 2, "there is no terminal to draw on"),
    (("work", "k40-transfer-cover", "--screen", "off", "--mic", "off", "--store", "/proc/x/y"), 2, "cannot be opened"),
    (("report", "nobody", "--store", "{tmp}/none.sqlite"), 2, "there is no job record here"),
    (("jobs", "--store", "{tmp}"), 2, "this is not a file"),
    (("jobs", "--store", "{here}"), 2, "this is not a job record"),
    (("vet", "{tmp}", "{tmp}/none.toml", "{here}"), 1, "not valid TOML"),
    (("hear", "{here}"), 2, "this is not a WAV file"),
    (("hear", "{tmp}/none.wav"), 2, "cannot be read"),
    (("hear", "--state", "kitchen", "x.wav"), 2, "there is no dialogue state"),
    (("dance",), 2, "invalid choice"),
    ((), 2, "required"),
]


@pytest.mark.parametrize(
    ("args", "status", "told"), WRONG, ids=lambda v: " ".join(v)[:40] if isinstance(v, tuple) else None
)
def test_what_goes_wrong_gets_a_sentence(args: tuple[str, ...], status: int, told: str, tmp_path: Path) -> None:
    """Never a traceback, and the exit status says that it went wrong."""
    done = bayvoice(*(a.format(tmp=tmp_path, here=__file__) for a in args), data=tmp_path / "data")
    assert done.returncode == status
    assert told in done.stdout + done.stderr
    assert "Traceback" not in done.stderr


def test_a_microphone_that_is_not_there_begins_no_job(tmp_path: Path) -> None:
    """The record stays as it was."""
    bayvoice(*(a.format(tmp=tmp_path) for a in NO_TAPE))
    assert not (tmp_path / "bay.sqlite").exists()


def test_report_jobs_and_audit_of_a_whole_job(worked: Path, tmp_path: Path) -> None:
    """The foreman's commands, for people and for programs."""
    jobs = json.loads(bayvoice("jobs", "--store", worked, "--json").stdout)["jobs"]
    assert [(j["job"], j["state"]) for j in jobs] == [("short", "done")]
    report = json.loads(bayvoice("report", "short", "--store", worked, "--json").stdout)
    assert report["result"] == "in order"
    text = bayvoice("report", "short", "--store", worked, "--text").stdout
    assert "Hub cap, off and on" in text
    assert "end float" in text
    page = tmp_path / "short.html"
    assert bayvoice("report", "short", "--store", worked, "--out", page).stdout.strip() == str(page)
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    audit = bayvoice("audit", "--store", worked)
    assert audit.returncode == 0
    assert "every fact holds" in audit.stdout


def test_a_second_sitting_on_the_same_job_is_refused(tmp_path: Path) -> None:
    """Two bays on one job would mix their facts."""
    store = tmp_path / "bay.sqlite"
    first = Worker(store)
    while (line := first.line()) is not None and line.get("fact") != "step_entered":
        pass
    second = bayvoice("work", SHORT, "--job", "short", "--screen", "off", "--mic", "off", "--store", store)
    first.kill()
    assert second.returncode == 2
    assert "Imre" in second.stderr
    assert "Traceback" not in second.stderr


def test_a_changed_procedure_does_not_change_a_job_in_progress(tmp_path: Path) -> None:
    """The job stays on the version it began with, says so, and records that the file differs."""
    procedure, store = tmp_path / "short-job.toml", tmp_path / "bay.sqlite"
    procedure.write_bytes(SHORT.read_bytes())
    first = Worker(store, procedure=procedure)
    first.work(lines=12)
    first.kill()
    procedure.write_text(procedure.read_text().replace("Loosen the bolts.", "Loosen the studs."))
    again = Worker(store, procedure=procedure)
    assert again.work() is True
    again.kill()
    said = [line["text"] for line in again.lines if line["what"] == "says"]
    assert any("stays on the version it began with" in text for text in said)
    assert not any("studs" in text for text in said)
    report = json.loads(bayvoice("report", "short", "--store", store, "--json").stdout)
    assert "procedure" in json.dumps(report["deviations"]).lower()


def test_a_procedure_that_has_gone_does_not_stop_a_job_in_progress(tmp_path: Path) -> None:
    """The record holds the procedure's text."""
    procedure, store = tmp_path / "short-job.toml", tmp_path / "bay.sqlite"
    procedure.write_bytes(SHORT.read_bytes())
    first = Worker(store, procedure=procedure)
    first.work(lines=8)
    first.kill()
    procedure.unlink()
    again = Worker(store, procedure=procedure)
    assert again.work() is True
    again.kill()


def test_hear_prints_one_object_for_each_utterance(tmp_path: Path) -> None:
    """A file without speech still gives its line."""
    path = tmp_path / "silence.wav"
    with wave.open(str(path), "wb") as out:
        out.setparams((1, 2, 16_000, 0, "NONE", ""))
        out.writeframes(bytes(32_000))
    line = json.loads(bayvoice("hear", path, "--json").stdout)
    assert line["intent"] is None
    assert line["why"] == "no speech found"
    assert {"file", "engine", "text", "intent", "value", "unit", "margin", "began_s", "ended_s", "why"} <= set(line)


def test_a_full_disk_is_said_and_the_job_waits_for_room(tmp_path: Path) -> None:
    """Nothing is announced as logged that could not be written; the process lives on, and so does what was kept."""
    store = tmp_path / "bay.sqlite"
    worker = Worker(store, most_bytes=100_000)
    for _ in range(400):
        worker.type("note the same place again and again, to fill what little room there is")
    while (line := worker.line()) is not None and line["what"] != "not kept":
        pass
    assert line is not None, "the disk never filled up"
    while (line := worker.line()) is not None and "can't be written" not in line.get("text", ""):
        pass
    assert worker.process.poll() is None
    worker.kill()
    kept = [line for line in worker.lines if line["what"] == "kept"]
    report = json.loads(bayvoice("report", "short", "--store", store, "--json").stdout)
    assert len(report["facts"]) >= len(kept)


def test_without_a_microphone_it_says_so(tmp_path: Path) -> None:
    """No sound card and no sound server: one sentence and status 2, with PortAudio and without it."""
    if any(Path("/proc/asound").glob("card[0-9]*")):
        pytest.skip("this machine has a sound card")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PULSE_SERVER", f"unix:{tmp_path}/none")
        done = bayvoice(
            "work", SHORT, "--screen", "off", "--speaker", "off", "--mic", "live", "--store", tmp_path / "bay.sqlite"
        )
    assert done.returncode == 2, done.stdout
    (told,) = done.stderr.strip().splitlines()
    wanted = "there is no microphone" if ctypes.util.find_library("portaudio") else "PortAudio is not installed"
    assert wanted in told
