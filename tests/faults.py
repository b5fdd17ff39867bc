"""A process that keeps facts and is killed with SIGKILL at a random moment, often while it commits.

Shared by the test of the record and by ``python -m tests.bench.faults``.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.record.sqlite.store import Store
from bayvoice.report.audit import audit_file, audit_job
from tests.report.whole_job import BEGAN, good_job

ROOT: Final = Path(__file__).parents[1]
JOB: Final = "K40-0117"

_CHILD: Final = """
import os, random, signal, sys, threading, time
from bayvoice.job.facts import Fact
from bayvoice.record.sqlite.store import Store
from bayvoice.errors import BayError
from tests.faults import fact_at

def kill_after(seconds):
    time.sleep(seconds)
    os.kill(os.getpid(), signal.SIGKILL)

place, appends, delay = sys.argv[1], int(sys.argv[2]), float(sys.argv[3])
store = Store(place)
seq = len(store.facts("K40-0117"))
for n in range(appends + 1):
    seq += 1
    if n == appends:
        # SQLite lets go of the interpreter while it commits, so this thread strikes inside the commit too.
        threading.Thread(target=kill_after, args=(delay,), daemon=True).start()
    os.write(1, b"begin %d\\n" % seq)
    try:
        store.append("K40-0117", fact_at(seq))
    except BayError as error:
        os.write(1, b"refused %d\\n" % seq)
        seq -= 1
        continue
    os.write(1, b"kept %d\\n" % seq)
time.sleep(60)
"""


def fact_at(seq: int) -> Fact:
    """Fact `seq` of the job: its own first ones, then notes of changing length."""
    facts = good_job(JOB)[:2]
    if seq <= len(facts):
        return facts[seq - 1]
    text = f"note {seq} " + "x" * (seq * 97 % 3000)
    body = {"step": "isolate", "text": text, "sound": "", "sha256": "", "seconds": 0}
    return Fact(seq, BEGAN + seq, "noted", body)


@dataclass
class Tally:
    """What happened over many kills.

    Attributes:
        kills: processes killed; inside: of these, between the beginning and the answer of an append.
        refused: appends refused because the disk was full.
        announced: facts that were announced as kept.
        lost, doubled, altered: announced facts that were not there afterwards, twice there, or other than written.
        unopened, unproven: times the record did not open, or its audit did not pass.
    """

    kills: int = 0
    inside: int = 0
    refused: int = 0
    announced: int = 0
    lost: int = 0
    doubled: int = 0
    altered: int = 0
    unopened: int = 0
    unproven: int = 0

    @property
    def whole(self) -> bool:
        """Nothing was lost, doubled or altered; the record opened and its audit passed every time."""
        return not (self.lost or self.doubled or self.altered or self.unopened or self.unproven)

    def line(self) -> str:
        """All in one line."""
        return (
            f"{self.kills} kills, {self.inside} of them inside a commit, {self.refused} facts refused on a full disk; "
            f"{self.announced} facts announced: {self.lost} lost, {self.doubled} doubled, {self.altered} altered; "
            f"{self.unopened} times not opened, {self.unproven} times not proven"
        )


def strike(place: Path, chance: random.Random, tally: Tally, commit_s: float) -> None:
    """Start the process, kill it at a random moment, and look at the record it leaves.

    commit_s: how long a commit takes about; the moment lies within twice of that after an append began.
    """
    appends, delay = chance.randint(0, 12), chance.uniform(0.0, 2 * commit_s)
    done = subprocess.run(
        [sys.executable, "-c", _CHILD, str(place), str(appends), f"{delay:.6f}"],
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        timeout=90,
    )
    assert done.returncode == -9, f"it was not killed: {done.returncode} {done.stderr}"
    lines = [line.split() for line in done.stdout.splitlines() if line.count(" ") == 1]
    began = [int(seq) for what, seq in lines if what == "begin"]
    kept = [int(seq) for what, seq in lines if what == "kept"]
    refused = [seq for what, seq in lines if what == "refused"]
    tally.kills += 1
    tally.inside += bool(began) and lines[-1][0] == "begin"
    tally.refused += len(refused)
    tally.announced += len(kept)
    look(place, kept, tally)


def look(place: Path, kept: list[int], tally: Tally) -> None:
    """Open the record as the next sitting would, and hold it against what was announced."""
    try:
        with Store(place) as store:
            facts = store.facts(JOB)
            proven = audit_file(store) is None and (not facts or audit_job(store, JOB).fault is None)
    except Exception:
        tally.unopened += 1
        return
    seqs = [fact.seq for fact in facts]
    tally.lost += sum(1 for seq in kept if seq not in set(seqs))
    tally.doubled += len(seqs) - len(set(seqs)) + (seqs != list(range(1, len(seqs) + 1)))
    tally.altered += sum(1 for fact in facts if fact != fact_at(fact.seq))
    tally.unproven += not proven


def commit_time(place: Path) -> float:
    """Seconds that keeping one fact takes here, about."""
    times = []
    with Store(place) as store:
        for seq in range(1, 21):
            began = perf_counter()
            store.append("measure", Fact(seq, BEGAN, "noted", {"step": "", "text": "x" * 500}))
            times.append(perf_counter() - began)
    return sorted(times)[len(times) // 2]
