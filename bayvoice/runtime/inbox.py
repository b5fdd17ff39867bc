"""The one way into the loop, from any thread."""

from __future__ import annotations

import queue
from collections.abc import Callable
from typing import Any, Protocol

from bayvoice.dialogue.engine.events import Event, Stamp

Maker = Callable[[Any], tuple[Event, ...]]
"""Called with the core's state, by the loop and in its thread, to make the events that it handles next.

What depends on the state, such as the meaning of a typed line, is so made at the moment it counts, and no other thread
ever looks at the state.
"""


class Clock(Protocol):
    """What stamps events."""

    @property
    def boot(self) -> str:
        """Names the run of the clock that `mono` belongs to."""
        ...

    def mono(self) -> float:
        """Seconds that nobody can set."""
        ...

    def now(self) -> Stamp:
        """The present moment."""
        ...


class Inbox:
    """Events, or what makes them, in the order in which they came. Any thread puts, the loop alone takes."""

    def __init__(self) -> None:
        self._queue: queue.SimpleQueue[Event | Maker] = queue.SimpleQueue()

    def put(self, item: Event | Maker) -> None:
        """Hand in; never waits."""
        self._queue.put(item)

    def take(self, patience_s: float = 0.0) -> Event | Maker | None:
        """The next, None where none comes within `patience_s`."""
        try:
            return self._queue.get(timeout=patience_s) if patience_s > 0 else self._queue.get_nowait()
        except queue.Empty:
            return None
