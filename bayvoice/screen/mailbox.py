"""Hands the newest of what another thread has to show to the screen's own thread, and forgets what it overtook."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Generic, TypeVar

T = TypeVar("T")


class Mailbox(Generic[T]):
    """Room for one letter. `tell` is called, in the putting thread, when an empty box has received one."""

    def __init__(self, tell: Callable[[], object]) -> None:
        self._tell = tell
        self._lock = threading.Lock()
        self._letter: T | None = None
        self._told = False

    def put(self, letter: T) -> None:
        """Replace what is in the box. Any thread; never waits."""
        with self._lock:
            self._letter = letter
            told, self._told = self._told, True
        if not told:
            self._tell()

    def take(self) -> T | None:
        """The newest letter put since the last `take`, or None."""
        with self._lock:
            letter, self._letter = self._letter, None
            self._told = False
        return letter
