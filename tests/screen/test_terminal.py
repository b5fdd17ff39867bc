"""The screen in a real terminal, driven as a user would: tmux runs it, types, resizes and reads what is there."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PATIENCE = 40.0
TMUX = shutil.which("tmux")

pytestmark = pytest.mark.skipif(TMUX is None, reason="tmux is not installed (Debian: apt-get install tmux)")


class Terminal:
    """A terminal of its own server, so that nobody's tmux is touched."""

    def __init__(self, socket: Path) -> None:
        self._socket = str(socket)

    def tmux(self, *words: str) -> str:
        """Run one tmux command; what it prints."""
        command = [TMUX or "tmux", "-S", self._socket, "-f", os.devnull, *words]
        # pytest's readline exports a terminal size, which programs would then believe for ever
        env = {name: value for name, value in os.environ.items() if name not in ("COLUMNS", "LINES", "TMUX")}
        return subprocess.run(command, check=True, capture_output=True, text=True, timeout=PATIENCE, env=env).stdout

    def run(self, *command: str, columns: int = 80, rows: int = 24, env: dict[str, str] | None = None) -> None:
        """Start `command` in a terminal of this size."""
        settings = [item for name, value in (env or {}).items() for item in ("-e", f"{name}={value}")]
        size = ("-x", str(columns), "-y", str(rows))
        self.tmux("new-session", "-d", "-s", "bay", *size, *settings, "-c", str(ROOT), *command)

    def shows(self) -> str:
        """What is on the screen, with runs of blanks made one."""
        return " ".join(self.tmux("capture-pane", "-p", "-t", "bay").split())

    def wait(self, wanted: str) -> str:
        """Wait until `wanted` is on the screen."""
        end = time.monotonic() + PATIENCE
        while wanted not in (now := self.shows()):
            if time.monotonic() > end:
                raise AssertionError(f"{wanted!r} never came:\n{now}")
            time.sleep(0.1)
        return now

    def keys(self, *keys: str) -> None:
        """Press keys."""
        self.tmux("send-keys", "-t", "bay", *keys)

    def gone(self) -> bool:
        """Whether the program has ended, and the terminal with it."""
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            asked = [TMUX or "tmux", "-S", self._socket, "has-session"]
            if subprocess.run(asked, capture_output=True, check=False).returncode:
                return True
            time.sleep(0.1)
        return False


@pytest.fixture
def terminal(tmp_path: Path) -> Iterator[Terminal]:
    """A terminal, ended after the test."""
    # a socket's path may have 107 bytes at most, and tmp_path can be longer
    socket = Path(f"/tmp/bv-{os.getpid()}.sock")
    one = Terminal(socket)
    yield one
    subprocess.run([TMUX or "tmux", "-S", str(socket), "kill-server"], capture_output=True, check=False)
    socket.unlink(missing_ok=True)


def desk(terminal: Terminal, **env: str) -> None:
    """Show a job at the drain pan."""
    utf8 = {"LANG": "C.UTF-8", "LC_ALL": "C.UTF-8", "PYTHONUTF8": "1"}
    terminal.run(sys.executable, "-m", "tests.screen.desk", env={**utf8, **env})


def test_a_job_is_driven_by_keys_in_a_real_terminal(terminal: Terminal) -> None:
    """Keys move the job, words can be typed, a resize lays it out anew, two q end it and leave no process."""
    desk(terminal)
    terminal.wait("STEP 4 OF 31")
    assert "Set the drain pan" in terminal.shows()
    terminal.keys("n")
    found = terminal.wait("STEP 5 OF 31")
    assert "▲ CAUTION The oil may still be warm." in found
    terminal.keys("Enter", "n", "e", "x", "t", "Enter")
    terminal.wait("STEP 6 OF 31")
    terminal.keys("i", "r", "a", "g", "Enter")
    terminal.wait("1 rag")
    terminal.keys("PageUp")
    terminal.wait("STEP 5 OF 31")
    terminal.tmux("resize-window", "-t", "bay", "-x", "160", "-y", "48")
    terminal.wait("█")
    terminal.keys("F9")
    terminal.wait("Press f9 once more")
    terminal.keys("F9")
    assert terminal.gone()


def test_a_click_is_a_key_in_a_real_terminal(terminal: Terminal) -> None:
    """The mouse report of xterm's SGR mode ("Extended coordinates" in xterm's ctlseqs) presses the button."""
    desk(terminal)
    terminal.wait("STEP 4 OF 31")
    rows = terminal.tmux("capture-pane", "-p", "-t", "bay").splitlines()
    y = next(i for i, row in enumerate(rows) if " n  next" in row) + 1
    x = rows[y - 1].index(" n  next") + 6
    for end in "Mm":
        terminal.tmux("send-keys", "-t", "bay", "-l", f"\x1b[<0;{x};{y}{end}")
    terminal.wait("STEP 5 OF 31")


def test_ascii_is_sent_where_it_is_asked_for(terminal: Terminal) -> None:
    """With BAYVOICE_ASCII set nothing else reaches the terminal."""
    desk(terminal, BAYVOICE_ASCII="1")
    terminal.wait("STEP 4 OF 31")
    assert terminal.shows().isascii()
