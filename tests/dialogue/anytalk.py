"""A technician who says anything, in random procedures, and a judge who reads the facts alone.

The judge shares no code with the core.
"""

from __future__ import annotations

from functools import cache
from random import Random
from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from bayvoice.dialogue.engine import events as ev
from bayvoice.dialogue.engine.state import Mode
from bayvoice.dialogue.steps import KINDS
from bayvoice.job.facts import Fact
from bayvoice.job.job import Job, fold_all
from bayvoice.procedure.model import Check, Hold, Measure, Procedure, Replace, Wait
from tests.anyjob import PEOPLE, grammars, procedure_of
from tests.stage import Stage
from tests.willing import Ways, answer, finish

SAID = (
    "next",
    "next",
    "next",
    "next",
    "yes",
    "yes",
    "yes",
    "no",
    "go",
    "back",
    "repeat",
    "which step",
    "how long",
    "stop",
    "help",
    "take a note",
    "pause",
    "resume",
    "later",
    "missing",
    "have it",
    "parts list",
    "no date",
    "skip step",
    "skip step because damaged",
    "cancel the wait",
    "started two hours ago",
    "part missing",
    "foreman's order",
    "count in rag",
    "count in two pins",
    "count out rag",
    "count out pin",
    "point one five millimetres",
    "point one five millimetres",
    "five millimetres",
    "correct point one two",
    "sign ruth",
    "sign kofi",
    "sign imre",
    "sign foreman",
    "searched by kofi with a lamp",
    "searched by imre",
    "searched by ruth",
    "allowed by ruth",
    "allowed by imre",
    "found sheared stud",
    "found cracked bracket",
    "found foreign part",
    "hand over to dalia",
    "hand over to imre",
    "batch lima one two",
    "march twenty thirty",
    "may twenty twenty six",
)
"""Ruth and Kofi never work on the job."""


PUSH: dict[str, tuple[str, ...]] = {
    Mode.CHECK: ("no", "next", "sign ruth"),
    Mode.MEASURE: ("five millimetres", "next"),
    Mode.CONFIRM: ("yes",),
    Mode.OVERRIDE: ("yes",),
    Mode.REASON: ("foreman's order", "damaged"),
    Mode.WAIT: ("go", "next", "skip step", "cancel the wait"),
    Mode.NAMED: ("allowed by ruth", "allowed by imre"),
    Mode.REPLACE: ("no", "skip step", "next"),
    Mode.HOLD: ("later", "later", "skip step", "sign imre"),
    Mode.SPELL: ("skip step", "batch lima one two"),
    Mode.EXPIRY: ("may twenty twenty six", "no date", "skip step"),
    Mode.CONSENT: ("yes",),
    Mode.TALLY: ("count in rag", "next", "skip step", "searched by kofi", "sign ruth"),
    Mode.LIST: ("have it", "missing"),
    Mode.TOGETHER: ("yes", "no", "next"),
    Mode.PAUSED: ("resume",),
}
"""What somebody says who wants to be through, whatever it takes."""


@cache
def understood(mode: Mode) -> tuple[str, ...]:
    """What of `SAID` means something in a dialogue state."""
    grammar = grammars().state(mode.value)
    return tuple(words for words in SAID if grammar.match(words.split()) is not None)


class Judge:
    """Reads facts in order and says what the end of the job left undone."""

    def __init__(self, procedure: Procedure) -> None:
        self.procedure = procedure
        self.steps = {step.id: step for step in procedure.steps}

    def undone(self, facts: list[Fact]) -> list[str]:
        """What a record that ends in "job_done" must not show."""
        inside: dict[str, dict[str, int]] = {}
        searched: dict[str, set[str]] = {}
        fresh: dict[str, bool] = {}
        signs: dict[str, set[str]] = {}
        passed: set[tuple[str, str]] = set()
        waits: dict[str, tuple[float, int]] = {}
        stopping: set[str] = set()
        hands: set[str] = set()
        begun: dict[str, tuple[float, int]] = {}
        wrong: list[str] = []
        for fact in facts:
            b: dict[str, Any] = fact.body
            if fact.kind == "sitting_began":
                hands.add(b["by"])
            elif fact.kind == "handed_over":
                hands |= {b["leaves"], b["takes"]}
            elif fact.kind == "tally_opened":
                inside.setdefault(b["opening"], {})
            elif fact.kind == "counted":
                things = inside[b["opening"]]
                things[b["thing"]] = things.get(b["thing"], 0) + b["change"]
            elif fact.kind == "tally_closed":
                left = inside.pop(b["opening"])
                wrong += [f"closed over {left}"] if any(left.values()) else []
            elif fact.kind == "searched":
                searched.setdefault(b["opening"], set()).add(b["who"])
            elif fact.kind == "replaced":
                fresh[b["step"]] = b["new"]
            elif fact.kind == "signed":
                signs.setdefault(b["step"], set()).add(b["who"])
                stopping.discard(b["step"])
                wrong += [f"{b['who']} signed own work"] if b["who"] in hands else []
            elif fact.kind == "found" and not b["to"]:
                stopping.add(b["step"])
            elif fact.kind == "wait_started":
                waits[b["step"]] = begun[b["step"]] = (fact.wall - b["ago"], b["at_least"])
                passed -= {(what, b["step"]) for what in ("wait", "cancel", "skip")}
            elif fact.kind == "wait_ended":
                at, least = waits.pop(b["step"])
                early = fact.wall - at < least and ("wait", b["step"]) not in passed
                wrong += ["a wait ended early"] if early and b["verdict"] not in ("cancelled", "restarted") else []
            elif fact.kind == "overridden":
                wrong += [f"{b['what']} passed without a reason"] if not b["reason"] else []
                done_with = not self._owing(b["step"], fact.wall, begun, passed - {(b["what"], b["step"])})
                wrong += self._passed(b, hands) if b["what"] != "skip" or not done_with else []
                passed.add((b["what"], b["step"]))
                if b["what"] == "tally":
                    inside.pop(b["name"])
                    looked = searched.get(b["name"], set())
                    others = signs.get(b["step"], set()) - looked - hands if looked else set()
                    wrong += ["a count passed without a search and a sign"] if b["who"] not in others else []
                if b["what"] == "hold" and (not b["who"] or b["who"] in hands):
                    wrong.append("a hold passed in nobody's name")
            if fact.kind == "step_entered":
                wrong += self._too_early(b["step"], fact.wall, begun, passed)
        wrong += [f"{opening} is open" for opening in inside]
        wrong += [f"{step} is stopped by a finding" for step in stopping]
        wrong += [
            f"{step} runs"
            for step, (at, least) in waits.items()
            if facts[-1].wall - at < least and ("wait", step) not in passed
        ]
        for step in self.procedure.steps:
            if step.aside:
                continue
            if isinstance(step.detail, Hold) and not signs.get(step.id) and ("hold", step.id) not in passed:
                wrong.append(f"{step.id} is not signed")
            if isinstance(step.detail, Replace) and not fresh.get(step.id) and ("part", step.id) not in passed:
                wrong.append(f"{step.id} left an old part")
        return wrong

    def _class(self, step: str) -> str:
        """Who may pass the guard of `step`: what can hurt takes two, where the file does not say."""
        one = self.steps[step]
        if one.pass_ is not None:
            return one.pass_.value
        hurts = isinstance(one.detail, Wait) and one.detail.wait.value == "settle"
        return "second" if hurts or any(c.signal.value == "DANGER" for c in one.cautions) else "alone"

    def _passed(self, body: dict[str, Any], hands: set[str]) -> list[str]:
        """What is wrong with one guard that was passed."""
        what, kind = body["what"], self._class(body["step"])
        if kind == "nobody":
            return [f"{what} of {body['step']} was passed, which nobody may"]
        other = bool(body["who"]) and body["who"] not in hands
        if kind == "second" and not other:
            return [f"{what} of {body['step']} was passed by one person"]
        return []

    def _too_early(
        self, step: str, wall: float, begun: dict[str, tuple[float, int]], passed: set[tuple[str, str]]
    ) -> list[str]:
        """Waits of the line that hold `step` back and had not kept their minimum when it was entered."""
        return [
            f"{step} began before the wait of {one.id} was over"
            for one in self.procedure.steps
            if isinstance(one.detail, Wait) and not one.aside and step in one.detail.gates
            if self._owing(one.id, wall, begun, passed)
        ]

    def _owing(self, step: str, wall: float, begun: dict[str, tuple[float, int]], passed: set[tuple[str, str]]) -> bool:
        """Whether `step` is no wait, or one whose minimum was neither kept nor passed."""
        at, least = begun.get(step, (wall, 1))
        waits = isinstance(self.steps[step].detail, Wait)
        return not waits or (wall - at < least and not passed & {(what, step) for what in ("wait", "cancel", "skip")})


WAYS = Ways()


class AnyTalk(RuleBasedStateMachine):
    """A technician who says anything, in any order."""

    @initialize(seed=st.integers(0, 2**32))
    def begin(self, seed: int) -> None:
        """A job of a procedure nobody has seen."""
        procedure = procedure_of(Random(seed))
        self.stage = Stage(procedure, PEOPLE, grammars=grammars())
        self.judge = Judge(procedure)
        self.stage.take(ev.Began(self.stage.at, "Imre", self.stage.boot))

    @property
    def done(self) -> bool:
        """The job has ended."""
        return self.stage.state.job.finished

    @rule(seed=st.integers(0, 2**64), diligence=st.sampled_from((0.1, 0.3, 0.6)))
    def talk(self, seed: int, diligence: float) -> None:
        """A stretch of talk: now and then what the job waits for, else anything that is understood here."""
        rng = Random(seed)
        for _ in range(40):
            if self.done:
                return
            if rng.random() < diligence:
                self._finish_a_bit()
            elif rng.random() < 0.5:
                self.stage.hear(rng.choice(PUSH.get(self.stage.state.mode, ("skip step", "next"))), take=False)
            elif rng.random() < 0.05:
                self.stage.wait(rng.choice((60, 300, 1800)))
            else:
                words = rng.choice(understood(self.stage.state.mode))
                # A step once left out needs no more care: let it be seldom.
                if not words.startswith("skip") or rng.random() < 0.5:
                    self.stage.hear(words)

    @rule(words=st.sampled_from(SAID))
    def say(self, words: str) -> None:
        """Something is said; what this state does not know means nothing."""
        self.stage.hear(words, take=False)

    @rule(minutes=st.sampled_from((1, 5, 30)))
    def wait(self, minutes: int) -> None:
        """Time passes."""
        self.stage.wait(60 * minutes)

    @precondition(lambda self: not self.done)
    @rule(by=st.sampled_from(("Imre", "Dalia")))
    def restart(self, by: str) -> None:
        """The power fails, and somebody takes the job up from its facts."""
        before = self.stage.state.job
        self.stage.again(by)
        after = self.stage.state.job
        kept = ("answered", "deviant", "openings", "inside", "excused", "deferred", "stopped", "turns", "listed")
        assert [getattr(before, name) for name in kept] == [getattr(after, name) for name in kept]

    @invariant()
    def what_must_hold(self) -> None:
        """The live job is the fold of its facts; a job that is done has left nothing undone; detours are bounded."""
        if not hasattr(self, "stage"):
            return
        stage = self.stage
        job = stage.state.job
        assert fold_all(Job("job-1", stage.procedure, KINDS), stage.facts) == job
        assert len(job.detours) <= len({s.aside for s in stage.procedure.steps}) + 1
        for step, count in job.turns:
            detail = stage.procedure.steps[stage.procedure.index(step)].detail
            assert isinstance(detail, Check | Measure)
            assert count <= detail.tries
        if self.done:
            ended = next(n for n, fact in enumerate(stage.facts) if fact.kind == "job_done")
            assert self.judge.undone(stage.facts[: ended + 1]) == []
            assert not job.detours

    def teardown(self) -> None:
        """From wherever the talk has led, the job can still be brought to its end."""
        if not hasattr(self, "stage"):
            return
        finish(self.stage, WAYS, self._hear, lambda: self.stage.again("Imre"))
        assert self.done, f"stuck: {self.stage.state.mode} {self.stage.said[-3:]}"
        self.what_must_hold()

    def _hear(self, words: str) -> None:
        self.stage.hear(words, take=False)

    def _finish_a_bit(self) -> None:
        """What a patient technician would say now."""
        stage = self.stage
        stage.forget()
        self._hear(answer(stage.state, stage.at, WAYS) or "next")
        if any(fact.kind == "refused" and fact.body["what"] == "wait" for fact in stage.new_facts):
            stage.wait(1800)
