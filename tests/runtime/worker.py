"""Works a job through the real command line by typed words, and can be cut down at any line it prints."""

from __future__ import annotations

import json
import os
import queue
import re
import resource
import signal
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

SHORT = Path(__file__).parent / "short.toml"

ANSWERS: dict[str, list[str]] = {
    "isolate": ["next"],
    "count-open": ["count in rag two", "next"],
    "undo": ["next"],
    "together": ["yes", "next"],
    "clean": ["yes"],
    "float": ["0.15 mm", "yes"],
    "dwell": ["go", "next", "next"],
    "ring-new": ["yes"],
    "count-closed": ["next"],
    "tighten": ["next", "next"],
    "sign": ["sign foreman"],
}


class Worker:
    """One process of `bayvoice work`; `lines` are what it has printed so far, as objects.

    `most_bytes`: no file it writes may grow beyond that, as on a disk that is full.
    """

    def __init__(self, store: Path, *more: str, procedure: Path = SHORT, most_bytes: int = 0) -> None:
        command = [sys.executable, "-m", "bayvoice", "work", str(procedure), "--job", "short", "--by", "Imre"]
        command += ["--ears", "typed", "--mic", "off", "--speaker", "off", "--screen", "off"]
        command += ["--store", str(store), "--json", *more]
        room = (most_bytes, most_bytes)
        self.process = subprocess.Popen(
            command,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            bufsize=1,
            env={**os.environ, "PYTHONUNBUFFERED": "1"},
            preexec_fn=(lambda: resource.setrlimit(resource.RLIMIT_FSIZE, room)) if most_bytes else None,
        )
        self.lines: list[dict[str, Any]] = []
        self._queue: queue.Queue[dict[str, Any] | None] = queue.Queue()
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for text in self.process.stdout:
            # A process that is killed may leave half a line behind.
            if text.endswith("\n"):
                self._queue.put(json.loads(text))
        self._queue.put(None)

    def line(self, timeout: float = 30.0) -> dict[str, Any] | None:
        """The next line, None when there are no more."""
        try:
            line = self._queue.get(timeout=timeout)
        except queue.Empty:
            last = "\n".join(json.dumps(each)[:200] for each in self.lines[-8:])
            raise AssertionError(f"nothing came for {timeout} s; last lines:\n{last}") from None
        if line is not None:
            self.lines.append(line)
        return line

    def type(self, text: str) -> None:
        """Type a line."""
        assert self.process.stdin is not None
        try:
            self.process.stdin.write(text + "\n")
            self.process.stdin.flush()
        except (BrokenPipeError, OSError):
            pass

    def kill(self) -> None:
        """As a power cut would."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()
        while self.line() is not None:
            pass

    def work(self, lines: int | None = None) -> bool:
        """Answer step after step, until `lines` more lines were printed or the job is done; True if it is done."""
        seen = 0
        todo: list[str] = []
        while True:
            line = self.line()
            if line is None:
                raise AssertionError(f"it ended by itself: {self.process.stderr.read() if self.process.stderr else ''}")
            seen += 1
            if line.get("text", "").startswith("All steps are done"):
                return True
            if lines is not None and seen >= lines:
                return False
            step = _step_of(line)
            inside = re.match(r"Not yet\. Still in the hub: rag, (\d+)", line.get("text", ""))
            if inside:
                # A step that was cut down and answered again has counted twice.
                todo = ["count out rag"] * int(inside[1]) + ["next"]
                self.type(todo.pop(0))
            elif step:
                todo = list(ANSWERS[step])
                self.type(todo.pop(0))
            elif line["what"] == "typed" and todo:
                self.type(todo.pop(0))
            elif line["what"] == "says" and line["text"].startswith(("Time reached", "There is nothing to sign here")):
                # Killed after the sign and before the step was left: it only has to be gone on from.
                self.type("next")


def _step_of(line: dict[str, Any]) -> str:
    """The step that is being read aloud, because it begins or is taken up again."""
    found = re.match(r"Step (\d+)\. ", line["text"]) if line["what"] == "says" else None
    return list(ANSWERS)[int(found[1]) - 1] if found else ""
