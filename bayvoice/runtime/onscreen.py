"""A sitting beside a screen: the screen in the thread that called, the sitting in one of its own."""

from __future__ import annotations

import contextlib
import os
import sys
import threading
from collections.abc import Callable, Iterator
from typing import Any, Protocol

from bayvoice.dialogue.engine.effects import Effect
from bayvoice.dialogue.engine.events import Event, Trouble
from bayvoice.runtime.options import Look
from bayvoice.runtime.wiring import Bench, native_log, wire


class Screen(Protocol):
    """What draws. All but `run` may be called from any thread."""

    def run(self) -> object:
        """Draw until `close`."""
        ...

    def show(self, state: Any) -> None:
        """Draw this state soon."""
        ...

    def show_level(self, db: float | None, ears_state: str) -> None:
        """Draw the microphone's level and what the ears do."""
        ...

    def close(self) -> None:
        """There is nothing more to draw."""
        ...


class OnScreen:
    """One sitting with its screen.

    Args:
        bench: what is worked with.
        screen_for: makes the screen, which calls what it is given once it can be seen.
    """

    def __init__(self, bench: Bench, screen_for: Callable[[Callable[[object], None]], Screen]) -> None:
        self._hands = bench.hands
        self._screen = screen_for(self._begin)
        self._sitting = wire(bench, self._watch, self._screen.show_level)
        self._thread = threading.Thread(target=self._work, name="sitting")
        self._failed: BaseException | None = None
        if self._sitting.live:
            now = self._sitting.hub.clock.now()
            for notice in self._sitting.notices:
                bench.inbox.put(Trouble(now, "start", notice.rstrip("."), "See bayvoice soundcheck"))

    def run(self) -> Any:
        """Until the sitting is over or the screen is left; the state it ended in."""
        try:
            with terminal_kept_clean():
                self._screen.run()
        finally:
            if self._thread.ident is None:
                self._sitting.close()
            else:
                self._hands.leave("the screen was closed")
                self._thread.join()
        if self._failed is not None:
            raise self._failed
        return self._sitting.hub.state

    def _begin(self, _: object) -> None:
        self._thread.start()

    def _watch(self, _event: Event | None, _effects: tuple[Effect, ...], state: Any) -> None:
        self._screen.show(state)

    def _work(self) -> None:
        try:
            self._sitting.run()
        except BaseException as error:
            self._failed = error
        finally:
            self._screen.close()
            # Here and not by whoever waits: nobody may take the record from under a fact that is being kept.
            self._sitting.close()


def job_on_screen(bench: Bench, look: Look) -> OnScreen:
    """The screen of a job."""
    from bayvoice.screen.app import BayScreen

    def made(start: Callable[[object], None]) -> Screen:
        return BayScreen(
            bench.hands.type,
            lambda: bench.hands.leave("left by key"),
            start,
            clock=bench.clock.mono,
            sayable=lambda mode: bench.grammars.state(mode).sayable(),
            theme=look.theme,
            blink=look.blink,
            on_key=bench.hands.key,
        )

    return OnScreen(bench, made)


def choice_on_screen(bench: Bench, look: Look) -> OnScreen:
    """The screen on which a job is chosen."""
    from bayvoice.screen.chooser import ChooserScreen

    def made(start: Callable[[object], None]) -> Screen:
        return ChooserScreen(bench.hands.type, lambda: bench.hands.leave("left by key"), start, theme=look.theme)

    return OnScreen(bench, made)


@contextlib.contextmanager
def terminal_kept_clean() -> Iterator[None]:
    """What native libraries print goes to a log; Textual draws on standard error, which keeps the terminal."""
    terminal = os.dup(2)
    log = os.open(native_log() or os.devnull, os.O_WRONLY | os.O_APPEND)
    kept = sys.__stderr__
    try:
        sys.__stderr__ = os.fdopen(terminal, "w", encoding="utf-8", errors="replace", closefd=False)  # type: ignore[misc]
        os.dup2(log, 2)
        yield
    finally:
        os.dup2(terminal, 2)
        sys.__stderr__ = kept  # type: ignore[misc]
        os.close(terminal)
        os.close(log)
