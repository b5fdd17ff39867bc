"""A page in headless Chromium, driven over its DevTools protocol: keys and clicks in, requests and pictures out."""

from __future__ import annotations

import asyncio
import base64
import contextlib
import os
import re
import shutil
import subprocess
import tempfile
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

import aiohttp

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
_ESCAPES = re.compile(r"\x1b\[[0-9;?<>=]*[ -/]*[@-~]|\x1b\][^\x07]*\x07|\x1b.")


class Tab:
    """One page. `requests`: every address it asked for; `drawn`: the text that came over its web sockets."""

    def __init__(self, socket: aiohttp.ClientWebSocketResponse) -> None:
        self.requests: list[str] = []
        self.drawn = ""
        self._socket = socket
        self._count = 0
        self._answers: dict[int, asyncio.Future[dict[str, Any]]] = {}
        self._reader = asyncio.create_task(self._read())

    async def _read(self) -> None:
        async for message in self._socket:
            said = message.json()
            if "id" in said:
                self._answers.pop(said["id"]).set_result(said)
            elif said["method"] == "Network.requestWillBeSent":
                self.requests.append(said["params"]["request"]["url"])
            elif said["method"] == "Network.webSocketCreated":
                self.requests.append(said["params"]["url"])
            elif said["method"] == "Network.webSocketFrameReceived":
                frame = said["params"]["response"]
                if frame["opcode"] == 2:
                    text = base64.b64decode(frame["payloadData"]).decode("utf-8", "replace")
                    self.drawn += _ESCAPES.sub(" ", text)

    async def ask(self, method: str, **params: Any) -> dict[str, Any]:
        """Call a method of the protocol; its result."""
        self._count += 1
        answer = self._answers[self._count] = asyncio.get_running_loop().create_future()
        await self._socket.send_json({"id": self._count, "method": method, "params": params})
        said = await asyncio.wait_for(answer, 30)
        assert "error" not in said, said
        result: dict[str, Any] = said["result"]
        return result

    async def go(self, url: str) -> None:
        """Open `url`."""
        await self.ask("Network.enable")
        await self.ask("Page.enable")
        await self.ask("Page.navigate", url=url)

    async def press(self, key: str) -> None:
        """Press a key that writes a character."""
        await self.ask("Input.dispatchKeyEvent", type="keyDown", key=key, text=key)
        await self.ask("Input.dispatchKeyEvent", type="keyUp", key=key)

    async def click(self, x: float, y: float) -> None:
        """Click at a place of the page, in its own pixels."""
        for kind in ("mousePressed", "mouseReleased"):
            await self.ask("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", clickCount=1)

    async def evaluate(self, expression: str) -> Any:
        """The value of a JavaScript expression."""
        result = await self.ask("Runtime.evaluate", expression=expression, returnByValue=True)
        return result["result"].get("value")

    async def picture(self) -> bytes:
        """What the page looks like, as PNG."""
        return base64.b64decode((await self.ask("Page.captureScreenshot"))["data"])

    async def until_drawn(self, text: str, seconds: float = 60.0) -> None:
        """Wait until `text` has come over a web socket since this was last emptied."""
        for _ in range(int(seconds * 10)):
            if text in " ".join(self.drawn.split()):
                return
            await asyncio.sleep(0.1)
        raise AssertionError(f"{text!r} was not drawn; the end of what was: {' '.join(self.drawn.split())[-500:]}")

    def close(self) -> None:
        """Stop reading."""
        self._reader.cancel()


@contextlib.asynccontextmanager
async def a_tab(width: int = 1280, height: int = 800) -> AsyncIterator[Tab]:
    """A new page in a Chromium of its own."""
    assert CHROMIUM is not None
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as place:
        sandbox = ["--no-sandbox"] if os.geteuid() == 0 else []
        browser = subprocess.Popen(
            [
                CHROMIUM,
                "--headless",
                *sandbox,
                "--disable-gpu",
                "--remote-debugging-port=0",
                "--no-first-run",
                "--enable-unsafe-swiftshader",
                f"--user-data-dir={place}",
                f"--window-size={width},{height}",
                "about:blank",
            ],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        try:
            told = Path(place) / "DevToolsActivePort"
            for _ in range(300):
                if told.exists() and told.read_text().count("\n"):
                    break
                await asyncio.sleep(0.1)
            port = told.read_text().split("\n")[0]
            async with aiohttp.ClientSession() as session:
                async with session.get(f"http://127.0.0.1:{port}/json/list") as answer:
                    page = next(one for one in await answer.json() if one["type"] == "page")
                async with session.ws_connect(page["webSocketDebuggerUrl"], max_msg_size=0) as socket:
                    tab = Tab(socket)
                    try:
                        yield tab
                    finally:
                        tab.close()
        finally:
            browser.terminate()
            browser.wait(10)
