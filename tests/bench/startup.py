"""How long from `bayvoice work` to the first spoken step, and how much memory a sitting takes.

Usage: python tests/bench/startup.py [--runs N] [--ears NAME] [--json FILE]

A recording of silence is the microphone, so the recogniser, the voice and the record are the real ones. Memory is the
largest resident set of the process itself and, apart, of the voice's worker, as the kernel reports them at exit.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
import wave
from pathlib import Path


def silence(path: Path, seconds: float) -> None:
    """A WAV of nothing."""
    with wave.open(str(path), "wb") as out:
        out.setparams((1, 2, 16_000, 0, "NONE", ""))
        out.writeframes(bytes(int(32_000 * seconds)))


def run(folder: Path, ears: str) -> tuple[float, float]:
    """Seconds to the first spoken step; peak resident memory in MB."""
    wav = folder / "silence.wav"
    silence(wav, 5.0)
    command = [
        sys.executable,
        "-m",
        "bayvoice",
        "work",
        "k40-transfer-cover",
        "--mic",
        str(wav),
        "--speaker",
        str(folder / "said.wav"),
        "--screen",
        "off",
        "--store",
        str(folder / "bay.sqlite"),
        "--ears",
        ears,
        "--json",
    ]
    began = time.perf_counter()
    first = None
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        for line in process.stdout:
            said = json.loads(line)
            if first is None and said["what"] == "says" and said["text"].startswith("Step"):
                first = time.perf_counter() - began
        _, status, usage = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
    if first is None:
        raise SystemExit("no step was said")
    return first, usage.ru_maxrss / 1024


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--ears", default="phones")
    parser.add_argument("--json", type=Path)
    args = parser.parse_args()
    times, memory = [], []
    for _ in range(args.runs):
        with tempfile.TemporaryDirectory() as folder:
            seconds, megabytes = run(Path(folder), args.ears)
            times.append(seconds)
            memory.append(megabytes)
    print(f"{'':24}{'min':>8}{'median':>8}{'max':>8}")
    print(f"{'first spoken step, s':24}{min(times):8.2f}{statistics.median(times):8.2f}{max(times):8.2f}")
    print(f"{'peak memory, MB':24}{min(memory):8.0f}{statistics.median(memory):8.0f}{max(memory):8.0f}")
    if args.json:
        args.json.write_text(json.dumps({"first_step_s": times, "peak_mb": memory, "ears": args.ears}, indent=2))


if __name__ == "__main__":
    main()
