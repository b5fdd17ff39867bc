"""A process that is killed at any moment loses nothing that it announced, and the job goes on where it was."""

from __future__ import annotations

import random
import time
from pathlib import Path

from bayvoice.dialogue.steps import KINDS
from bayvoice.host.datafiles import read_procedure
from bayvoice.job.job import Job, fold_all
from bayvoice.record.sqlite.store import Store
from tests.runtime.worker import SHORT, Worker

KILLS = 60


def test_killed_at_sixty_random_points(tmp_path: Path) -> None:
    """Each time: every fact printed as kept is in the record, and every spoken "Logged" stands on such a fact."""
    rng = random.Random(20261125)
    store_path = tmp_path / "bay.sqlite"
    kills = jobs = taken_up = logged = 0
    kept: dict[int, tuple[str, object]] = {}
    while kills < KILLS:
        worker = Worker(store_path)
        try:
            expected = step_on_record(store_path)
            done = worker.work(lines=rng.randint(1, 45))
            time.sleep(rng.uniform(0.0, 0.004))
        finally:
            worker.kill()
        kills += 1
        read = [line["text"] for line in worker.lines if line["what"] == "says" and line["text"].startswith("Step ")]
        if expected and read:
            assert expected in read[0], "taken up at another step"
            taken_up += 1
        for line in worker.lines:
            if line["what"] == "kept":
                kept[line["seq"]] = (line["fact"], line["body"])
        with Store(store_path, read_only=True) as store:
            facts = {f.seq: (f.kind, f.body) for f in store.facts("short")}
            assert store.verify("short") is None
        assert all(facts.get(seq) == fact for seq, fact in kept.items()), "something announced as kept is lost"
        said = {line["text"] for line in worker.lines if line["what"] == "says"}
        if any(text.startswith("Logged: end float") for text in said):
            assert any(kind == "measured" for kind, _ in facts.values())
            logged += 1
        if done:
            jobs += 1
            store_path = tmp_path / f"bay-{jobs}.sqlite"
            kept.clear()
    assert jobs, "no job came to its end between the kills"
    assert taken_up > KILLS // 3, "hardly any job was taken up again after a kill"
    assert logged, "no value was announced as logged before a kill"


def step_on_record(store_path: Path) -> str:
    """What the record says is to be done next, in the words it is read aloud with; "" for a job not begun or done."""
    if not store_path.exists():
        return ""
    with Store(store_path, read_only=True) as store:
        facts = store.facts("short")
    procedure = read_procedure(SHORT)
    job = fold_all(Job("short", procedure, KINDS), facts)
    if job.current is None:
        return ""
    # The process may have died between recording a step as done and beginning the next one.
    index = job.step + (job.current.id in job.done)
    return procedure.steps[index].say if index < len(procedure.steps) else ""
