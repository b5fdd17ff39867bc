"""The loop: events in, effects out. It has no rules of its own; what to do is the core's, how is the edges'."""

from __future__ import annotations

import contextlib
import queue
from collections import deque
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any, Final, Protocol

import numpy as np

from bayvoice.dialogue.engine.effects import (
    Append,
    Effect,
    EndNote,
    Finish,
    Hush,
    Listen,
    Ring,
    Say,
    TakeNote,
    WakeAt,
)
from bayvoice.dialogue.engine.events import Event, Kept, Mended, SpeechBegan, Spoken, Stamp, Trouble, Unkept, Woke
from bayvoice.dialogue.engine.state import State
from bayvoice.dialogue.session import handle
from bayvoice.errors import BayError, sentence
from bayvoice.job.clocks import SLACK
from bayvoice.job.facts import Fact
from bayvoice.runtime.codes import Door
from bayvoice.runtime.noting import Noting
from bayvoice.voice.base import Sound, Voice
from bayvoice.voice.beat import on_the_beat
from bayvoice.voice.player import Note, Player
from bayvoice.voice.tones import RANKS, burst

_NO_SOUND: Final = Sound(22_050, np.zeros(0, np.float32))


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


Handle = Callable[[Any, Event], tuple[Any, tuple[Effect, ...]]]
"""A pure core: (state, event) -> (state, effects)."""


class Hub:
    """One consumer of one queue.

    Args:
        state: where the job stands.
        clock, store, voice, player: the edges. `player` is made by `player_for`, which is given the callback for notes.
        listen: makes a dialogue state's grammar the active one.
        watch: told of everything that happens (the screen, the line printer).
        live: render speech beside the consumer instead of in it.
        handle: the core, by default the dialogue of a job; what it is given and gives back is of the kind of `state`.
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
        live: bool = False,
        handle: Handle = handle,
    ) -> None:
        self.state = state
        self._handle = handle
        self.clock = clock
        self.door: Door | None = None
        """What compares codes; None where nobody can sign yet, as while a job is chosen."""
        self.notes: Noting | None = None
        """What keeps the sound of notes, where there is a microphone."""
        self.saying: str | None = None
        """What the loudspeaker is saying now; None while it is silent. Read from any thread."""
        self._texts: dict[int, str] = {}
        self.finished = False
        self._store = store
        self._voice = voice
        self._listen = listen
        self._watch = watch
        self._queue: queue.Queue[Event | Callable[[], Event | None]] = queue.Queue()
        self._pending: deque[Event] = deque()
        self._wakes: dict[str, float] = {}
        self._voice_failed = False
        self._silenced = 0
        self._tie: float | None = None
        # A voice that hangs must not hold up the job: live, it renders in a thread of its own. On a recording
        # everything happens in order, so that the same recording gives the same job.
        self._renderer = ThreadPoolExecutor(1, "render") if live else None
        self.player = player_for(self._noted)

    def close(self) -> None:
        """Stop rendering and playing."""
        if self._renderer is not None:
            self._renderer.shutdown(wait=False, cancel_futures=True)
        self.player.close()

    # events

    def put(self, event: Event | Callable[[], Event | None]) -> None:
        """Hand over an event from any thread; a callable is called by the consumer to make it."""
        self._queue.put(event)

    def take(self, event: Event) -> None:
        """Handle an event and everything it leads to at once. Only the consumer calls this."""
        self._pending.append(event)
        while self._pending:
            one = self._pending.popleft()
            self._follow(one)
            self.state, effects = self._handle(self.state, one)
            for effect in effects:
                self._perform(effect)
            self._watch(one, effects, self.state)

    def _follow(self, event: Event) -> None:
        """Keep account of what is being said."""
        if isinstance(event, SpeechBegan):
            self.saying = self._texts.get(event.uid)
        elif isinstance(event, Spoken) and self._texts.pop(event.uid, None) == self.saying:
            self.saying = None

    def advance(self, mono: float) -> None:
        """Bring everything that hangs on time up to mono time `mono`: the player, then wake-ups that are due."""
        self.player.advance(mono)
        self.drain()
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
            due = [*self._wakes.values(), self.player.next_at() or float("inf")]
            patience = min(1.0, max(0.0, min(due) - self.clock.mono()))
            with contextlib.suppress(queue.Empty):
                self._take_queued(self._queue.get(timeout=patience))
            self.advance(self.clock.mono())
            if self._clock_set():
                self.take(Woke(self.clock.now(), "clock", self.clock.mono()))

    def _clock_set(self) -> bool:
        """Whether the wall clock was set since the last look: the core must hear of it before the power may fail."""
        now = self.clock.now()
        tie = now.wall - now.mono
        was, self._tie = self._tie, tie
        return was is not None and abs(tie - was) > SLACK / 2

    def _take_queued(self, item: Event | Callable[[], Event | None]) -> None:
        event = item() if callable(item) else item
        if event is not None:
            self.take(event)

    # effects

    def _perform(self, effect: Effect) -> None:
        match effect:
            case Append(fact):
                self._append(fact)
            case Say():
                self._say(effect)
            case Hush():
                self._silenced += 1
                self.player.hush(self.clock.mono())
            case Ring(tone, urgency):
                self.player.ring(burst(tone, urgency), self.clock.mono(), RANKS[tone])
            case WakeAt(key, due):
                self._wakes[key] = due
            case Listen(state):
                self._listen(state)
            case TakeNote(stem):
                if self.notes is not None:
                    self.notes.begin(stem)
            case EndNote():
                if self.notes is not None:
                    self.notes.end()
            case Finish():
                self.finished = True

    def _append(self, fact: Fact) -> None:
        try:
            self._store.append(self.state.job.name, fact)
        except BayError as error:
            self._pending.append(Unkept(self.clock.now(), fact.seq, f"{error.where}: {error.what}"))
        else:
            self._pending.append(Kept(self.clock.now(), fact.seq))

    def _say(self, say: Say) -> None:
        self._texts[say.uid] = say.text
        if self._renderer is None:
            sound, error = self._render(say)
            event = self._rendered(say, sound, error, self._silenced)
            if event is not None:
                self._pending.append(event)
            return
        silenced = self._silenced

        def work() -> None:
            sound, error = self._render(say)
            self.put(lambda: self._rendered(say, sound, error, silenced))

        self._renderer.submit(work)

    def _render(self, say: Say) -> tuple[Sound, BayError | None]:
        if self._voice is None:
            return _NO_SOUND, None
        try:
            if say.beat:
                return on_the_beat([self._voice.render(word) for word in say.text.split(", ")], say.beat), None
            return self._voice.render(say.text), None
        except BayError as error:
            return _NO_SOUND, error

    def _rendered(self, say: Say, sound: Sound, error: BayError | None, silenced: int) -> Event | None:
        """Play what was rendered, if nobody asked for silence meanwhile; news of the voice, if there is any."""
        now = self.clock.now()
        if silenced != self._silenced:
            return Spoken(now, say.uid, cut=True)
        self.player.say(say.uid, sound, now.mono, rank=say.rank)
        failed, self._voice_failed = self._voice_failed, error is not None
        if error is not None and not failed:
            return Trouble(now, "voice", sentence(error.what), sentence(error.mend))
        return Mended(now, "voice") if failed and error is None else None

    def _noted(self, note: Note) -> None:
        # From the loudspeaker's own thread when live: only queued here. On a tape it comes in the middle of
        # `advance`, whose drain takes it.
        if note.kind != "rang":
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
