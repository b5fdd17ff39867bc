"""Waits under anything that can happen to a computer: random interleavings of work, clocks, crashes and restarts.

The world knows the true time. Whatever comes, a gate never opens before its minimum has truly passed (but for an
override), a maximum that has truly passed is told as soon as anyone runs to tell it, and what remains never grows.
"""

from __future__ import annotations

from collections import deque

import pytest
from hypothesis import Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from bayvoice.dialogue.engine import effects as fx
from bayvoice.dialogue.engine import events as ev
from bayvoice.dialogue.engine.state import Mode, State
from bayvoice.dialogue.session import handle
from bayvoice.dialogue.steps import KINDS
from bayvoice.job.clocks import SLACK
from bayvoice.job.facts import Fact
from bayvoice.job.job import Job, fold_all
from bayvoice.procedure.load import load_text
from bayvoice.procedure.model import Wait
from tests.stage import Stage, wording

PROCEDURE = load_text(
    """
format = 1
title = "Everything that waits"
machine = "Varrow K40 tow tractor"
[[step]]
id = "spray"
kind = "do"
say = "Spray."
[[step]]
id = "act"
kind = "wait"
wait = "act"
name = "remover"
say = "Let it work."
at_least = "2 min"
at_most = "5 min"
gates = ["scrape", "wipe"]
recovery = "spray"
[[step]]
id = "cure"
kind = "wait"
wait = "cure"
name = "bond"
say = "Leave the bond."
at_least = "10 min"
gates = ["load"]
[[step]]
id = "scrape"
kind = "do"
say = "Scrape."
[[step]]
id = "wipe"
kind = "do"
say = "Wipe."
[[step]]
id = "open"
kind = "wait"
wait = "open"
name = "bead"
say = "The bead is open."
starts = "step"
at_most = "3 min"
closes = "close"
[[step]]
id = "close"
kind = "do"
say = "Close the joint."
[[step]]
id = "settle"
kind = "wait"
wait = "settle"
name = "capacitor"
say = "Let it discharge."
starts = "step"
at_least = "90 s"
[[step]]
id = "load"
kind = "do"
say = "Load it."
""",
    "random.toml",
)
WAITS = {step.id: step.detail for step in PROCEDURE.steps if isinstance(step.detail, Wait)}
WORDS = (
    "next",
    "next",
    "next",
    "next",
    "go",
    "go",
    "yes",
    "yes",
    "no",
    "back",
    "pause",
    "resume",
    "stop",
    "how long",
    "skip step",
    "skip step because not needed",
    "maker allows it",
    "allowed by ruth",
    "restart the wait",
    "restart remover",
    "extend by one minute",
    "cancel bond",
    "started two minutes ago",
    "starting in one minute",
    "number one",
)


class World(Stage):
    """A stage with a true time, power that can fail between two facts, and a wall clock that can be set."""

    def __init__(self) -> None:
        super().__init__(PROCEDURE, ("Ruth", "Imre"))
        self.true_base = 0.0
        self.power_for: int | None = None
        self.alive = True
        self.entered: list[str] = []

    @property
    def true(self) -> float:
        return self.true_base + self.mono

    def take(self, event: ev.Event) -> None:
        """As on the stage; power may fail once so many more facts are on the disk."""
        pending = deque([event])
        while pending and self.alive:
            self.state, effects = handle(self.state, pending.popleft())
            for effect in effects:
                if isinstance(effect, fx.Append):
                    if self.power_for is not None and self.power_for <= 0:
                        self.die()
                        return
                    if self.power_for is not None:
                        self.power_for -= 1
                    self.on_disk(effect.fact)
                pending.extend(self._perform(effect))

    def on_disk(self, fact: Fact) -> None:
        """Told of each fact as it becomes lasting."""

    def die(self) -> None:
        """Everything but the disk is gone."""
        self.alive = False
        self.power_for = None
        self.wakes.clear()

    def come_up(self, by: str = "Imre") -> None:
        """A new process on what the disk holds."""
        self.alive = True
        self.power_for = None
        self.state = State(job=fold_all(Job("job-1", PROCEDURE, KINDS), self.facts), wording=wording())
        self.take(ev.Began(self.at, by, self.boot))


class Waits(RuleBasedStateMachine):
    """See the module."""

    def __init__(self) -> None:
        super().__init__()
        self.world = World()
        self.started: dict[str, float] = {}
        self.limits: dict[str, tuple[int | None, int | None]] = {}
        self.free: set[str] = set()
        self.over: set[str] = set()
        self.seen: dict[str, tuple[float, float | None, object]] = {}
        self.world.on_disk = self.on_disk  # type: ignore[method-assign]

    # what the record says, against the true time

    def on_disk(self, fact: Fact) -> None:
        b, world = fact.body, self.world
        if fact.kind == "wait_started":
            self.started[b["step"]] = world.true - (world.mono - float(b["mono"]))
            self.limits[b["step"]] = (b["at_least"], b["at_most"])
            self.free.discard(b["step"])
            self.over.discard(b["step"])
        elif fact.kind == "wait_changed":
            if b["at_most"] != self.limits[b["step"]][1]:
                self.over.discard(b["step"])
            self.limits[b["step"]] = (b["at_least"], b["at_most"])
        elif fact.kind == "wait_over":
            self.over.add(b["step"])
            assert self.world.rung or self.world.mono < self.world.state.rang[0], "over, and no tone"
        elif (fact.kind == "wait_ended" and b["verdict"] == "cancelled") or (
            fact.kind == "overridden" and b["step"] in WAITS and b["what"] in ("wait", "cancel", "skip")
        ):
            self.free.add(b["step"])
        elif fact.kind == "wait_ended" and b["verdict"] in ("in_window", "late"):
            self.long_enough(b["step"])
        elif fact.kind == "step_entered" and b["again"] == "no":
            for step, wait in WAITS.items():
                if b["step"] in wait.gates and step not in self.free:
                    assert step in self.started, f"the gate of {step} opened though it was never started"
                    self.long_enough(step)

    def long_enough(self, step: str) -> None:
        least = self.limits[step][0] or 0
        if step not in self.free:
            assert self.world.true - self.started[step] >= least - 1e-6, f"the gate of {step} opened early"

    # what happens

    @initialize()
    def begin(self) -> None:
        self.world.take(ev.Began(self.world.at, "Imre", self.world.boot))

    @precondition(lambda self: self.world.alive)
    @rule(words=st.sampled_from(WORDS))
    def say(self, words: str) -> None:
        self.wait(1.0)
        world = self.world
        intent = world.grammars.state(world.state.mode).match(words.split())
        world.forget()
        if intent is not None:
            before = {w.step: (w.since, w.at_least, w.at_most) for w in world.state.job.waits}
            world.take(ev.Typed(world.at, tuple(words.split()), intent))
            for wait in world.state.job.waits:
                if before.get(wait.step) != (wait.since, wait.at_least, wait.at_most):
                    self.seen.pop(wait.step, None)  # somebody moved it
            if world.alive:
                world.wait(0.0)

    @precondition(lambda self: self.world.alive)
    @rule(seconds=st.sampled_from([3.0, 20.0, 61.0, 119.0, 180.0, 600.0]))
    def wait(self, seconds: float) -> None:
        self.world.forget()
        self.world.wait(seconds)

    @precondition(lambda self: self.world.alive)
    @rule(steps=st.integers(1, 4))
    def work_on(self, steps: int) -> None:
        """What a technician who goes on would say: so that jobs come far enough for their gates to matter."""
        for _ in range(steps):
            state = self.world.state
            step = state.job.current
            armed = state.mode is Mode.WAIT and step is not None and step.id not in state.job.answered
            words: dict[str, str] = {Mode.PAUSED: "resume", Mode.SURE: "yes"}
            words |= dict.fromkeys((Mode.OVERRIDE, Mode.REASON, Mode.WHICH), "no")
            self.say(words.get(state.mode, "go" if armed else "next"))

    @precondition(
        lambda self: self.world.alive and any(w.short(self.world.mono) > 2 for w in self.world.state.job.waits)
    )
    @rule()
    def be_half_a_second_early(self) -> None:
        """The moment that matters: "next" just before a minimum is reached."""
        shorts = [w.short(self.world.mono) for w in self.world.state.job.waits]
        self.wait(min(short for short in shorts if short > 2) - 1.5)
        if self.world.alive:
            self.say("next")

    @precondition(lambda self: self.world.alive)
    @rule(facts=st.integers(0, 4), words=st.sampled_from(("next", "go", "yes", "maker allows it")))
    def power_fails_while_it_records(self, facts: int, words: str) -> None:
        self.world.power_for = facts
        self.say(words)
        self.world.die()

    @precondition(lambda self: self.world.alive)
    @rule()
    def kill(self) -> None:
        self.world.die()

    @precondition(lambda self: self.world.alive)
    @rule(seconds=st.sampled_from([30.0, 200.0, 4000.0]))
    def suspend(self, seconds: float) -> None:
        """Nothing runs; the monotonic clock counts on."""
        self.world.forget()
        self.world.mono += seconds
        self.world.wait(0.0)

    @precondition(lambda self: self.world.alive)
    @rule(seconds=st.sampled_from([-7200.0, -90.0, -1.5, 1.5, 90.0, 7200.0]))
    def wall_clock_is_set(self, seconds: float) -> None:
        world = self.world
        world.base += seconds
        if abs(seconds) > SLACK / 2:
            world.take(ev.Woke(world.at, "clock", world.mono))  # as the hub does within a second

    @precondition(lambda self: not self.world.alive)
    @rule(seconds=st.sampled_from([0.5, 45.0, 400.0]), by=st.sampled_from([-5000.0, 0.0, 5000.0]))
    def start_again(self, seconds: float, by: float) -> None:
        """On the same run of the computer; the wall clock may have been set meanwhile."""
        self.world.mono += seconds
        self.world.base += by
        self.world.forget()
        self.world.come_up()
        self.world.wait(0.0)

    @precondition(lambda self: not self.world.alive)
    @rule(off=st.sampled_from([20.0, 300.0, 30_000.0]), wall=st.sampled_from(["right", "right", "past", "future"]))
    def start_the_computer_again(self, off: float, wall: str) -> None:
        """The monotonic clock begins anew, fifteen seconds ago; a wall clock that lost its battery is plainly wrong."""
        world = self.world
        true, shown = world.true + off, world.at.wall + off
        world.boot += "+"
        world.mono = 15.0
        world.true_base = true - 15.0
        shown += {"right": 0.0, "past": -1.0e9, "future": 3.0e8}[wall]
        world.base = shown - 15.0
        world.forget()
        world.come_up()
        if wall != "right" and world.state.job.waits:
            # What ran after the last fact is not known any more: that is recorded and said, so it is not by itself.
            assert any(f.kind == "clock_moved" and f.body["what"] == "unknown" for f in world.new_facts)
            assert any("can't be known" in said for said in world.said)
            self.seen.clear()
        world.wait(0.0)

    # what must hold

    @invariant()
    def what_remains_never_grows(self) -> None:
        if not self.world.alive:
            return
        now = self.world.mono
        for wait in self.world.state.job.waits:
            short, left = wait.short(now), wait.left(now)
            mark = (wait.at_least, wait.at_most, self.started.get(wait.step))
            if wait.step in self.seen and self.seen[wait.step][2] == mark:
                before_short, before_left, _ = self.seen[wait.step]
                assert short <= before_short + 1e-6, "a minimum grew by itself"
                assert left is None or before_left is None or left <= before_left + 1e-6, "a maximum grew by itself"
            self.seen[wait.step] = (short, left, mark)

    @invariant()
    def no_limit_is_wrong_on_the_unsafe_side(self) -> None:
        if not self.world.alive:
            return
        for wait in self.world.state.job.waits:
            ran = self.world.true - self.started[wait.step]
            short, left = wait.short(self.world.mono), wait.left(self.world.mono)
            if wait.at_least is not None:  # a wait without one may be said to start in a minute, and lacks nothing
                assert short >= wait.at_least - ran - 1e-6, "a minimum was shortened"
            # Where nobody can know how long it ran, its maximum counts as passed, by however much.
            most = -1.0 if wait.lost else (wait.at_most or 0) - ran
            assert left is None or left <= most + 1e-6, "a maximum was lengthened"

    @invariant()
    def no_maximum_passes_in_silence(self) -> None:
        if not self.world.alive or self.world.state.mode is Mode.FINISHED:
            return
        for wait in self.world.state.job.waits:
            if wait.at_most is not None and self.world.true - self.started[wait.step] > wait.at_most + 1e-6:
                assert wait.step in self.over, "a maximum passed and nothing was said"


TestWaits = pytest.mark.slow(Waits.TestCase)
TestWaits.settings = settings(
    max_examples=60,
    stateful_step_count=40,
    deadline=None,
    phases=(Phase.explicit, Phase.reuse, Phase.generate),  # making an example shorter takes many minutes
)


def test_a_thousand_hours_end_at_the_exact_tick() -> None:
    """No drift: a wait of 1,000 h, the longest a procedure may have, is due at the exact tick of its clock, not a
    microsecond sooner, whatever woke the job meanwhile."""
    hours = 1000
    text = PROCEDURE.text.replace('at_least = "10 min"', f'at_least = "{hours} h"')
    stage = Stage(load_text(text, "long.toml"))
    stage.take(ev.Began(stage.at, "Imre", "boot-1"))
    for words in ("next", "go", "next", "go"):
        stage.hear(words)
    began = stage.mono
    for _ in range(hours - 1):
        stage.wait(3600 - 0.25)
        stage.take(ev.Woke(stage.at, "clock", stage.mono))
        stage.wait(0.25)
    stage.forget()
    stage.wait(began + hours * 3600 - 1e-6 - stage.mono)
    assert stage.state.job.wait_of("cure") is not None
    assert not stage.new_facts
    stage.wait(2e-6)
    assert [f.kind for f in stage.new_facts if f.body.get("step") == "cure"] == ["wait_due", "wait_ended"]
    ended = stage.new_facts[-1]
    assert ended.body["seconds"] == hours * 3600
