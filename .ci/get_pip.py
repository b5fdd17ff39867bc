"""Put pip into the virtual environment that runs this, from the package index's own pages (PEP 503 and 691).

For a Python without ensurepip, as Debian's python3 is. The index is the one pip would use: PIP_INDEX_URL, else the
``index-url`` of pip's configuration files, else the public one. The wheel's SHA-256 is checked against the index.
"""

from __future__ import annotations

import configparser
import hashlib
import html
import os
import re
import runpy
import ssl
import sys
import tempfile
import urllib.parse
import urllib.request
from pathlib import Path


def configured(key: str) -> str | None:
    """What pip would take for `key` of its global settings: environment first, then its configuration files."""
    if value := os.environ.get("PIP_" + key.upper().replace("-", "_")):
        return value
    home = Path.home()
    files = [os.environ.get("PIP_CONFIG_FILE"), home / ".pip/pip.conf", home / ".config/pip/pip.conf"]
    files += ["/etc/pip.conf", "/etc/xdg/pip/pip.conf"]
    for name in files:
        if not name:
            continue
        parser = configparser.ConfigParser(interpolation=None)
        try:
            parser.read(name)
        except configparser.Error:
            continue
        if parser.has_option("global", key):
            return parser.get("global", key)
    return None


def fetch(url: str) -> bytes:
    """The bytes behind `url`."""
    context = ssl.create_default_context(cafile=configured("cert"))
    request = urllib.request.Request(url, headers={"Accept": "text/html, application/octet-stream"})
    with urllib.request.urlopen(request, context=context, timeout=120) as answer:
        data: bytes = answer.read()
    return data


def newest(page: str) -> str:
    """The link, with its hash, to the newest plain release of pip on an index page."""
    links = re.findall(r'href="([^"]*/pip-([0-9][0-9.]*)-py3-none-any\.whl(?:#[^"]*)?)"', page)
    if not links:
        raise SystemExit("The package index has no wheel of pip; install the package python3-venv and try again.")
    best = max(links, key=lambda link: tuple(int(n) for n in link[1].split(".") if n))
    return html.unescape(best[0])


def main() -> None:
    """Fetch pip and let it install itself."""
    index = (configured("index-url") or "https://pypi.org/simple").rstrip("/") + "/pip/"
    try:
        link = urllib.parse.urljoin(index, newest(fetch(index).decode()))
        wheel = fetch(link.partition("#")[0])
    except OSError as why:
        raise SystemExit(f"The package index cannot be reached ({why}); install the package python3-venv.") from None
    kind, _, digest = link.partition("#")[2].partition("=")
    if kind == "sha256" and hashlib.sha256(wheel).hexdigest() != digest:
        raise SystemExit("The wheel of pip is not the one its index describes; try again.")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / Path(urllib.parse.urlparse(link).path).name
        path.write_bytes(wheel)
        sys.path.insert(0, str(path))
        sys.argv = ["pip", "install", "--quiet", "--disable-pip-version-check", str(path)]
        runpy.run_module("pip", run_name="__main__")


if __name__ == "__main__":
    main()
