"""The command itself, as a stranger runs it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path


def bayvoice(*args: str | Path, data: Path | None = None, within_s: float = 120.0) -> subprocess.CompletedProcess[str]:
    """Run the command with nothing on standard input, its data directory in `data`."""
    env = dict(os.environ)
    if data is not None:
        env["XDG_DATA_HOME"] = str(data)
    return subprocess.run(
        [sys.executable, "-m", "bayvoice", *map(str, args)],
        capture_output=True,
        text=True,
        stdin=subprocess.DEVNULL,
        timeout=within_s,
        env=env,
    )
