"""How soon an alert begins after its limit, and what running waits cost.

Usage: python -m tests.bench.timers [--timers N] [--cost SECONDS] [--json FILE]

A whole sitting runs live in a bay of its own (a PulseAudio server with a virtual microphone and loudspeaker): the real
loop, record, voice, loudspeaker and recogniser, with somebody talking into the microphone all the time and the product
saying each step. Every half second one more wait of 8 to 12 s is started, so that 20 run at once. The delay is from a
limit to the moment at which the first sample of a burst leaves the loudspeaker's buffer, by the audio system's own
count; where a burst is sounding already at the limit it is nought, and such are counted apart. Then a real
`bayvoice work` with its screen on a pseudo-terminal tells the processor time of 20 waits beside that of none.
"""

from __future__ import annotations

import argparse
import contextlib
import fcntl
import json
import os
import pty
import random
import statistics
import struct
import subprocess
import sys
import tempfile
import termios
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

# As the command line does it: before numpy is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

AT_ONCE: Final = 20
EVERY_S: Final = 0.5
TALK: Final = (
    "did you see the game last night",
    "next",
    "the other one is behind the bench",
    "thirty two point five",
    "how long",
    "we are out of rags again",
    "stop",
    "hand me that lamp please",
)


def procedure(waits: int, shortest: int, longest: int, seed: int = 5) -> str:
    """A job of that many waits, each beginning with its step and lasting `shortest` to `longest` seconds."""
    rng = random.Random(seed)
    steps = [
        f'[[step]]\nid = "w{n}"\nkind = "wait"\nwait = "cure"\nname = "bead {"abcdefghijklmnopqrst"[n % 20]}"\n'
        f'say = "Leave it."\nstarts = "step"\nat_least = "{rng.randint(shortest, longest)} s"\ngates = ["end"]\n'
        for n in range(waits)
    ]
    head = 'format = 1\ntitle = "Beads"\nmachine = "Varrow K40 tow tractor"\n[[step]]\nid = "begin"\nkind = "do"\n'
    return f'{head}say = "Begin."\n{"".join(steps)}[[step]]\nid = "end"\nkind = "do"\nsay = "End."\n'


def inside(timers: int, folder: Path, report: int) -> None:
    """Run in the bay: work the job, write what was measured to the file descriptor `report` as JSON."""
    from bayvoice.dialogue.engine.effects import Append, Hush, Say
    from bayvoice.dialogue.engine.events import Began, Heard
    from bayvoice.runtime.options import Options
    from bayvoice.runtime.wiring import open_sitting
    from bayvoice.voice.live import LivePlayer
    from bayvoice.voice.player import Note

    due: list[float] = []
    bursts: list[float] = []
    hushed: list[float] = []
    counts = {"heard": 0, "said": 0, "most": 0}
    began = threading.Event()

    def watch(event: Any, effects: Any, state: Any) -> None:
        counts["heard"] += isinstance(event, Heard)
        counts["most"] = max(counts["most"], len(state.job.waits))
        for effect in effects:
            if isinstance(effect, Append) and effect.fact.kind == "wait_started":
                due.append(float(effect.fact.body["mono"]) + effect.fact.body["at_least"])
            elif isinstance(effect, Hush):
                hushed.append(sitting.hub.clock.mono())
            counts["said"] += isinstance(effect, Say)
        if isinstance(event, Began):
            began.set()

    class Noting(LivePlayer):
        """The real one, which also keeps when a burst began to be heard."""

        def __init__(self, tell: Any, clock: Any) -> None:
            def told(note: Note) -> None:
                if note.kind == "rang":
                    bursts.append(note.at)
                tell(note)

            super().__init__(told, clock)

    import bayvoice.voice.live as live

    live.LivePlayer = Noting  # type: ignore[misc, assignment]
    text = folder / "beads.toml"
    text.write_text(procedure(timers, 8, 12))
    options = Options(str(text), "live", "live", folder / "bay.sqlite", "beads", "Imre", ears="phones")
    sitting = open_sitting(options, watch)

    def drive() -> None:
        began.wait()
        time.sleep(3.0)
        for n in range(timers):
            start = time.monotonic()
            sitting.hands.type("next")
            time.sleep(max(0.0, EVERY_S - (time.monotonic() - start)))
            assert n or sitting.hub.state.job.step
        time.sleep(15.0)
        sitting.hands.leave("the bench has ended")

    threading.Thread(target=drive, daemon=True).start()
    cpu, wall = time.process_time(), time.monotonic()
    sitting.run()
    cost = (time.process_time() - cpu) / (time.monotonic() - wall)
    sitting.close()
    found = {"due": due, "bursts": bursts, "hushed": hushed, "counts": counts, "cost": cost}
    os.write(report, json.dumps(found).encode())


def delays(found: dict[str, Any], sounds_s: float) -> tuple[list[float], int]:
    """Seconds from each limit to its burst, and how many limits fell into a burst that was sounding."""
    late, joined = [], 0
    for at in found["due"]:
        running = [b for b in found["bursts"] if b <= at < b + sounds_s]
        if running and not any(running[-1] < h <= at for h in found["hushed"]):
            joined += 1
            late.append(0.0)
        else:
            late.append(min((b - at for b in found["bursts"] if b > at), default=float("inf")))
    return late, joined


@contextlib.contextmanager
def talking(folder: Path, env: dict[str, str]) -> Iterator[None]:
    """Somebody talks into the bay's microphone without end."""
    import numpy as np
    import soundfile

    from tests.bay import MIC
    from tests.espeak import say

    pause = np.zeros(8000, np.float32)
    sound = np.concatenate([part for text in TALK for part in (say(text), pause)])
    soundfile.write(folder / "talk.wav", sound, 16_000)
    stop = threading.Event()

    def talk() -> None:
        while not stop.is_set():
            subprocess.run(["paplay", f"--device={MIC}", str(folder / "talk.wav")], env={**os.environ, **env})

    thread = threading.Thread(target=talk, daemon=True)
    thread.start()
    try:
        yield
    finally:
        stop.set()


def on_time(timers: int) -> dict[str, Any]:
    """The delays of a live sitting."""
    from tests.bay import virtual_bay

    with tempfile.TemporaryDirectory() as name, virtual_bay(Path(name) / "bay") as env, talking(Path(name), env):
        read, write = os.pipe()
        child = subprocess.Popen(
            [sys.executable, "-m", "tests.bench.timers", "--timers", str(timers), "--inside", str(write), name],
            env={**os.environ, **env},
            pass_fds=(write,),
        )
        os.close(write)
        with os.fdopen(read) as pipe:
            told = pipe.read()
        if child.wait():
            raise SystemExit("the sitting failed")
        found: dict[str, Any] = json.loads(told)
        return found


def cost_of_waits(seconds: float) -> dict[str, float]:
    """Processor time over wall time of `bayvoice work` with its screen on, with no wait and with 20 running."""
    with tempfile.TemporaryDirectory() as name:
        text = Path(name) / "beads.toml"
        text.write_text(procedure(AT_ONCE, 3600, 7200))
        leader, follower = pty.openpty()
        fcntl.ioctl(follower, termios.TIOCSWINSZ, struct.pack("HHHH", 48, 160, 0, 0))
        child = subprocess.Popen(
            [
                sys.executable,
                "-m",
                "bayvoice",
                "work",
                str(text),
                "--mic",
                "off",
                "--speaker",
                "off",
                "--by",
                "Imre",
                "--store",
                str(Path(name) / "bay.sqlite"),
            ],
            stdin=follower,
            stdout=follower,
            stderr=follower,
            start_new_session=True,
            env={**os.environ, "TERM": "xterm-256color"},
        )
        drawn = [0]
        threading.Thread(target=_drain, args=(leader, drawn), daemon=True).start()
        try:
            found = _costs(child.pid, leader, drawn, seconds)
        finally:
            child.terminate()
            child.wait(10)
            os.close(follower)
        from bayvoice.record.sqlite.store import Store

        with Store(Path(name) / "bay.sqlite", read_only=True) as store:
            started = sum(fact.kind == "wait_started" for fact in store.facts(store.job_names()[0]))
        if started != AT_ONCE:
            raise SystemExit(f"only {started} waits ran")
        return found


def _costs(pid: int, leader: int, drawn: list[int], seconds: float) -> dict[str, float]:
    time.sleep(8.0)
    found = {"no wait": _share(pid, seconds)}
    for _ in range(AT_ONCE):
        os.write(leader, b"n")
        time.sleep(0.6)
    time.sleep(3.0)
    before = drawn[0]
    found[f"{AT_ONCE} waits"] = _share(pid, seconds)
    if drawn[0] - before < seconds * AT_ONCE:
        raise SystemExit("the screen did not draw")
    return found


def _drain(leader: int, drawn: list[int]) -> None:
    """Take what the screen draws, as a terminal would; counts the bytes."""
    with contextlib.suppress(OSError):
        while block := os.read(leader, 65536):
            drawn[0] += len(block)


def _share(pid: int, seconds: float) -> float:
    """Processor time over wall time of another process, by its own clock (Linux names it by the process's number)."""
    clock = (~pid << 3) | 2
    before, began = time.clock_gettime(clock), time.monotonic()
    time.sleep(seconds)
    return (time.clock_gettime(clock) - before) / (time.monotonic() - began)


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--timers", type=int, default=500)
    parser.add_argument("--cost", type=float, default=20.0)
    parser.add_argument("--json", type=Path)
    parser.add_argument("--inside", nargs=2, help=argparse.SUPPRESS)
    args = parser.parse_args()
    if args.inside is not None:
        inside(args.timers, Path(args.inside[1]), int(args.inside[0]))
        return
    from bayvoice.dialogue.engine.alerts import BURST_S
    from tests.bay import lacking

    result: dict[str, Any] = {}
    if lacking():
        print(lacking())
    else:
        found = on_time(args.timers)
        late, joined = delays(found, BURST_S["due"])
        own = sorted(1000 * t for t in late if t)
        counts = found["counts"]
        print(f"{len(late)} timers, at most {counts['most']} at once, {joined} due while a burst was sounding")
        print(f"{counts['heard']} utterances were recognised and {counts['said']} sentences rendered meanwhile")
        marks = [
            statistics.median(own),
            *(own[min(len(own) - 1, int(q * len(own)))] for q in (0.9, 0.95, 0.99)),
            own[-1],
        ]
        print(
            f"{'limit to first sample, ms':28}"
            + "".join(f"{label:>9}" for label in ("median", "90 %", "95 %", "99 %", "max"))
        )
        print(f"{'the other ' + str(len(own)):28}" + "".join(f"{mark:9.1f}" for mark in marks))
        over = sum(t > 100 for t in own)
        print(f"later than 100 ms: {over} of {len(late)}; the whole sitting took {100 * found['cost']:.0f} % of a core")
        result["late_ms"] = own
        result["joined"] = joined
    costs = cost_of_waits(args.cost)
    for label, share in costs.items():
        print(f"{label + ', screen on':28}{100 * share:9.1f} % of a core")
    print(f"{'so the waits cost':28}{100 * (costs[f'{AT_ONCE} waits'] - costs['no wait']):9.1f} % of a core")
    if args.json:
        args.json.write_text(json.dumps(result | {"cost": costs}))


if __name__ == "__main__":
    main()
