"""README's picture of a report: `python -m tests.report.picture` makes it anew in demo/pictures, with Chromium."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Final

from tests.record.records import fill
from tests.report.whole_job import eventful_job

ROOT: Final = Path(__file__).resolve().parents[2]
PICTURE: Final = ROOT / "demo" / "pictures" / "report.png"
SIZE: Final = (1000, 1240)
JOB: Final = "K40-0118"


def main() -> None:
    """Keep an eventful job in a record of its own, have its page written, and take a picture of its top, in light."""
    browser = shutil.which("chromium") or shutil.which("chromium-browser")
    assert browser is not None, "Chromium is not here"
    with tempfile.TemporaryDirectory() as folder:
        place, page = Path(folder) / "bay.sqlite", Path(folder) / "report.html"
        os.environ |= {"XDG_DATA_HOME": folder, "TZ": "Europe/Budapest", "PYTHONPATH": str(ROOT)}
        fill(place, JOB, eventful_job())
        report = [sys.executable, "-m", "bayvoice", "report", JOB, "--store", str(place), "--out", str(page)]
        assert subprocess.run(report, check=False).returncode in (0, 1)
        options = ["--headless", "--disable-gpu", "--disable-dev-shm-usage", "--hide-scrollbars", "--no-first-run"]
        if os.geteuid() == 0:
            options.append("--no-sandbox")  # Chromium refuses its sandbox to root; the page runs nothing
        size = ",".join(map(str, SIZE))
        options += [f"--user-data-dir={folder}/profile", f"--window-size={size}", f"--screenshot={PICTURE}"]
        subprocess.run([browser, *options, page.as_uri()], check=True, timeout=120, capture_output=True)
    print(PICTURE, PICTURE.stat().st_size)


if __name__ == "__main__":
    main()
