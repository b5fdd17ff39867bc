"""The loop: events in, effects out. It has no rules of its own; what to do is the core's, how is the edges'."""

from __future__ import annotations

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
from bayvoice.dialogue.session import handle
from bayvoice.errors import BayError, sentence
from bayvoice.job.clocks import SLACK
from bayvoice.job.facts import Fact
from bayvoice.runtime.inbox import Clock, Inbox, Maker
from bayvoice.voice.base import Sound, Voice
from bayvoice.voice.beat import on_the_beat
from bayvoice.voice.player import Note, Player, Tell
from bayvoice.voice.tones import RANKS, burst

_NO_SOUND: Final = Sound(22_050, np.zeros(0, np.float32))


class Keeper(Protocol):
    """What the hub hands facts to."""

    def append(self, job: str, fact: Fact) -> None:
        """Keep the fact; BayError where it could not be kept."""
        ...


class Ears(Protocol):
    """What the hub tells whoever listens, in the hub's thread. None of it waits."""

    def listen(self, state: str) -> None:
        """From the next utterance on the grammar of dialogue state `state` is the active one."""
        ...

    def own_voice(self, saying: str | None, speaking: bool) -> None:
        """What the loudspeaker is saying now; None between two sentences. `speaking`: there is still more to come."""
        ...

    def take_note(self, stem: str) -> None:
        """Keep the sound from now on, in a file whose name begins with `stem`."""
        ...

    def end_note(self) -> None:
        """That is the end of the note."""
        ...


class NoEars:
    """Nobody listens."""

    def listen(self, state: str) -> None:
        """Nothing."""

    def own_voice(self, saying: str | None, speaking: bool) -> None:
        """Nothing."""

    def take_note(self, stem: str) -> None:
        """Nothing: the core asks for a note only where there is a microphone."""

    def end_note(self) -> None:
        """Nothing."""


Watch = Callable[[Event | None, tuple[Effect, ...], Any], None]
"""Told of every event, what it led to and the state after it, in the hub's thread."""

Handle = Callable[[Any, Event], tuple[Any, tuple[Effect, ...]]]
"""A pure core: (state, event) -> (state, effects)."""


class Hub:
    """One consumer of one inbox. One thread calls all of it; others reach it through the inbox.

    Args:
        state: where the core stands.
        clock, store, voice: edges.
        player: the loudspeaker; its notes come by way of the inbox, see `notes_into`.
        ears: told what to listen for.
        inbox: where everything comes in.
        watch: told of everything that happens (the screen, the line printer).
        live: render speech beside the consumer instead of in it.
        handle: the core, by default the dialogue of a job; what it is given and gives back is of the kind of `state`.
    """

    def __init__(
        self,
        state: Any,
        clock: Clock,
        store: Keeper,
        voice: Voice | None,
        player: Player,
        ears: Ears,
        inbox: Inbox,
        watch: Watch,
        live: bool = False,
        handle: Handle = handle,
    ) -> None:
        self.state = state
        self.clock = clock
        self.player = player
        self.finished = False
        self._handle = handle
        self._store = store
        self._voice = voice
        self._ears = ears
        self._inbox = inbox
        self._watch = watch
        self._texts: dict[int, str] = {}  # of utterances that are not over
        self._saying: str | None = None
        self._speaking = False
        self._pending: deque[Event] = deque()
        self._wakes: dict[str, float] = {}
        self._voice_failed = False
        self._silenced = 0
        self._tie: float | None = None
        # A voice that hangs must not hold up the job: live, it renders in a thread of its own. On a recording
        # everything happens in order, so that the same recording gives the same job.
        self._renderer = ThreadPoolExecutor(1, "render") if live else None

    def close(self) -> None:
        """Stop rendering and playing."""
        if self._renderer is not None:
            self._renderer.shutdown(wait=False, cancel_futures=True)
        self.player.close()

    # events

    def take(self, item: Event | Maker) -> None:
        """Handle an event, or those that are made now, and everything it leads to at once."""
        self._pending.extend(item(self.state) if callable(item) else (item,))
        while self._pending:
            one = self._pending.popleft()
            self._follow(one)
            self.state, effects = self._handle(self.state, one)
            for effect in effects:
                self._perform(effect)
            self._watch(one, effects, self.state)

    def _follow(self, event: Event) -> None:
        """Keep account of what is being said, and tell the ears."""
        was = (self._saying, self._speaking)
        if isinstance(event, SpeechBegan):
            self._saying = self._texts.get(event.uid)
            self._speaking = self._speaking or self._saying is not None
        elif isinstance(event, Spoken):
            if self._texts.pop(event.uid, None) == self._saying:
                self._saying = None
            self._speaking = self._speaking and bool(self._texts)
        if (self._saying, self._speaking) != was:
            self._ears.own_voice(self._saying, self._speaking)

    def advance(self, mono: float) -> None:
        """Bring everything that hangs on time up to mono time `mono`: the player, then wake-ups that are due."""
        self.player.advance(mono)
        self.drain()
        for key, due in sorted(self._wakes.items(), key=lambda item: item[1]):
            if not self.finished and due <= mono and self._wakes.get(key) == due:
                del self._wakes[key]
                self.take(Woke(self.clock.now(), key, due))
        self.drain()

    def drain(self) -> None:
        """Handle what has come in, without waiting. What comes in after the end is not for this core."""
        while not self.finished and (item := self._inbox.take()) is not None:
            self.take(item)

    def run_live(self) -> None:
        """Handle events as they come, until the sitting is over."""
        while not self.finished:
            due = [*self._wakes.values(), self.player.next_at() or float("inf")]
            item = self._inbox.take(min(1.0, max(0.0, min(due) - self.clock.mono())))
            if item is not None:
                self.take(item)
            self.advance(self.clock.mono())
            if self._clock_set():
                self.take(Woke(self.clock.now(), "clock", self.clock.mono()))

    def _clock_set(self) -> bool:
        """Whether the wall clock was set since the last look: the core must hear of it before the power may fail."""
        now = self.clock.now()
        tie = now.wall - now.mono
        was, self._tie = self._tie, tie
        return was is not None and abs(tie - was) > SLACK / 2

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
                self._ears.listen(state)
            case TakeNote(stem):
                self._ears.take_note(stem)
            case EndNote():
                self._ears.end_note()
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
            self._pending.extend(self._rendered(say, sound, error, self._silenced))
            return
        silenced = self._silenced

        def work() -> None:
            sound, error = self._render(say)
            self._inbox.put(lambda _: self._rendered(say, sound, error, silenced))

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

    def _rendered(self, say: Say, sound: Sound, error: BayError | None, silenced: int) -> tuple[Event, ...]:
        """Play what was rendered, if nobody asked for silence meanwhile; news of the voice, if there is any."""
        now = self.clock.now()
        if silenced != self._silenced:
            return (Spoken(now, say.uid, cut=True),)
        self.player.say(say.uid, sound, now.mono, rank=say.rank)
        failed, self._voice_failed = self._voice_failed, error is not None
        if error is not None and not failed:
            return (Trouble(now, "voice", sentence(error.what), sentence(error.mend)),)
        return (Mended(now, "voice"),) if failed and error is None else ()


def notes_into(inbox: Inbox, clock: Clock) -> Tell:
    """What a player is given to tell its notes to: they come out of the inbox as events."""

    def tell(note: Note) -> None:
        # From the loudspeaker's own thread when live. On a tape it comes in the middle of `Hub.advance`, whose drain
        # takes it.
        if note.kind != "rang":
            inbox.put(_event_of(note, clock.now()))

    return tell


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
