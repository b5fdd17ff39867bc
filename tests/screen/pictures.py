"""The README's pictures of the screen, as the screen itself exports them: `python -m tests.screen.pictures` makes them
anew in demo/pictures. Nothing in them comes from a clock, so a test can hold them against the screen.
"""

from __future__ import annotations

import asyncio
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

from textual.app import App

from bayvoice.dialogue.engine.state import Mode
from bayvoice.screen.app import BayScreen
from bayvoice.screen.chooser import ChooserScreen
from bayvoice.screen.signs import UNICODE
from tests.dialogue.talker import Talker
from tests.screen.walk import Walk, in_mode

FOLDER: Final = Path(__file__).resolve().parents[2] / "demo" / "pictures"
SIZE: Final = (110, 34)


def job(walk: Walk, theme: str = "dark") -> App[Any]:
    """The screen of a job."""
    app = BayScreen(lambda _: None, lambda: None, clock=lambda: walk.mono, signs=UNICODE, theme=theme)
    app.show(walk.state)
    app.show_level(-24.0, "listening")
    return app


def waiting() -> Walk:
    """A wait that is half over."""
    walk = in_mode(Mode.WAIT)
    walk.later(80.0)
    walk.hear("how long", 4.0, sure=4.5)
    return walk


def choosing() -> App[Any]:
    """The screen on which a job is chosen."""
    talker = Talker()
    talker.type("2")
    app = ChooserScreen(lambda _: None, lambda: None, signs=UNICODE)
    app.show(talker.state)
    return app


PICTURES: Final[dict[str, Callable[[], App[Any]]]] = {
    "wait": lambda: job(waiting()),
    "read-back": lambda: job(in_mode(Mode.CONFIRM)),
    "fasten": lambda: job(in_mode(Mode.FASTEN)),
    "hold-light": lambda: job(in_mode(Mode.HOLD), "light"),
    "choose": choosing,
}


def plain(svg: str) -> str:
    """The picture without what would be fetched from elsewhere and without the frame of somebody's window."""
    svg = re.sub(r"@font-face\s*\{.*?\}", "", svg, flags=re.DOTALL)
    svg = re.sub(r"<!--.*?-->|<circle[^>]*/>", "", svg, flags=re.DOTALL)
    svg = re.sub(r'<text class="[^"]*-title"[^>]*>.*?</text>', "", svg, flags=re.DOTALL)
    svg = svg.replace("Fira Code, monospace", "DejaVu Sans Mono, monospace")
    return "\n".join(line.rstrip() for line in svg.splitlines() if line.strip()) + "\n"


async def picture(app: App[Any]) -> str:
    """What `app` looks like, as SVG."""
    async with app.run_test(size=SIZE) as pilot:
        for _ in range(5):
            await pilot.pause()
        return plain(app.export_screenshot(simplify=True))


def main() -> None:
    """Make all pictures anew."""
    FOLDER.mkdir(exist_ok=True)
    for name, make in PICTURES.items():
        path = FOLDER / f"{name}.svg"
        path.write_text(asyncio.run(picture(make())), encoding="utf-8")
        print(path)


if __name__ == "__main__":
    main()
