"""The look of every dialogue state, held against what was looked at and kept."""

from __future__ import annotations

import pytest

from bayvoice.dialogue.engine.state import Mode
from tests.screen.snapshots import FOLDER, SIZES, path_of, snapshot


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("mode", list(Mode))
async def test_a_state_looks_as_it_was_kept(mode: Mode, size: tuple[int, int]) -> None:
    """Written anew by `python -m tests.screen.snapshots` where this fails and the new look is wanted."""
    assert await snapshot(mode, size) == path_of(mode, size).read_text(encoding="utf-8")


def test_no_snapshot_is_left_over() -> None:
    assert {path.name for path in FOLDER.glob("*.txt")} == {path_of(m, s).name for m in Mode for s in SIZES}
