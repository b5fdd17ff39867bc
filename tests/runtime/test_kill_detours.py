"""A process killed after every single answer works the same job as one that never was: remedies, batches, counts."""

from __future__ import annotations

import re
from pathlib import Path

from bayvoice.dialogue.steps import KINDS
from bayvoice.host.datafiles import read_procedure
from bayvoice.job.facts import Fact
from bayvoice.job.job import Job, fold_all
from bayvoice.record.sqlite.store import Store
from tests.runtime.worker import Worker

PROCEDURE = """
format = 1
title = "Faces and a count"
machine = "Varrow K40 tow tractor"
[[consumable]]
id = "sealant"
name = "flange sealant"
batch = true
shelf_life = true
[[finding]]
say = "cracked bracket"
to = "bracket"
[[step]]
id = "open"
kind = "tally"
say = "Open the case."
opening = "case"
things = ["rag"]
[[step]]
id = "look"
kind = "hold"
say = "Call the foreman."
look = "the gears"
until = "close"
[[step]]
id = "clean"
kind = "check"
say = "Look at the faces."
ask = "Are they clean?"
remedy = "wipe"
tries = 2
[[step]]
id = "bead"
kind = "do"
say = "Lay the bead."
uses = ["sealant"]
[[step]]
id = "lift"
kind = "together"
say = "Lift the cover on."
beats = 2
ask = "Does it sit?"
[[step]]
id = "close"
kind = "tally"
say = "Count everything out."
opening = "case"
close = true
[[step]]
id = "brush"
kind = "do"
say = "Brush the face."
aside = "wipe"
[[step]]
id = "dry"
kind = "do"
say = "Blow it dry."
aside = "wipe"
[[step]]
id = "brace"
kind = "do"
say = "Bolt the spare bracket on."
aside = "bracket"
"""
ANSWERS = (
    "parts list",
    "have it",
    "batch LF-77",
    "yes",
    "2030-01",
    "yes",
    "count in rag two",
    "next",
    "later",
    "no",
    "next",
    "found cracked bracket",
    "next",
    "next",
    "yes",
    "next",
    "yes",
    "yes",
    "sign foreman",
    "next",
    "skip step",
    "searched by Kofi with a lamp",
    "sign Ruth",
    "searched and not found",
)
"""What is open between two answers only in the dialogue (a read-back, a reason) is lost in a kill and asked again; it
is answered in one breath here."""
BREATHS = ((0, 1, 2, 3, 4, 5), *((n,) for n in range(6, 16)), (16, 17), (18,), (19,), (20,), (21,), (22, 23))


def quiet(worker: Worker) -> None:
    """Until what was typed has been dealt with and the product waits."""
    while True:
        line = worker.line()
        assert line is not None, worker.process.stderr.read() if worker.process.stderr else ""
        assert "what" in line, line
        if line["what"] in ("listens", "ends"):
            return


def work(store: Path, procedure: Path, *, kill: bool) -> tuple[list[Fact], list[str]]:
    """The facts of the job, and the steps read aloud by each process that took it up."""
    worker: Worker | None = None
    taken_up: list[str] = []
    for breath in BREATHS:
        if worker is None:
            worker = Worker(store, "--people", "Imre,Kofi,Ruth", procedure=procedure)
            quiet(worker)
            said = [line["text"] for line in worker.lines if line["what"] == "says"]
            taken_up.append(next((text for text in reversed(said) if re.match(r"Step \d+\. ", text)), ""))
        for n in breath:
            worker.type(ANSWERS[n])
            quiet(worker)
        if kill:
            worker.kill()
            worker = None
    if worker is not None:
        worker.kill()
    with Store(store, read_only=True) as record:
        assert record.verify("short") is None
        return record.facts("short"), taken_up


def bodies(facts: list[Fact]) -> list[tuple[str, object]]:
    """What happened in the job, without who sat at it when."""
    return [(fact.kind, fact.body) for fact in facts if fact.kind not in ("sitting_began", "sitting_left")]


def test_killed_after_every_answer_the_job_is_the_same(tmp_path: Path) -> None:
    """Fact by fact; and each process takes the job up where the facts say it stands, in a remedy too."""
    procedure = tmp_path / "faces.toml"
    procedure.write_text(PROCEDURE, encoding="utf-8")
    whole, _ = work(tmp_path / "whole.sqlite", procedure, kill=False)
    cut, taken_up = work(tmp_path / "cut.sqlite", procedure, kill=True)
    assert whole[-1].kind == "job_done", [fact.kind for fact in whole]
    assert bodies(cut) == bodies(whole)
    kinds = {fact.kind for fact in whole}
    assert {"listed", "batch", "deferred", "branched", "found", "searched", "moved_together", "overridden"} <= kinds
    steps = read_procedure(procedure).steps
    job = Job("short", read_procedure(procedure), KINDS)
    stood = []
    for fact in cut:
        if fact.kind == "sitting_began" and job.current is not None:
            stood.append(steps[job.step].say)
        job = fold_all(job, [fact])
    assert [text.split(". ", 1)[1] for text in taken_up[1:]] == stood
    assert {"Brush the face.", "Bolt the spare bracket on.", "Blow it dry."} <= set(stood), "killed in asides too"
