"""README's picture of a report: `python -m tests.report.picture` makes it anew in demo/pictures, with Chromium."""

from __future__ import annotations

import os
import subprocess
import tempfile
from datetime import timedelta, timezone
from pathlib import Path
from typing import Final

from bayvoice.report.html import to_html
from bayvoice.report.model import Chain
from bayvoice.report.pdf import find_browser
from bayvoice.report.summary import summarise
from tests.report.whole_job import PROCEDURE, eventful_job

PICTURE: Final = Path(__file__).resolve().parents[2] / "demo" / "pictures" / "report.png"
SIZE: Final = (1000, 1240)


def page() -> str:
    """The report of an eventful job as a page, in the bay's own time."""
    facts = eventful_job()
    report = summarise(facts, PROCEDURE, Chain(True, head=64 * "7"))
    return to_html(report, zone=timezone(timedelta(hours=1)))


def main() -> None:
    """Make the picture; light, as it is printed."""
    browser = find_browser()
    assert browser is not None, "Chromium is not here"
    with tempfile.TemporaryDirectory() as folder:
        source = Path(folder) / "report.html"
        source.write_text(page(), encoding="utf-8")
        subprocess.run(
            [
                browser,
                *(["--no-sandbox"] if os.geteuid() == 0 else []),
                "--headless",
                "--disable-gpu",
                "--disable-dev-shm-usage",
                "--hide-scrollbars",
                f"--user-data-dir={folder}/profile",
                f"--window-size={SIZE[0]},{SIZE[1]}",
                f"--screenshot={PICTURE}",
                source.as_uri(),
            ],
            check=True,
            timeout=120,
        )
    print(PICTURE, PICTURE.stat().st_size)


if __name__ == "__main__":
    main()
