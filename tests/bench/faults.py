"""Five hundred kills: of a process that keeps facts, on a roomy and on a full disk, and of the whole product.

``python -m tests.bench.faults [--kills 500] [--json FILE]``; exit status 1 where anything was lost.
"""

from __future__ import annotations

import argparse
import dataclasses
import json
import random
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from bayvoice.record.sqlite.store import Store
from bayvoice.report.audit import audit_file, audit_job
from tests.faults import Tally, commit_time, strike
from tests.runtime.worker import Worker

FULL_SHARE, PRODUCT_SHARE = 0.2, 0.2


def on_disk(folder: Path, kills: int, chance: random.Random) -> Tally:
    """Kills while facts are kept; a new record every fifty."""
    tally = Tally()
    commit_s = commit_time(folder / "measure.sqlite")
    for turn in range(kills):
        strike(folder / f"bay{turn // 50}.sqlite", chance, tally, commit_s)
    return tally


def on_full_disk(folder: Path, kills: int, chance: random.Random) -> Tally | None:
    """The same on a file system of 640 KiB that fills up; None where none can be mounted."""
    disk = folder / "disk"
    disk.mkdir()
    made = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=640k", "tmpfs", str(disk)], capture_output=True)
    if made.returncode != 0:
        return None
    tally = Tally()
    try:
        for turn in range(kills):
            if turn % 20 == 0:
                for old in disk.iterdir():
                    old.unlink()
                (disk / "ballast").write_bytes(b"\0" * 430_000)
            strike(disk / "bay.sqlite", chance, tally, 0.0005)
            if turn % 5 == 4:
                (disk / "ballast").write_bytes(b"\0" * (430_000 - 7_000 * (turn % 20)))
    finally:
        subprocess.run(["umount", str(disk)], check=True)
    return tally


def of_the_product(folder: Path, kills: int, chance: random.Random) -> Tally:
    """Kills of ``bayvoice work`` at a random line of what it prints."""
    tally, job = Tally(), 0
    kept: dict[int, tuple[str, object]] = {}
    for _ in range(kills):
        store = folder / f"work{job}.sqlite"
        worker = Worker(store)
        try:
            done = worker.work(lines=chance.randint(1, 45))
        finally:
            worker.kill()
        tally.kills += 1
        new = {line["seq"]: (line["fact"], line["body"]) for line in worker.lines if line["what"] == "kept"}
        tally.announced += len(new)
        kept |= new
        try:
            with Store(store) as record:
                facts = {f.seq: (f.kind, f.body) for f in record.facts("short")}
                tally.unproven += audit_file(record) is not None or audit_job(record, "short").fault is not None
        except Exception:
            tally.unopened += 1
            continue
        tally.lost += sum(1 for seq in kept if seq not in facts)
        tally.altered += sum(1 for seq, fact in kept.items() if seq in facts and facts[seq] != fact)
        if done:
            job += 1
            kept.clear()
    return tally


def main(argv: Sequence[str] | None = None) -> int:
    """Run it; 0 where nothing was lost."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=500)
    parser.add_argument("--seed", type=int, default=20250304)
    parser.add_argument("--json", type=Path)
    args = parser.parse_args(argv)
    chance = random.Random(args.seed)
    full, product = int(args.kills * FULL_SHARE), int(args.kills * PRODUCT_SHARE)
    with tempfile.TemporaryDirectory(prefix="bayvoice-faults-") as name:
        folder = Path(name)
        found: dict[str, Tally | None] = {"full disk": on_full_disk(folder, full, chance)}
        if found["full disk"] is None:
            print("full disk: skipped, no small file system can be mounted here (it takes root)")
            full = 0
        found["whole product"] = of_the_product(folder, product, chance)
        found["keeping facts"] = on_disk(folder, args.kills - full - product, chance)
    tallies = {what: tally for what, tally in found.items() if tally is not None}
    whole = Tally()
    for what, tally in tallies.items():
        print(f"{what}: {tally.line()}")
        for field in dataclasses.fields(Tally):
            setattr(whole, field.name, getattr(whole, field.name) + getattr(tally, field.name))
    print(f"all: {whole.line()}")
    if args.json:
        args.json.write_text(json.dumps({what: dataclasses.asdict(tally) for what, tally in tallies.items()}, indent=2))
    return 0 if whole.whole else 1


if __name__ == "__main__":
    sys.exit(main())
