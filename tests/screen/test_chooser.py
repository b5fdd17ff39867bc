"""The screen on which a job is chosen, alone and in a real terminal."""

from __future__ import annotations

import pytest
from textual.pilot import Pilot

from bayvoice.screen.chooser import ChoiceLine, ChooserScreen
from bayvoice.screen.shades import THEMES
from tests.dialogue.talker import CHOICES, Talker
from tests.screen.looks import contrast, pairs, text


class Desk:
    """A screen with choosing behind it."""

    def __init__(self, theme: str = "dark") -> None:
        self.talker = Talker()
        self.left = 0
        self.app = ChooserScreen(self._words, self._leave, theme=theme)
        self.app.show(self.talker.state)

    def _words(self, words: str) -> None:
        self.talker.type(words)
        self.app.show(self.talker.state)

    def _leave(self) -> None:
        self.left += 1


async def settled(pilot: Pilot[None]) -> None:
    for _ in range(4):
        await pilot.pause()


async def test_a_job_is_chosen_by_keys() -> None:
    desk = Desk()
    async with desk.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "1 Transfer-case cover, Varrow K40 ▶ open: K40-0117, step 3 of 30, Imre" in text(desk.app)
        assert "say the NUMBER of a job" in text(desk.app)
        await pilot.press("2")
        await settled(pilot)
        assert "say YES or NO" in text(desk.app)
        assert [line.number for line in desk.app.query(ChoiceLine) if line.has_class("picked")] == [2]
        await pilot.press("y")
        await settled(pilot)
        assert desk.talker.state.taken is CHOICES[1]


async def test_a_job_is_chosen_by_clicks() -> None:
    """One click picks, a second on the same line confirms; one on another line changes one's mind."""
    desk = Desk()
    async with desk.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        lines = list(desk.app.query(ChoiceLine))
        await pilot.click(lines[0])
        await settled(pilot)
        await pilot.click(lines[2])
        await settled(pilot)
        assert desk.talker.state.picked is CHOICES[2]
        await pilot.click(lines[2])
        await settled(pilot)
        assert desk.talker.state.taken is CHOICES[2]


async def test_leaving_is_told() -> None:
    desk = Desk()
    async with desk.app.run_test(size=(80, 24)) as pilot:
        await pilot.press("f9")
        assert desk.left == 1


@pytest.mark.parametrize("theme", THEMES)
async def test_the_contrast_is_that_of_the_bay_screen(theme: str) -> None:
    """WCAG 2 success criterion 1.4.6: at least 7:1."""
    desk = Desk(theme)
    async with desk.app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("2")
        await settled(pilot)
        desk.app.show_level(-20.0, "listening")
        await settled(pilot)
        found = list(pairs(desk.app))
    assert len(found) > 10
    for shown, ink, ground in found:
        assert contrast(ink, ground) >= 7.0, f"{shown!r}: {ink.hex} on {ground.hex}"
