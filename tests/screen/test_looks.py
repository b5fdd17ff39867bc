"""What each dialogue state looks like, on terminals of several shapes."""

from __future__ import annotations

import unicodedata
from functools import lru_cache

import numpy as np
import pytest
from rich.color_triplet import ColorTriplet
from textual.pilot import Pilot

from bayvoice.dialogue.engine.state import Mode
from bayvoice.dialogue.flow.steer import expects
from bayvoice.screen import letters
from bayvoice.screen.app import BLINK_EVERY, BayScreen
from bayvoice.screen.keys import keys_of
from bayvoice.screen.parts import KeyButton, Large, WaitRow
from bayvoice.screen.shades import CLEAR_VARIABLES, THEMES
from bayvoice.screen.signs import ASCII, UNICODE, Signs, signs_for, written
from tests.screen.looks import SIZES, channel_light, contrast, in_256, pairs, rows, seen, text, text_of
from tests.screen.walk import Walk, in_mode, walk_to


@lru_cache(maxsize=1)
def walks() -> dict[Mode, Walk]:
    """One job for each dialogue state."""
    return {mode: in_mode(mode) for mode in Mode}


def screen(walk: Walk, signs: Signs = UNICODE, theme: str = "dark") -> BayScreen:
    """A screen that will show `walk`."""
    app = BayScreen(lambda words: None, lambda: None, clock=lambda: walk.mono, signs=signs, theme=theme)
    app.show(walk.state)
    app.show_level(-24.0, "listening")
    return app


async def settled(pilot: Pilot[None]) -> None:
    """Wait until everything that was asked for has been drawn."""
    for _ in range(3):
        await pilot.pause()


IN_MODE: dict[Mode, tuple[str, ...]] = {
    Mode.STEP: ("▲ WARNING Gasket remover could blind you.", "Both sealing faces, thin and even."),
    Mode.CHECK: ("▲ WARNING With the transfer case open", "Are both front wheels chocked?"),
    Mode.MEASURE: ("cover bolt torque: 30.0 to 45.0 N·m, with torque", "✓ shaft end float 0.12 mm,"),
    Mode.CONFIRM: ("cover bolt torque, read back", "✗ too low (30.0 to 45.0 N·m). Not logged yet."),
    Mode.OVERRIDE: ("a guard is in the way",),
    Mode.REASON: ("a reason is wanted", "part missing, wrong part"),
    Mode.FASTEN: ("✓ done 10 N·m ▶ NOW 24 N·m ○ then a further 60°", "order, 8 cover bolts: 1 5 3 7 2 6 4 8"),
    Mode.WAIT: ("remover on the cover", "○ NOT YET, 3 min more", "at least 3 min, at most 8"),
    Mode.AMBIENT: ("bond", "○ NOT YET, 1 h more"),
    Mode.SURE: ("about a wait",),
    Mode.WHICH: ("about a wait", "○ NOT YET, 1 h more"),
    Mode.REPLACE: ("one-use part: drain plug washer, number K40-7-030", "○ not recorded"),
    Mode.TALLY: ("transfer case: in it now", "2 rag"),
    Mode.HOLD: ("hold point: the foreman looks at gears, marks and",),
    Mode.TOGETHER: ("2 people needed: ○ not all in place yet", "▲ WARNING A dropped cover"),
    Mode.EITHER: ("a question first",),
    Mode.GAUGE: ("a question first",),
    Mode.BOLT: ("Tighten the eight cover bolts",),
    Mode.LIST: ("the list of parts and consumables",),
    Mode.SPELL: ("a batch number is wanted",),
    Mode.EXPIRY: ("a shelf life is wanted",),
    Mode.CONSENT: ("handing over",),
    Mode.CODE: ("a code is wanted; it is neither shown nor kept",),
    Mode.NAMED: ("somebody has to allow it",),
    Mode.NOTING: ("a note",),
    Mode.PAUSED: ("PAUSED", "remover on the cover"),
    Mode.FINISHED: ("ALL 31 STEPS DONE",),
}
"""What must be on the screen besides what every state has."""


@pytest.mark.parametrize("size", SIZES, ids=str)
@pytest.mark.parametrize("mode", list(Mode))
async def test_one_look_tells_everything(mode: Mode, size: tuple[int, int]) -> None:
    """Place, step, what is expected, what the kind of step brings and every key are on the screen, whole."""
    walk = walks()[mode]
    app = screen(walk)
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        found = text(app)
        for part in ("#place", "#step", "#expected", "#heard", "#ears"):
            assert seen(app, app.query_one(part)), part
        if walk.step:
            assert f"STEP {walk.state.job.step + 1} OF {len(walk.procedure.steps)}" in found
        assert walk.procedure.title.split(",")[0] in found
        big = app.query_one("#step", Large)
        assert text_of(app, big) == " ".join(" ".join(big.drawing or [big.shown]).split())
        assert expects(walk.state) in text_of(app, app.query_one("#expected"))
        assert "ears listening" in found
        columns = " | ".join(text_of(app, app.query_one(part)) for part in ("#head", "#centre", "#side"))
        for piece in IN_MODE[mode]:
            assert piece in columns
        buttons = {button.key: button for button in app.query(KeyButton) if button.display}
        for key in keys_of(mode):
            assert seen(app, buttons[key.key]), f"the key {key.key} of {key.intent} cannot be seen"
            assert f" {key.key}  {key.label}" in "\n".join(rows(app))
        assert set(buttons) == {key.key for key in keys_of(mode)} | {"enter", "l", "f9"}


async def test_large_letters_where_there_is_room() -> None:
    """A wall terminal and an upright one show the step in block letters, a small one in plain bold ones."""
    walk = walks()[Mode.HOLD]
    for size, wanted in (((160, 48), True), ((60, 90), True), ((80, 24), False)):
        app = screen(walk)
        async with app.run_test(size=size) as pilot:
            await settled(pilot)
            assert bool(app.query_one("#step", Large).drawing) is wanted, size


async def test_a_resized_terminal_is_laid_out_anew() -> None:
    """Growing brings the large letters, shrinking takes them back, and nothing is lost on the way."""
    walk = walks()[Mode.HOLD]
    app = screen(walk)
    async with app.run_test(size=(80, 24)) as pilot:
        for size, wanted in (((160, 48), True), ((80, 24), False), ((60, 90), True)):
            await pilot.resize_terminal(*size)
            await settled(pilot)
            assert bool(app.query_one("#step", Large).drawing) is wanted, size
            assert expects(walk.state) in text_of(app, app.query_one("#expected"))


async def test_what_is_turned_now_is_read_from_afar() -> None:
    """In a fasten step the torque, and where they are gone through one by one the fastener, are what is large."""
    for mode, wanted in ((Mode.FASTEN, "24 N·m"), (Mode.BOLT, "cover bolt 1: 10 N·m")):
        app = screen(walks()[mode])
        async with app.run_test(size=(160, 48)) as pilot:
            await settled(pilot)
            assert app.query_one("#step", Large).shown == wanted
            assert app.query_one("#step", Large).drawing


def test_contrast_is_computed_as_published() -> None:
    """Check values printed in "Web Accessibility Cookbook" (livebook.manning.com), which quotes WCAG 2."""
    white, black = ColorTriplet(255, 255, 255), ColorTriplet(0, 0, 0)
    blue, red = ColorTriplet(0, 0, 255), ColorTriplet(255, 0, 0)
    grey = ColorTriplet(0x76, 0x76, 0x76)  # printed as hsl(0 0% 46%); 118 is the level that gives the figure printed
    assert contrast(black, white) == pytest.approx(21.0, abs=0.005)
    assert contrast(blue, white) == pytest.approx(8.59, abs=0.005)
    assert contrast(blue, red) == pytest.approx(2.15, abs=0.005)
    assert contrast(grey, white) == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("theme", THEMES)
async def test_every_character_has_a_contrast_of_seven(theme: str) -> None:
    """WCAG 2 success criterion 1.4.6 (level AAA): at least 7:1, whatever the state, in every theme.

    The same in a terminal of 256 colours, whose colours are the ones of xterm's palette as Rich holds it.
    """
    busy = walk_to("fit-cover")
    busy.hear("flibber gibbet", -0.8, "not a phrase of this step")
    busy.trouble("microphone", "No sound for 10 s", "Plug the microphone in")
    late, soon = Walk(), walk_to("fit-cover")
    soon.later(290.0)
    busy.later(400.0)
    drain = walk_to("drain")
    scrape = walk_to("scrape")
    counted = 0
    small, wall = SIZES[:2]
    everything = (*walks().values(), busy, late, soon, drain, scrape)
    assert {walk.state.mode for walk in everything} == set(Mode)
    # the wall terminal lays the same pieces out in other classes: two states hold all of them
    for size, shown_there in ((small, everything), (wall, (busy, walks()[Mode.FASTEN]))):
        for walk in shown_there:
            app = screen(walk, theme=theme)
            async with app.run_test(size=size) as pilot:
                await settled(pilot)
                await pilot.press("enter", "3", "2")
                await settled(pilot)
                if walk.state.mode is Mode.STEP:
                    await pilot.hover(KeyButton)
                    await settled(pilot)
                for shown, ink, ground in pairs(app):
                    ratio = contrast(ink, ground)
                    assert ratio >= 7.0, f"{shown!r}: {ink.hex} on {ground.hex} is {ratio:.2f}"
                    ratio = contrast(in_256(ink), in_256(ground))
                    assert ratio >= 7.0, f"{shown!r}: {ink.hex} on {ground.hex} in 256 colours is {ratio:.2f}"
                    counted += 1
    assert counted > 1000


LACKING: dict[str, list[list[float]]] = {
    "all three cones": [[1, 0, 0], [0, 1, 0], [0, 0, 1]],
    "no long-wave cones": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "no middle-wave cones": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "no short-wave cones": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
}
"""What an eye makes of linear RGB (Machado, Oliveira and Fernandes 2009, severity 1; the figures from memory)."""


def lab(colour: str, eye: list[list[float]]) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """CIE L*a*b* (D65) of a sRGB colour "#rrggbb" as `eye` sees it."""
    linear = np.array([channel_light(int(colour[at : at + 2], 16)) for at in (1, 3, 5)])
    seen_so = np.clip(np.array(eye) @ linear, 0, 1)
    to_xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
    x, y, z = np.cbrt(np.maximum(to_xyz @ seen_so / np.array([0.9505, 1.0, 1.089]), 0.0))
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


@pytest.mark.parametrize("eye", LACKING)
def test_no_two_meanings_look_alike_to_any_eye(eye: str) -> None:
    """In the theme for eyes that lack a cone, grounds of different meaning stay far apart for every eye."""
    names = ("danger", "warning", "caution", "notice", "ask", "stop")
    grounds = [CLEAR_VARIABLES[f"{name}-ground"] for name in names] + [CLEAR_VARIABLES["ground"]]
    points = [lab(ground, LACKING[eye]) for ground in grounds]
    apart = min(float(np.linalg.norm(a - b)) for at, a in enumerate(points) for b in points[:at])
    assert apart > 28


async def test_an_alert_blinks_only_where_that_is_allowed() -> None:
    """Off by default; where allowed, not more than three times a second (WCAG 2, success criterion 2.3.1)."""
    assert BLINK_EVERY * 2 >= 1 / 3
    walk = walk_to("fit-cover")
    walk.later(290.0)
    assert walk.state.alerts
    for blink in (False, True):
        app = BayScreen(lambda words: None, lambda: None, clock=lambda: walk.mono, blink=blink)
        app.show(walk.state)
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            alerts = app.query_one("#alerts")
            found = set()
            for _ in range(14):
                await pilot.pause(0.1)
                found.add(alerts.has_class("off"))
            assert found == ({False, True} if blink else {False})


async def test_signal_words_carry_the_meaning_without_colour() -> None:
    """ANSI Z535.4: the word says how bad it is, the alert symbol stands for injury only; so no NOTICE has one."""
    app = screen(Walk())
    async with app.run_test(size=(100, 30)) as pilot:
        await settled(pilot)
        found = text(app)
        assert "▲ DANGER The tractor will crush" in found
        assert "▲ WARNING Oil and casing" in found
        assert "NOTICE Dirt left" in found
        assert "▲ NOTICE" not in found
        assert found.index("DANGER") < found.index("WARNING") < found.index("NOTICE")


@pytest.mark.parametrize("mode", list(Mode))
async def test_a_terminal_without_unicode_gets_ascii(mode: Mode) -> None:
    """Nothing outside ASCII is sent, and every word is still there."""
    walk = walks()[mode]
    app = screen(walk, signs=ASCII)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        found = "\n".join(rows(app))
        assert found.isascii(), {c for c in found if not c.isascii()}
        assert written(expects(walk.state), ASCII) in text_of(app, app.query_one("#expected"))


def test_the_terminal_decides_the_symbols() -> None:
    """UTF-8 gets symbols; ASCII, Latin-1, the Linux console and whoever asks for it get ASCII."""
    assert signs_for("utf-8", {"TERM": "xterm-256color"}) is UNICODE
    assert signs_for("utf-8", {"TERM": "linux"}) is ASCII
    assert signs_for("utf-8", {"BAYVOICE_ASCII": "1"}) is ASCII
    assert signs_for("ascii", {}) is ASCII
    assert signs_for("iso-8859-1", {}) is ASCII
    assert signs_for("no-such-encoding", {}) is ASCII
    assert signs_for(None, {}) is ASCII
    assert written("38.5 N·m, 60°, µm, Ω, naïve — ✓", ASCII) == "38.5 N.m, 60 deg, um, ohm, naive - ?"


def test_letters_are_whole_and_made_of_half_blocks() -> None:
    """Each glyph is a rectangle of at most ten rows; the cells are the half blocks of the Unicode standard."""
    for char in letters._GLYPHS:
        drawn = letters._GLYPHS[char]
        assert len({len(row) for row in drawn}) == 1, char
        assert len(drawn) < letters.ROWS, f"{char} touches the line below"
    assert len({glyph for char, glyph in letters._GLYPHS.items() if char not in "–—"}) == len(letters._GLYPHS) - 2
    names = {cell: unicodedata.name(char) for cell, char in letters._CELL.items()}
    assert names == {
        (False, False): "SPACE",
        (True, False): "UPPER HALF BLOCK",
        (False, True): "LOWER HALF BLOCK",
        (True, True): "FULL BLOCK",
    }


@pytest.mark.parametrize("columns", [20, 46, 78, 118])
@pytest.mark.parametrize("rows_", [5, 12, 30])
def test_large_text_fits_its_box_and_loses_nothing(columns: int, rows_: int) -> None:
    """Whatever is drawn stays inside, and each letter's ink can be found again in its line."""
    said = "Fit the 8 bolts, 24 N·m"
    drawn = letters.large(said, columns, rows_)
    assert len(drawn) <= rows_
    assert all(len(row) <= columns for row in drawn)
    if drawn:
        ink = {" ": 0, "▀": 1, "▄": 1, "█": 2}
        found = sum(ink[cell] for row in drawn for cell in row)
        once = sum(row.count("#") for char in said for row in letters._GLYPHS[char])
        scale = round((found / once) ** 0.5)
        assert found == once * scale**2


def test_a_letter_nobody_drew_falls_back_to_plain_text() -> None:
    """Other scripts are shown as the terminal writes them rather than with gaps."""
    assert letters.large("Öl ablassen", 100, 20) == ()
    assert letters.large("", 100, 20) == ()


async def test_waits_say_in_words_where_they_stand() -> None:
    """Not yet, may go on, soon over and too late, with the numbers of the maker's window (8 minutes, at least 3)."""
    walk = walk_to("remover-works")
    walk.type("go")
    begun = walk.mono
    app = BayScreen(lambda words: None, lambda: None, clock=lambda: walk.mono, signs=UNICODE)
    app.show(walk.state)
    async with app.run_test(size=(120, 40)) as pilot:
        for after, word in (
            (70.0, "○ NOT YET, 1 min 50 s more"),
            (180.0, "✓ MAY GO ON, 5 min left"),
            (450.0, "▲ SOON OVER, 30 s left"),
            (500.0, "✗ TOO LATE by 20 s"),
        ):
            walk.mono = begun + after
            app._move()
            await settled(pilot)
            row = app.query_one(WaitRow)
            assert word in row.text
            assert word in text(app)
            assert "at least 3 min, at most 8 min" in text(app)
