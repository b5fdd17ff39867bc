"""States and levels that come from another thread, faster than anyone can look; time that passes by itself."""

from __future__ import annotations

import asyncio
import threading
from dataclasses import replace

import pytest
from textual.pilot import Pilot

from bayvoice.dialogue.engine.state import HeardLine
from bayvoice.screen.app import BayScreen
from bayvoice.screen.mailbox import Mailbox
from bayvoice.screen.parts import KeyButton, Large, Line, WaitRow, level_picture
from bayvoice.screen.signs import UNICODE
from tests.screen.looks import text, text_of
from tests.screen.walk import Walk, walk_to

FLOOD = 1000


def nothing(*_: object) -> None:
    """Takes what a screen hands back and forgets it."""


async def until(pilot: Pilot[None], wanted: str, seconds: float = 20.0) -> None:
    """Wait until `wanted` is on the screen."""
    for _ in range(int(seconds / 0.05)):
        await pilot.pause()
        if wanted in text(pilot.app):
            return
        await asyncio.sleep(0.05)
    raise AssertionError(f"{wanted!r} never came: {text(pilot.app)}")


def test_a_mailbox_keeps_the_newest_and_tells_once() -> None:
    """Between two looks one message is enough, however much has come."""
    told: list[int] = []
    box: Mailbox[int] = Mailbox(lambda: told.append(1))
    assert box.take() is None
    for letter in range(5):
        box.put(letter)
    assert len(told) == 1
    assert box.take() == 4
    assert box.take() is None
    box.put(9)
    assert len(told) == 2
    assert box.take() == 9


def test_no_letter_is_lost_between_threads() -> None:
    """The last letter always arrives, and whoever looks is always told of it."""
    told = threading.Semaphore(0)
    box: Mailbox[int] = Mailbox(told.release)
    seen: list[int] = []

    def look() -> None:
        while not seen or seen[-1] < 20_000:
            assert told.acquire(timeout=20)
            letter = box.take()
            if letter is not None:
                seen.append(letter)

    looker = threading.Thread(target=look)
    looker.start()
    for letter in range(20_001):
        box.put(letter)
    looker.join(30)
    assert not looker.is_alive()
    assert seen == sorted(set(seen))
    assert seen[-1] == 20_000


async def test_a_flood_of_states_is_drawn_as_the_last_one() -> None:
    """A thousand states from another thread cost a few drawings, and the newest is what stays."""
    walk = walk_to("pan")
    heard = [
        replace(walk.state, heard=HeardLine(f"word {n}", "", "not a phrase of this step", 0.1, "phones"))
        for n in range(FLOOD)
    ]
    app = BayScreen(nothing, nothing, signs=UNICODE)
    async with app.run_test(size=(80, 24)) as pilot:
        app.show(walk.state)
        await pilot.pause()
        before = app.drawn
        gate = threading.Event()

        def pour() -> None:
            for state in heard:
                app.show(state)
                app.show_level(-30.0, "hearing")
            gate.set()

        thread = threading.Thread(target=pour)
        thread.start()
        # the loop is kept busy, as a slow terminal would keep it, so that letters pile up
        assert gate.wait(20)
        thread.join()
        await until(pilot, f'"word {FLOOD - 1}"')
        assert 1 <= app.drawn - before <= 10


async def test_only_what_changed_is_drawn_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """New words heard touch the line they are in, and no other piece of the screen."""
    walk = walk_to("remover-works")
    walk.type("go")
    app = BayScreen(nothing, nothing, clock=lambda: walk.mono, signs=UNICODE)
    app.show(walk.state)
    async with app.run_test(size=(100, 40)) as pilot:
        await pilot.pause()
        await pilot.pause()
        drawn: list[str | None] = []
        for kind in (Line, KeyButton, Large, WaitRow):
            refresh = kind.refresh

            def counted(self: Line, *regions: object, _refresh: object = refresh, **how: object) -> object:
                drawn.append(self.id)
                return _refresh(self, *regions, **how)  # type: ignore[operator]

            monkeypatch.setattr(kind, "refresh", counted)
        app.show(replace(walk.state, heard=HeardLine("repeat", "repeat", "", 2.0, "phones")))
        await until(pilot, "taken as repeat, margin +2.0")
        assert set(drawn) == {"heard"}


async def test_the_hub_may_be_first_and_start_is_called_once_seen() -> None:
    """A state put before the screen is up is drawn when it is; `start` may begin a thread that shows more."""
    walk = walk_to("pan")
    first, begun = walk.state, []

    def start(app: BayScreen) -> None:
        begun.append(app)
        threading.Thread(target=lambda: app.show(walk.type("next"))).start()

    app = BayScreen(nothing, nothing, start, signs=UNICODE)
    app.show(first)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, "STEP 5 OF 31")
        assert begun == [app]


async def test_the_hub_ends_the_screen() -> None:
    """`close` from another thread ends the app; what comes after it does no harm."""
    app = BayScreen(nothing, nothing, signs=UNICODE)
    async with app.run_test(size=(80, 24)) as pilot:
        app.show(Walk().state)
        thread = threading.Thread(target=app.close)
        thread.start()
        for _ in range(200):
            await pilot.pause()
            if not app.is_running:
                break
            await asyncio.sleep(0.02)
        thread.join()
    assert not app.is_running
    app.show(Walk().state)
    app.show_level(-20.0, "listening")
    app.close()


async def test_waits_move_by_themselves_and_only_while_they_run() -> None:
    """The app's own tick counts the wait down without any event; without a wait it rests."""
    walk = walk_to("remover-works")
    app = BayScreen(nothing, nothing, clock=lambda: walk.mono, signs=UNICODE)
    app.show(walk.state)
    async with app.run_test(size=(100, 30)) as pilot:
        await pilot.pause()
        tick = app._tick
        assert tick is not None
        assert not tick._active.is_set()
        app.show(walk.type("go"))
        await until(pilot, "NOT YET, 3 min more")
        assert tick._active.is_set()
        walk.mono += 30.0
        await until(pilot, "NOT YET, 2 min 30 s more")
        walk.later(160.0)
        app.show(walk.type("next"))
        await until(pilot, "Scrape both faces")
        assert not tick._active.is_set()


async def test_the_ears_can_be_seen() -> None:
    """What the ears do and how loud it is; without a level there is no meter; while speaking it says so."""
    walk = Walk()
    app = BayScreen(nothing, nothing, signs=UNICODE)
    app.show(walk.state)
    async with app.run_test(size=(100, 30)) as pilot:
        app.show_level(-30.0, "hearing")
        await until(pilot, "ears hearing █████░░░░░")
        app.show_level(None, "deaf: no microphone")
        await until(pilot, "ears deaf: no microphone")
        assert "░" not in text_of(app, app.query_one("#ears"))
    assert level_picture(-60.0, 10) == "░" * 10
    assert level_picture(-90.0, 10) == "░" * 10
    assert level_picture(0.0, 10) == "█" * 10
    assert level_picture(6.0, 10) == "█" * 10


async def test_troubles_are_a_banner_with_their_mend() -> None:
    """What is wrong and what to do about it, until it is over."""
    walk = walk_to("pan")
    clean = walk.state
    walk.trouble("microphone", "No sound for 10 s", "Plug the microphone in")
    walk.trouble("voice", "The voice does not answer", "Read the steps on the screen")
    app = BayScreen(nothing, nothing, signs=UNICODE)
    app.show(walk.state)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, "✗ MICROPHONE: No sound for 10 s. Plug the microphone in.")
        await until(pilot, "✗ VOICE: The voice does not answer.")
        app.show(clean)
        for _ in range(5):
            await pilot.pause()
        assert "MICROPHONE" not in text(app)
        assert not app.query_one("#troubles").region.area


async def test_what_was_heard_is_shown_with_what_was_made_of_it() -> None:
    """Taken or not taken, why not, by how much, and what was said last."""
    walk = walk_to("pan")
    app = BayScreen(nothing, nothing, signs=UNICODE)
    app.show(walk.hear("flibber gibbet", -0.8, "not a phrase of this step"))
    async with app.run_test(size=(120, 30)) as pilot:
        await until(pilot, 'heard "flibber gibbet" ✗ not taken: not a phrase of this step, margin -0.8')
        app.show(walk.hear("next", 4.25))
        await until(pilot, 'heard "next" ✓ taken as next, margin +4.2')
        app.show(walk.hear("repeat", 4.25, sure=3.0))
        await until(pilot, 'heard "repeat" ✓ taken as repeat, 95 % sure')  # odds of e to the third to one
        app.show(walk.hear("repeat", 4.25, sure=40.0))
        await until(pilot, "99 % sure")
        await until(pilot, "said Step 5. Take out the drain plug")
        await until(pilot, "then The case is about to be opened.")


async def test_a_corrected_value_no_longer_counts() -> None:
    """Of two values of one step the last stands with its verdict, the other as replaced."""
    walk = walk_to("apply-remover")
    app = BayScreen(nothing, nothing, signs=UNICODE)
    app.show(walk.state)
    async with app.run_test(size=(160, 48)) as pilot:
        await until(pilot, "✓ shaft end float 0.12 mm, within")
        assert "○ shaft end float 0.21 mm, replaced" in text_of(app, app.query_one("#side"))
