"""The pictures of the README are those of the screen as it is now."""

from __future__ import annotations

import re

import pytest

from tests.screen.pictures import FOLDER, PICTURES, picture


@pytest.mark.parametrize("name", PICTURES)
async def test_a_picture_is_what_the_screen_shows(name: str) -> None:
    """Made anew by `python -m tests.screen.pictures` where this fails and the new look is wanted."""
    kept = (FOLDER / f"{name}.svg").read_text(encoding="utf-8")
    assert await picture(PICTURES[name]()) == kept
    # the namespace is a name, not something that is fetched
    assert re.findall(r"https?://[^\"' )]+", kept) == ["http://www.w3.org/2000/svg"]


def test_no_picture_is_left_over() -> None:
    assert {path.stem for path in FOLDER.glob("*.svg")} == set(PICTURES)
