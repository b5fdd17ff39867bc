"""The loop: events in, effects out. It has no rules of its own; what to do is the core's, how is the edges'."""

from __future__ import annotations

import contextlib
import queue
from collections import deque
from collections.abc import Callable
from typing import Final, Protocol

import numpy as np

from bayvoice.core.effects import Append, Effect, Fact, Finish, Hush, Listen, Ring, Say, WakeAt
from bayvoice.core.events import Event, Kept, Mended, SpeechBegan, Spoken, Stamp, Trouble, Unkept, Woke
from bayvoice.core.session import handle
from bayvoice.core.state import State
from bayvoice.edges.voice.base import Sound, Voice
from bayvoice.edges.voice.player import Note, Player
from bayvoice.edges.voice.tones import burst
from bayvoice.errors import BayError

_SILENCE: Final = np.zeros(0, np.float32)

BURSTS = {"soon": 1, "over": 2}
"""How urgent an alert's burst is, 0 where not named."""


class Clock(Protocol):
    """What the hub asks the time of."""

    @property
    def boot(self) -> str: ...

    def mono(self) -> float: ...

    def now(self) -> Stamp: ...


class Keeper(Protocol):
    """What the hub hands facts to."""

    def append(self, job: str, fact: Fact) -> None: ...


Watch = Callable[[Event | None, tuple[Effect, ...], State], None]
"""Told of every event, what it led to and the state after it."""


class Hub:
    """One consumer of one queue.

    Args:
        state: where the job stands.
        clock, store, voice, player: the edges. `player` is made by `player_for`, which is given the callback for notes.
        listen: makes a dialogue state's grammar the active one.
        watch: told of everything that happens (the screen, the line printer).
    """

    def __init__(
        self,
        state: State,
        clock: Clock,
        store: Keeper,
        voice: Voice | None,
        player_for: Callable[[Callable[[Note], None]], Player],
        listen: Callable[[str], None],
        watch: Watch,
    ) -> None:
        self.state = state
        self.clock = clock
        self.finished = False
        self._store = store
        self._voice = voice
        self._listen = listen
        self._watch = watch
        self._queue: queue.Queue[Event | Callable[[], Event | None]] = queue.Queue()
        self._pending: deque[Event] = deque()
        self._wakes: dict[str, float] = {}
        self._voice_failed = False
        self.player = player_for(self._noted)

    # events

    def put(self, event: Event | Callable[[], Event | None]) -> None:
        """Hand over an event from any thread; a callable is called by the consumer to make it."""
        self._queue.put(event)

    def take(self, event: Event) -> None:
        """Handle an event and everything it leads to at once. Only the consumer calls this."""
        self._pending.append(event)
        while self._pending:
            one = self._pending.popleft()
            self.state, effects = handle(self.state, one)
            for effect in effects:
                self._perform(effect)
            self._watch(one, effects, self.state)

    def advance(self, mono: float) -> None:
        """Bring everything that hangs on time up to mono time `mono`: the player, then wake-ups that are due."""
        self.player.advance(mono)
        for key, due in sorted(self._wakes.items(), key=lambda item: item[1]):
            if due <= mono and self._wakes.get(key) == due:
                del self._wakes[key]
                self.take(Woke(self.clock.now(), key, due))
        self.drain()

    def drain(self) -> None:
        """Handle what is queued, without waiting."""
        with contextlib.suppress(queue.Empty):
            while True:
                self._take_queued(self._queue.get_nowait())

    def run_live(self) -> None:
        """Handle events as they come, until the sitting is over."""
        while not self.finished:
            due = min(self._wakes.values(), default=None)
            patience = 1.0 if due is None else min(1.0, max(0.0, due - self.clock.mono()))
            with contextlib.suppress(queue.Empty):
                self._take_queued(self._queue.get(timeout=patience))
            self.advance(self.clock.mono())

    def _take_queued(self, item: Event | Callable[[], Event | None]) -> None:
        event = item() if callable(item) else item
        if event is not None:
            self.take(event)

    # effects

    def _perform(self, effect: Effect) -> None:
        match effect:
            case Append(fact):
                self._append(fact)
            case Say(uid, text, urgent):
                self._say(uid, text, urgent)
            case Hush():
                self.player.hush(self.clock.mono())
            case Ring(tone):
                self._ring(tone)
            case WakeAt(key, due):
                self._wakes[key] = due
            case Listen(state):
                self._listen(state)
            case Finish():
                self.finished = True

    def _append(self, fact: Fact) -> None:
        try:
            self._store.append(self.state.job.name, fact)
        except BayError as error:
            self._pending.append(Unkept(self.clock.now(), fact.seq, f"{error.where}: {error.what}"))
        else:
            self._pending.append(Kept(self.clock.now(), fact.seq))

    def _say(self, uid: int, text: str, urgent: bool) -> None:
        sound = Sound(22_050, _SILENCE)
        if self._voice is not None:
            try:
                sound = self._voice.render(text)
            except BayError as error:
                if not self._voice_failed:
                    self._voice_failed = True
                    self._pending.append(Trouble(self.clock.now(), "voice", error.what, error.mend))
            else:
                if self._voice_failed:
                    self._voice_failed = False
                    self._pending.append(Mended(self.clock.now(), "voice"))
        self.player.say(uid, sound, self.clock.mono(), urgent)

    def _ring(self, tone: str) -> None:
        self.player.ring(burst(tone, BURSTS.get(tone, 0)), self.clock.mono())

    def _noted(self, note: Note) -> None:
        # From the loudspeaker's own thread when live: only queued here. On a tape it comes in the middle of
        # `advance`, whose drain takes it.
        self.put(_event_of(note, self.clock.now()))


def _event_of(note: Note, now: Stamp) -> Event:
    at = Stamp(note.at, now.wall + (note.at - now.mono))
    match note.kind:
        case "began":
            return SpeechBegan(at, note.uid)
        case "said":
            return Spoken(at, note.uid)
        case "cut":
            return Spoken(at, note.uid, cut=True)
        case "mended":
            return Mended(at, "loudspeaker")
        case _:
            return Trouble(at, "loudspeaker", note.what, note.mend)
