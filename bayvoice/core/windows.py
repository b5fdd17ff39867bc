"""How long a wait must and may last: as written, or worked out from the surroundings. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from bayvoice.procedure.model import Wait


@dataclass(frozen=True, slots=True)
class Window:
    """Limits in seconds, None where there is none; `model`, `from_`: as in the fact "wait_started"."""

    at_least: int | None
    at_most: int | None
    model: str = "fixed"
    from_: str = ""


def window(wait: Wait) -> Window:
    """The window of `wait`."""
    return Window(wait.at_least, wait.at_most)
