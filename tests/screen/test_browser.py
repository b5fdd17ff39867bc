"""The screen in a real browser: seen, worked by key and by click, one at a time, and closed to other places."""

from __future__ import annotations

import asyncio
import contextlib
import os
import re
import signal
import socket
import subprocess
import sys
from collections.abc import AsyncIterator, Iterator
from pathlib import Path
from urllib.parse import urlsplit

import aiohttp
import pytest

from bayvoice.errors import BayError
from bayvoice.record.sqlite.store import Store
from bayvoice.screen.browser import address_of, is_loopback, warning
from tests.screen.tab import CHROMIUM, a_tab

needs_chromium = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium on this machine (apt package chromium)")


@pytest.fixture
def served(tmp_path: Path) -> Iterator[tuple[str, Path]]:
    """(address, record) of a job whose screen is served; nothing is heard or said."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    store = tmp_path / "bay.sqlite"
    quiet = ["--mic", "off", "--speaker", "off", "--ears", "typed"]
    process = subprocess.Popen(
        [
            sys.executable,
            "-m",
            "bayvoice",
            "browser",
            "--at",
            str(port),
            "work",
            "lift-chain",
            "--by",
            "Kofi",
            "--job",
            "chain-1",
            "--store",
            str(store),
            *quiet,
        ],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )
    try:
        assert process.stdout is not None
        line = process.stdout.readline()
        found = re.search(r"http://\S+", line)
        assert found, line
        yield found.group(), store
    finally:
        process.send_signal(signal.SIGINT)
        process.wait(30)


def _steps(store: Path) -> list[str]:
    with Store(store, read_only=True) as opened:
        return [fact.body["step"] for fact in opened.facts("chain-1") if fact.kind == "step_entered"]


@needs_chromium
def test_a_tablet_works_the_job(served: tuple[str, Path], tmp_path: Path) -> None:
    """A key in the page goes on to the next step in the record, and nothing is fetched from any other place."""
    address, store = served

    async def work() -> tuple[list[str], bytes]:
        async with a_tab() as tab:
            await tab.go(address)
            await tab.until_drawn("STEP 1 OF")
            await tab.evaluate("document.querySelector('textarea').focus()")
            await tab.press("y")
            await tab.until_drawn("STEP 2 OF")
            await tab.press("y")
            await tab.until_drawn("STEP 3 OF")
            picture = await tab.picture()
            return tab.requests, picture

    requests, picture = asyncio.run(work())
    (tmp_path / "page.png").write_bytes(picture)
    assert _steps(store)[:3] == ["lower", "key-out", "pressure-bleeds"]
    ours = urlsplit(address).netloc
    assert {urlsplit(url).netloc for url in requests if not url.startswith(("data:", "blob:"))} == {ours}
    assert len(picture) > 10_000


def test_pages_of_other_places_are_turned_away(served: tuple[str, Path]) -> None:
    """A web socket does not keep to the same-origin rule by itself (RFC 6455, 10.2): the server has to."""
    address, store = served

    async def knock(origin: str, host: str = "") -> int:
        headers = {"Origin": origin} | ({"Host": host} if host else {})
        async with aiohttp.ClientSession() as session:
            try:
                async with session.ws_connect(f"{address}/ws", headers=headers):
                    return 101
            except aiohttp.WSServerHandshakeError as refused:
                return refused.status

    assert asyncio.run(knock("http://elsewhere.example")) == 403
    # a name somebody points at this computer: the origin agrees with the host, but it is not ours
    assert asyncio.run(knock("http://elsewhere.example:80", "elsewhere.example:80")) == 403
    assert not store.exists()


def test_one_browser_at_a_time(served: tuple[str, Path]) -> None:
    """Two would be two sittings on one job; the second waits a little, in case the first has only loaded anew."""
    address = served[0]

    @contextlib.asynccontextmanager
    async def screen() -> AsyncIterator[aiohttp.ClientWebSocketResponse]:
        async with (
            aiohttp.ClientSession() as session,
            session.ws_connect(f"{address}/ws", headers={"Origin": address}) as ws,
        ):
            yield ws

    async def both() -> int:
        async with screen() as first:
            await first.receive()
            try:
                async with screen():
                    return 101
            except aiohttp.WSServerHandshakeError as refused:
                return refused.status

    assert asyncio.run(both()) == 409


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("", ("127.0.0.1", 8321)),
        ("8400", ("127.0.0.1", 8400)),
        ("bay-2:80", ("bay-2", 80)),
        ("[::1]:9000", ("::1", 9000)),
    ],
)
def test_an_address_is_read(text: str, place: tuple[str, int]) -> None:
    assert address_of(text) == place


@pytest.mark.parametrize("text", ["x", "0", "70000", "1.2.3.4:port"])
def test_a_wrong_address_is_told(text: str) -> None:
    with pytest.raises(BayError, match="HOST:PORT"):
        address_of(text)


def test_other_computers_are_warned_of() -> None:
    """On loopback nobody else can come; anywhere else everybody can, and it says so."""
    assert all(map(is_loopback, ("127.0.0.1", "::1", "localhost")))
    assert warning("127.0.0.1") == ""
    assert "without a password" in warning("0.0.0.0")
