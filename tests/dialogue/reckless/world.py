"""A bay with a true time: power that fails between two facts, a wall clock anybody can set, a computer switched off."""

from __future__ import annotations

import json
from collections import deque
from typing import Any

from bayvoice.dialogue.engine import effects as fx
from bayvoice.dialogue.engine import events as ev
from bayvoice.dialogue.engine.state import State
from bayvoice.dialogue.session import handle
from bayvoice.dialogue.steps import KINDS
from bayvoice.job.facts import Fact
from bayvoice.job.job import Job, fold_all
from bayvoice.language.grammar import Grammars
from bayvoice.language.intents import Intent
from bayvoice.procedure.model import Procedure
from bayvoice.runtime.intake import shield
from tests.anyjob import PEOPLE
from tests.dialogue.reckless.jobs import Bay
from tests.dialogue.reckless.judge import Judge
from tests.stage import Stage, wording


class World(Stage):
    """A stage whose facts go to a judge as they reach the disk. `true`: a clock that nothing here can set."""

    def __init__(self, procedure: Procedure, bay: Bay, grammars: Grammars, *, trust: bool = False) -> None:
        super().__init__(procedure, PEOPLE, bay.roster, trust=trust, grammars=grammars)
        self.judge = Judge(bay.members)
        self.true_base = 0.0
        self.power_for: int | None = None
        self.alive = True
        self.told = 0

    @property
    def true(self) -> float:
        """Seconds that have really passed."""
        return self.true_base + self.mono

    def take(self, event: ev.Event) -> None:
        """As on the stage; power may fail once so many more facts are on the disk."""
        pending = deque([event])
        while pending and self.alive:
            self.told += 1
            self.state, effects = handle(self.state, pending.popleft())
            for effect in effects:
                if isinstance(effect, fx.Append):
                    if self.power_for is not None and self.power_for <= 0:
                        self.die()
                        return
                    if self.power_for is not None:
                        self.power_for -= 1
                pending.extend(self._perform(effect))
                if isinstance(effect, fx.Append):
                    self._on_disk(effect.fact)

    def _on_disk(self, fact: Fact) -> None:
        as_kept: dict[str, Any] = json.loads(json.dumps({"kind": fact.kind, "body": fact.body}))
        self.judge.fact(as_kept, self.true, self.mono)

    def keep(self, kind: str, body: dict[str, Any]) -> None:
        """A fact that another command adds to the record between two sittings."""
        fact = Fact(len(self.facts) + 1, self.at.wall, kind, body)
        self.facts.append(fact)
        self._on_disk(fact)

    def die(self) -> None:
        """Everything but the disk is gone."""
        self.alive = False
        self.power_for = None
        self.wakes.clear()
        self.speaking.clear()
        self.taking = ""

    def begin(self, by: str) -> None:
        """A process starts on what the disk holds."""
        self.alive = True
        self.power_for = None
        job = fold_all(Job("job-1", self.procedure, KINDS), self.facts)
        self.state = State(
            job=job, wording=wording(), people=self.people, roll=self.roster.roll, mic=self.mic, trust=self.trust
        )
        self.take(ev.Began(self.at, by, self.boot))
        if self.alive:
            self.wait(0.0)

    def set_wall(self, seconds: float) -> None:
        """Somebody sets the wall clock; the hub sees it within a second."""
        self.base += seconds
        if self.alive:
            self.take(ev.Woke(self.at, "clock", self.mono))

    def computer_again(self, off: float, wall: float) -> None:
        """The computer was off for `off` seconds, and its wall clock was set by `wall` meanwhile."""
        true, shown = self.true + off, self.at.wall + off + wall
        self.boot += "+"
        self.mono = min(15.0, off)
        self.true_base, self.base = true - self.mono, shown - self.mono

    def say(
        self,
        words: str,
        *,
        typed: bool = False,
        sure: float | None = None,
        late: float = 0.0,
        intent: Intent | None = None,
    ) -> None:
        """A second later, `words`, spoken half a second long and `late` seconds ago, or typed; `intent`: what an edge
        that heard something else made of them."""
        self.mono += 1.0
        self.forget()
        self.judge.said(self.true, words)
        mode = self.state.mode
        meant = intent or self.grammars.state(mode).match(words.split(), spoken=not typed)
        shown, shielded = shield(self.roster, self.state.pending, tuple(words.split()), meant)
        if typed:
            self.take(ev.Typed(self.at, shown, shielded))
        else:
            began = self.mono - 0.5 - late
            why = "" if meant else "not a phrase of this step"
            self.take(ev.Heard(self.at, shown, shielded, "stage", 5.0, began, began + 0.5, why, sure, mode))
        if self.alive:
            self.wait(0.0)
