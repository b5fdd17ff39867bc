"""The screen in a browser, for a tablet on the bench: `textual-serve` with a page of our own that fetches nothing.

One browser at a time, since a job has one sitting; a second one is told so. Pages of other origins are turned away,
or any page open in that browser could drive the job.
"""

from __future__ import annotations

import asyncio
import contextlib
import ipaddress
import os
import shlex
import socket
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import aiohttp_jinja2
from aiohttp import web
from textual_serve.server import Server

from bayvoice.errors import BayError

LOOPBACK = "127.0.0.1"
PORT = 8321
PAGE = Path(__file__).parent / "page"
CLOSING_S = 15.0
"""How long a new browser waits for the sitting of one that has just gone (a page loaded anew) to end."""


def address_of(text: str) -> tuple[str, int]:
    """Host and port of ``HOST:PORT``, ``PORT`` or ""; BayError where it is neither.

    >>> address_of("8400")
    ('127.0.0.1', 8400)
    """
    host, _, port = text.rpartition(":")
    try:
        number = int(port or PORT)
    except ValueError:
        number = -1
    if not 0 < number < 65536:
        raise BayError("this is no address to serve on", text, "write HOST:PORT, or a port from 1 to 65535")
    return (host.strip("[]") or LOOPBACK), number


def is_loopback(host: str) -> bool:
    """Whether only this computer can reach `host`."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def warning(host: str) -> str:
    """What to know before serving on `host`; "" on loopback."""
    if is_loopback(host):
        return ""
    return (
        f"WARNING: everyone who can reach {host} can work this job, sign and read its record, without a password and "
        "unencrypted. Serve only on a network of the workshop's own."
    )


def command_of(arguments: Sequence[str]) -> str:
    """The shell command that runs `bayvoice` with `arguments` in this Python."""
    return shlex.join([sys.executable, "-m", "bayvoice", *arguments])


class BayServer(Server):
    """Serves one command's screen to one browser.

    Args:
        arguments: command line of `bayvoice`, without the program's name.
        host, port: where to serve.
    """

    def __init__(self, arguments: Sequence[str], host: str = LOOPBACK, port: int = PORT) -> None:
        shown = f"[{host}]" if ":" in host else host
        super().__init__(
            command_of(arguments),
            host,
            port,
            "bayvoice",
            f"http://{shown}:{port}",
            templates_path=PAGE,
        )
        self._free = asyncio.Lock()

    async def on_startup(self, app: web.Application) -> None:
        """Say where the screen is to be seen, once it is."""
        self._telling = asyncio.create_task(self._tell())

    async def _tell(self) -> None:
        while True:
            # aiohttp says nothing when it has begun to listen, so knock until the door opens
            await asyncio.sleep(0.05)
            with contextlib.suppress(OSError):
                _, writer = await asyncio.open_connection(self.host, self.port)
                writer.close()
                break
        text = warning(self.host)
        if text:
            print(text, file=sys.stderr, flush=True)
        print(f"The screen is at {self.public_url} (Ctrl+C ends it)", flush=True)

    def initialize_logging(self) -> None:
        """Nothing is logged but what goes wrong, by the standard library's own rule."""

    def _ours(self, netloc: str) -> bool:
        """Whether a browser that came by `netloc` came to this computer, not to a name somebody points at it."""
        name = urlsplit(f"//{netloc}").hostname or ""
        with contextlib.suppress(ValueError):
            ipaddress.ip_address(name)
            return True
        return name in ("localhost", self.host.lower(), socket.gethostname().lower())

    @aiohttp_jinja2.template("app_index.html")
    async def handle_index(self, request: web.Request) -> dict[str, Any]:
        """The page; its parts come from the address it was asked for by."""
        size = request.query.get("fontsize", "")
        return {
            "font_size": int(size) if size.isdecimal() and 6 <= int(size) <= 96 else 18,
            "app_websocket_url": f"ws://{request.host}/ws",
            "config": {"static": {"url": "/static/"}},
            "application": {"name": self.title},
        }

    async def handle_websocket(self, request: web.Request) -> web.WebSocketResponse:
        """A browser wants the screen."""
        if urlsplit(request.headers.get("Origin", "")).netloc != request.host or not self._ours(request.host):
            raise web.HTTPForbidden(text="This screen is not for pages of other places.\n")
        try:
            await asyncio.wait_for(self._free.acquire(), CLOSING_S)
        except TimeoutError:
            raise web.HTTPConflict(text="The screen is open in another browser.\n") from None
        try:
            return await super().handle_websocket(request)
        finally:
            self._free.release()


def serve(arguments: Sequence[str], host: str = LOOPBACK, port: int = PORT) -> int:
    """Serve the screen of ``bayvoice ARGUMENTS`` until Ctrl+C. BayError where the address cannot be had."""
    # The screen's own standard output is a pipe, whose encoding would else follow the locale.
    os.environ.setdefault("PYTHONIOENCODING", "utf-8")
    loop = asyncio.new_event_loop()
    asyncio.set_event_loop(loop)
    try:
        with contextlib.suppress(KeyboardInterrupt):
            BayServer(arguments, host, port).serve()
    except OSError as error:
        raise BayError(
            f"the screen cannot be served there ({error.strerror})", f"{host}:{port}", "name another HOST:PORT"
        ) from None
    finally:
        loop.close()
    return 0
