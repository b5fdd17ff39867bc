"""One turn of the core: a state being worked on, and the effects it has asked for so far."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from bayvoice.dialogue.engine.effects import Append, Effect, Hush, Listen, Ring, Say, WakeAt
from bayvoice.dialogue.engine.events import Stamp
from bayvoice.dialogue.engine.state import State, Talk
from bayvoice.job.facts import KINDS, Fact, upward
from bayvoice.job.job import Job, fold
from bayvoice.language.intents import Intent
from bayvoice.procedure.model import Step


class Turn:
    """Collects what one event leads to. Lives only inside `session.handle`, so the core as a whole stays pure."""

    def __init__(self, state: State, at: Stamp, how: str = "") -> None:
        self.how = how
        """How it was said, where the event is something somebody says: "spoken", "typed" or "key"."""
        self.state = replace(state, now=at.mono)
        self.at = at
        self.effects: list[Effect] = []

    @property
    def job(self) -> Job:
        """The job, facts of this turn included."""
        return self.state.job

    @property
    def step(self) -> Step:
        """The current step. Only called in modes that have one."""
        step = self.job.current
        assert step is not None, "a handler for a step ran outside any step"
        return step

    def put(self, **changes: Any) -> None:
        """Change fields of the state that are not the job."""
        self.state = replace(self.state, **changes)

    def fact(self, kind: str, **body: Any) -> Fact:
        """Record a fact; speech asked for later in this turn waits until it is on disk."""
        body = upward(kind, body)
        keys = KINDS[kind] if kind in KINDS else self.job.kinds.keys_of(kind)
        if set(body) != set(keys):
            raise TypeError(f"fact {kind!r} wants the keys {keys}, got {tuple(body)}")
        fact = Fact(self.job.seq + 1, self.at.wall, kind, body)
        self.put(job=fold(self.job, fact), unkept=(*self.state.unkept, fact))
        self.effects.append(Append(fact))
        return fact

    def say(self, key: str, **fields: object) -> None:
        """Say a sentence of the wording."""
        self.say_text(self.state.wording.text(key, **fields))

    def say_ranked(self, rank: int, key: str, **fields: object) -> None:
        """Say a sentence of the wording before what is less urgent; see `effects.Say`."""
        self.say_text(self.state.wording.text(key, **fields), rank)

    def say_text(self, text: str, rank: int = 0, beat: float = 0.0) -> int:
        """Say `text`, once everything recorded so far is on disk; the number of the utterance. See `effects.Say`."""
        uid = self.state.next_uid
        say = Say(uid, text, rank=rank, beat=beat)
        talk = self.state.talk
        self.put(next_uid=uid + 1, talk=replace(talk, queued=talk.queued | {uid}), last_said=text)
        if self.state.unkept:
            self.put(held=(*self.state.held, (self.state.unkept[-1].seq, say)))
        else:
            self.effects.append(say)
        return uid

    def hush(self) -> None:
        """Cut off what is being said and forget what is queued."""
        talk = self.state.talk
        if talk.queued or talk.ended is None:
            ended = self.at.mono if talk.ended is None else talk.ended
            self.put(talk=Talk(frozenset(), talk.began, ended), held=())
            self.effects.append(Hush())

    def ring(self, tone: str, urgency: int = 0) -> None:
        """Sound an alert burst."""
        self.effects.append(Ring(tone, urgency))

    def wake(self, key: str, due: float) -> None:
        """Ask for `Woke(key)` at mono time `due`."""
        self.effects.append(WakeAt(key, due))

    def mode(self, mode: str) -> None:
        """Enter a dialogue state: its grammar becomes the active one."""
        self.put(mode=mode, asked=self.at.mono)
        self.effects.append(Listen(str(mode)))


Handler = Callable[[Turn, Intent], None]
"""What an intent does."""
