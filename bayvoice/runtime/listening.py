"""A listener at work in one thread: what the hub wants listened for, and sound."""

from __future__ import annotations

from bayvoice.ears.base import Samples
from bayvoice.ears.listener import Listener, ListenerEvent
from bayvoice.language.grammar import Grammars
from bayvoice.runtime.noting import Noting


class Listening:
    """The hub's `Ears` for whoever calls all of it from one thread; see `bayvoice.runtime.live` for another.

    Args:
        listener: closed by `close`.
        grammars: of the dialogue states.
        noting: keeps the sound of notes.
    """

    def __init__(self, listener: Listener, grammars: Grammars, noting: Noting) -> None:
        self._listener, self._grammars, self._noting = listener, grammars, noting
        self._saying: str | None = None
        self.speaking = False
        """Whether the product itself speaks, or is about to go on."""

    # what the hub tells

    def listen(self, state: str) -> None:
        """See `Ears`."""
        self._listener.use(self._grammars.state(state))

    def own_voice(self, saying: str | None, speaking: bool) -> None:
        """See `Ears`. The listener hears of it with the next sound, so of no gap that no sound was heard in."""
        self._saying, self.speaking = saying, speaking

    def take_note(self, stem: str) -> None:
        """See `Ears`."""
        self._noting.begin(stem)

    def end_note(self) -> None:
        """See `Ears`."""
        self._noting.end()

    # sound

    @property
    def level_db(self) -> float:
        """Level of the last sound, dB of full scale."""
        return self._listener.front.level_db

    def hear(self, block: Samples, at_s: float) -> list[ListenerEvent]:
        """What happens in `block`, 16 kHz mono float32, whose first sample was recorded at mono time `at_s`."""
        self._listener.own_voice(self._saying)
        return self._listener.feed(block, at_s)

    def keep(self, block: Samples) -> None:
        """Let a note have `block`, once what happened in it has been handed on."""
        self._noting.feed(block, self._listener.front.speaking)

    def end(self) -> list[ListenerEvent]:
        """There is no more sound: what is still open."""
        return self._listener.end()

    def flush(self) -> None:
        """There is no more sound for a note either."""
        self._noting.flush()

    def close(self) -> None:
        """Free the recogniser."""
        self._listener.close()
