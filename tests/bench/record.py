"""A record of a million facts: how long one fact takes to keep, one report to make, and how many facts an audit proves.

``python -m tests.bench.record [--facts 1000000] [--at FOLDER] [--json FILE]``. Figures are of this computer's disk and
processor; the audit's rate is by processor time, on one core.
"""

from __future__ import annotations

import argparse
import json
import os
import sqlite3
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from bayvoice.job.facts import Fact
from bayvoice.record.baykey import BayKey
from bayvoice.record.chain import FIRST, write
from bayvoice.record.sounds import folder_of
from bayvoice.record.sqlite import heads, people
from bayvoice.record.sqlite.store import Store
from bayvoice.report.audit import audit_file, audit_job, head_of
from bayvoice.report.judged import report_of
from bayvoice.report.render.page import to_html
from tests.report.every_kind import SOUND, SOUND_NAME, every_kind_job
from tests.report.whole_job import good_job

APPEND_S, REPORT_S, AUDIT_RATE = 0.010, 1.0, 50_000


def filled(place: Path, facts: int) -> int:
    """Fill a record with whole jobs as the product writes them, names and chain and all; how many facts it holds.

    Kept in large transactions: that is what makes it quick, and nothing else differs from facts kept one by one.
    """
    kinds = [good_job, every_kind_job]
    folder_of(place).mkdir()
    (folder_of(place) / SOUND_NAME).write_bytes(SOUND)
    made = job = 0
    with Store(place) as store, store.using() as db:
        # Only to fill the file; the figures are taken with every commit synced.
        db.execute("PRAGMA synchronous = OFF")
        while made < facts:
            with store.writing():
                for _ in range(200):
                    made += _put(db, f"job-{job}", kinds[job % 2](f"job-{job}"), store.bay_key())
                    job += 1
                    if made >= facts:
                        break
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return made


def _put(db: sqlite3.Connection, job: str, facts: Sequence[Fact], key: BayKey) -> int:
    prev = FIRST
    for fact in facts:
        row = write(job, replace(fact, body=people.hide(db, job, fact.kind, fact.body)), prev)
        prev = row.hash
        db.execute(
            "INSERT INTO facts (job, seq, wall, kind, body, prev, hash) VALUES (?, ?, ?, ?, ?, ?, ?)",
            (job, row.seq, row.wall, row.kind, row.body, row.prev, row.hash),
        )
        if row.kind in heads.SIGNED:
            heads.attest(db, key, row.wall, (job, row.seq, row.hash))
    return len(facts)


def appends(place: Path, number: int) -> list[float]:
    """Seconds of each of `number` appends to a new job in the filled record, sorted."""
    times: list[float] = []
    with Store(place) as store:
        for fact in (good_job("appended") * (number // 55 + 1))[:number]:
            one = replace(fact, seq=len(times) + 1)
            began = time.perf_counter()
            store.append("appended", one)
            times.append(time.perf_counter() - began)
    return sorted(times)


def main(argv: Sequence[str] | None = None) -> int:
    """Run it; 0 where every figure is within its bound."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--facts", type=int, default=1_000_000)
    parser.add_argument("--at", type=Path, help="folder for the record (default: a temporary one)")
    parser.add_argument("--json", type=Path)
    args = parser.parse_args(argv)
    with tempfile.TemporaryDirectory(prefix="bayvoice-record-", dir=args.at) as name:
        place = Path(name) / "bay.sqlite"
        os.environ["XDG_DATA_HOME"] = name  # a key of its own
        facts = filled(place, args.facts)
        size = place.stat().st_size
        times = appends(place, 1000)
        began = time.perf_counter()
        with Store(place, read_only=True) as store:
            page = to_html(report_of(store, "job-1"))
        report_s = time.perf_counter() - began
        with Store(place, read_only=True) as store:
            names = [job for job in store.job_names() if job != "appended"]
            cpu, wall = time.process_time(), time.perf_counter()
            proven = 0
            for job in names:
                found = audit_job(store, job)
                assert found.fault is None, f"{job}: {found.fault}"
                proven += found.facts
            cpu, wall = time.process_time() - cpu, time.perf_counter() - wall
            began = time.process_time()
            head = head_of(store)
            head_s = time.process_time() - began
            began = time.process_time()
            assert audit_file(store) is None
            file_s = time.process_time() - began
    figures = {
        "facts": facts,
        "jobs": len(names),
        "megabytes": size / 1e6,
        "append_median_s": times[len(times) // 2],
        "append_p95_s": times[int(len(times) * 0.95)],
        "append_max_s": times[-1],
        "report_s": report_s,
        "report_bytes": len(page),
        "audit_facts_a_cpu_second": proven / cpu,
        "audit_cpu_s": cpu,
        "audit_wall_s": wall,
        "head_cpu_s": head_s,
        "file_cpu_s": file_s,
        "head": str(head),
    }
    print(f"{facts} facts in {len(names)} jobs, {size / 1e6:.0f} MB")
    rows = [
        ("append, median of 1000", f"{times[len(times) // 2] * 1e3:.2f} ms", ""),
        ("append, 95th percentile", f"{times[int(len(times) * 0.95)] * 1e3:.2f} ms", f"below {APPEND_S * 1e3:.0f} ms"),
        ("report of one job", f"{report_s * 1e3:.0f} ms", f"below {REPORT_S:.0f} s"),
        ("audit, one core", f"{proven / cpu:,.0f} facts/s", f"{AUDIT_RATE:,} or more"),
        ("audit, elapsed", f"{proven / wall:,.0f} facts/s", ""),
        ("head over all jobs", f"{head_s:.2f} s", ""),
        ("pages and index of the file", f"{file_s:.2f} s", ""),
    ]
    for what, figure, bound in rows:
        print(f"{what:32}{figure:>20}   {bound}")
    if args.json:
        args.json.write_text(json.dumps(figures, indent=2))
    good = times[int(len(times) * 0.95)] < APPEND_S and report_s < REPORT_S and proven / cpu >= AUDIT_RATE
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
