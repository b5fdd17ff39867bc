"""What every dialogue state looks like, letter by letter, at 80 by 24 and 160 by 48: files in tests/screen/snapshots.

`python -m tests.screen.snapshots` writes them anew; look at the difference before keeping it. No clock and nothing that
moves is in them.
"""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Final

from bayvoice.dialogue.engine.state import Mode
from bayvoice.screen.app import BayScreen
from bayvoice.screen.signs import UNICODE
from tests.screen.looks import rows
from tests.screen.walk import in_mode

FOLDER: Final = Path(__file__).parent / "snapshots"
SIZES: Final = ((80, 24), (160, 48))


def path_of(mode: Mode, size: tuple[int, int]) -> Path:
    """Where the snapshot of a state is kept."""
    return FOLDER / f"{mode.value}-{size[0]}x{size[1]}.txt"


async def snapshot(mode: Mode, size: tuple[int, int]) -> str:
    """The screen's characters, row by row."""
    walk = in_mode(mode)
    app = BayScreen(lambda _: None, lambda: None, clock=lambda: walk.mono, signs=UNICODE)
    app.show(walk.state)
    app.show_level(-24.0, "listening")
    async with app.run_test(size=size) as pilot:
        for _ in range(5):
            await pilot.pause()
        return "".join(f"{row.rstrip()}\n" for row in rows(app))


def main() -> None:
    """Write all of them."""
    FOLDER.mkdir(exist_ok=True)
    for old in FOLDER.glob("*.txt"):
        old.unlink()
    for mode in Mode:
        for size in SIZES:
            path_of(mode, size).write_text(asyncio.run(snapshot(mode, size)), encoding="utf-8")


if __name__ == "__main__":
    main()
