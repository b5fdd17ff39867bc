"""The report on paper: the page is printed by a browser that is on the computer.

A browser, because the page is laid out for one: what it prints is what its print dialogue would give, pictures and page
numbers included. A library of our own for it would be another 30 MB and another layout. Nothing is fetched: the page
holds all it shows and its policy bars the rest.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Final

from bayvoice.errors import BayError

BROWSERS: Final = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "microsoft-edge",
    "microsoft-edge-stable",
)
"""Programs that print a page to PDF without a screen, in the order they are tried."""

PATIENCE_S: Final = 120


def find_browser() -> str | None:
    """The first of `BROWSERS` that is there, or the one BAYVOICE_BROWSER names."""
    named = os.environ.get("BAYVOICE_BROWSER", "")
    return next((found for name in ((named,) if named else BROWSERS) if (found := shutil.which(name))), None)


def to_pdf(page: str) -> bytes:
    """`page`, an HTML document, as PDF.

    Raises:
        BayError: no browser is there, or it did not print.
    """
    browser = find_browser()
    if browser is None:
        raise BayError(
            "no browser is here that can print to PDF",
            "--pdf",
            "install Chromium, or open the page of --out in any browser and print it",
        )
    with tempfile.TemporaryDirectory(prefix="bayvoice-") as folder:
        source, paper = Path(folder) / "report.html", Path(folder) / "report.pdf"
        source.write_text(page, encoding="utf-8")
        command = [
            browser,
            "--headless",
            "--disable-gpu",
            "--no-first-run",
            "--disable-extensions",
            "--disable-background-networking",
            "--disable-dev-shm-usage",
            "--no-pdf-header-footer",
            f"--user-data-dir={folder}/profile",
            f"--print-to-pdf={paper}",
            source.as_uri(),
        ]
        if hasattr(os, "geteuid") and os.geteuid() == 0:
            # Chromium refuses its sandbox to root; the page runs nothing.
            command.insert(1, "--no-sandbox")
        try:
            done = subprocess.run(command, capture_output=True, timeout=PATIENCE_S, check=False)
        except (OSError, subprocess.TimeoutExpired) as error:
            why = getattr(error, "strerror", None) or f"it took more than {PATIENCE_S} s"
            raise BayError(f"the browser did not print ({why})", browser, "print the page of --out by hand") from error
        if done.returncode != 0 or not paper.is_file() or not paper.read_bytes().startswith(b"%PDF-"):
            raise BayError("the browser did not print", browser, "print the page of --out by hand")
        return paper.read_bytes()
