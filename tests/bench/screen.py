"""How soon the screen follows, and what it costs while nothing happens.

Usage: python -m tests.bench.screen [--each N] [--idle SECONDS] [--json FILE]

The screen runs in a real terminal (a pseudo-terminal of 160 by 48), with 20 waits running and the recogniser decoding
speech in the same process all the time. Two times are taken from inside, each to the moment at which the bytes of the
redraw have been written to the terminal: from a key press, and from a heard word handed over by another thread. The
idle cost is processor time over wall time of a screen alone: with 20 waits, and with none.
"""

from __future__ import annotations

import argparse
import contextlib
import fcntl
import json
import os
import pty
import select
import statistics
import struct
import sys
import termios
import threading
import time
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

# As the command line does it: before numpy is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

COLUMNS, ROWS = 160, 48
WAITS: Final = 20


def busy_state(mono: float, waits: int) -> Any:
    """A job at a step, with as many waits running."""
    from bayvoice.job.job import Running
    from bayvoice.procedure.model import WaitKind
    from tests.screen.walk import walk_to

    state = walk_to("pan").state
    running = tuple(
        Running("pan", f"window {n + 1}", WaitKind.ACT, 600 + 30 * n, 1200 + 45 * n, mono - 37.0 * n)
        for n in range(waits)
    )
    return replace(state, now=mono, job=replace(state.job, waits=running))


def decode_for_ever(stop: threading.Event, decoded: list[int]) -> None:
    """Recognise a spoken phrase again and again; counts how often in `decoded`."""
    from bayvoice.ears.choose import choose
    from tests.bench.hearing import grammar, hear
    from tests.espeak import say

    engine = choose("phones", grammar().words)[0]
    engine.use(grammar())
    sound = say("thirty two point five newton metres")
    while not stop.is_set():
        hear(engine, sound)
        decoded[0] += 1


def inside(each: int, idle: float, report: int) -> None:
    """Run in the pseudo-terminal: measure, write JSON to the file descriptor `report`."""
    from bayvoice.dialogue.engine.state import HeardLine
    from bayvoice.screen.app import BayScreen

    written: list[tuple[float, int]] = []
    decoded = [0]
    state = busy_state(time.monotonic(), WAITS)
    keys: list[float] = []
    heard: list[float] = []
    costs: dict[str, float] = {}

    def words(_: str) -> None:
        app.show(replace(state, heard=HeardLine("key", "repeat", "", None, "typed"), last_said=f"{time.monotonic()}"))

    def drive() -> None:
        for name, waits in (("idle, 20 waits", WAITS), ("idle, no wait", 0)):
            app.show(replace(state, job=replace(state.job, waits=state.job.waits[:waits])))
            time.sleep(2.0)
            cpu, wall = time.process_time(), time.monotonic()
            time.sleep(idle)
            costs[name] = (time.process_time() - cpu) / (time.monotonic() - wall)
        app.show(state)
        stop = threading.Event()
        thread = threading.Thread(target=decode_for_ever, args=(stop, decoded), daemon=True)
        thread.start()
        while thread.is_alive() and not decoded[0]:
            time.sleep(0.1)
        for n in range(each):
            time.sleep(0.11)
            began, drawn = time.monotonic(), app.drawn
            app.show(replace(state, heard=HeardLine(f"word {n}", "repeat", "", 2.0, "phones"), last_said=f"said {n}"))
            wait_for(began, drawn, heard)
        for _ in range(each):
            time.sleep(0.11)
            began, drawn = time.monotonic(), app.drawn
            os.write(feed, b"r")
            wait_for(began, drawn, keys)
        stop.set()
        thread.join()
        app.close()

    def wait_for(began: float, drawn: int, times: list[float]) -> None:
        """The first bytes that were written after the new state had been drawn."""
        while time.monotonic() < began + 2.0:
            at = next((t for t, after in written[-20:] if after > drawn), None)
            if at is not None:
                times.append(at - began)
                return
            time.sleep(0.001)
        times.append(float("inf"))

    app = BayScreen(words, lambda: None, lambda _: threading.Thread(target=drive).start(), clock=time.monotonic)
    feed = int(os.environ["BAY_FEED"])
    shows = app._display

    def noted(*args: Any, **kwargs: Any) -> None:
        shows(*args, **kwargs)
        written.append((time.monotonic(), app.drawn))

    app._display = noted  # type: ignore[method-assign]
    app.run()
    os.write(report, json.dumps({"keys": keys, "heard": heard, "costs": costs, "decoded": decoded[0]}).encode())


def main() -> None:
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--each", type=int, default=60)
    parser.add_argument("--idle", type=float, default=15.0)
    parser.add_argument("--json", type=Path)
    parser.add_argument("--inside", type=int, help=argparse.SUPPRESS)
    args = parser.parse_args()
    if args.inside is not None:
        inside(args.each, args.idle, args.inside)
        return
    found = outside(args.each, args.idle)
    print(f"{'':28}{'median':>9}{'95 %':>9}{'max':>9}   ms")
    for name, label in (("keys", "key press to redraw"), ("heard", "heard to redraw")):
        times = sorted(1000 * t for t in found[name])
        high = times[min(len(times) - 1, int(0.95 * len(times)))]
        print(f"{label:28}{statistics.median(times):9.1f}{high:9.1f}{times[-1]:9.1f}   of {len(times)}")
    for label, cost in found["costs"].items():
        print(f"{label:28}{100 * cost:9.1f} % of a core")
    print(f"{found['decoded']} phrases were recognised meanwhile")
    if args.json:
        args.json.write_text(json.dumps(found, indent=2))


def outside(each: int, idle: float) -> dict[str, Any]:
    """Run the inner part on a pseudo-terminal and read everything it draws, as a terminal would."""
    keeper, terminal = pty.openpty()
    fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, 0, 0))
    told, tell = os.pipe()
    command = [sys.executable, "-m", "tests.bench.screen", "--each", str(each), "--idle", str(idle), "--inside"]
    process = os.fork()
    if process == 0:
        os.setsid()
        fcntl.ioctl(terminal, termios.TIOCSCTTY, 0)
        for descriptor in (0, 1, 2):
            os.dup2(terminal, descriptor)
        os.set_inheritable(tell, True)
        os.set_inheritable(keeper, True)
        env = {**os.environ, "TERM": "xterm-256color", "BAY_FEED": str(keeper), "COLORTERM": "truecolor"}
        os.execvpe(command[0], [*command, str(tell)], env)
    os.close(terminal)
    os.close(tell)
    said = b""
    while True:
        ready, _, _ = select.select([keeper, told], [], [], 120)
        if keeper in ready:
            with contextlib.suppress(OSError):
                os.read(keeper, 65536)
        if told in ready:
            part = os.read(told, 65536)
            said += part
            if not part:
                break
        if not ready:
            raise SystemExit("the screen said nothing for two minutes")
    os.waitpid(process, 0)
    found: dict[str, Any] = json.loads(said)
    return found


if __name__ == "__main__":
    main()
