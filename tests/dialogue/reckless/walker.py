"""A technician who wants to be through and lets nothing stop him: any word, key, lie or pulled plug."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from functools import cache
from random import Random

from bayvoice.dialogue.engine import events as ev
from bayvoice.dialogue.engine.state import Mode
from bayvoice.job.facts import KINDS
from bayvoice.language.intents import Intent
from bayvoice.language.units import spoken
from bayvoice.procedure.model import Fasten, Measure, Procedure, Wait
from tests.anyjob import PEOPLE, WORKERS, procedure_of
from tests.dialogue.reckless import honest
from tests.dialogue.reckless.jobs import CODE, bay, grammars_of, shipped
from tests.dialogue.reckless.world import World

REASONS = (
    "not fitted",
    "not needed",
    "part missing",
    "tool missing",
    "already done",
    "damaged",
    "wrong part",
    "foreman's order",
    "another reason",
    "maker allows it",
    "tested good",
    "stood long enough",
    "nothing applied",
    "started by mistake",
    "done again later",
    "no other gauge",
    "compared with another gauge",
    "no other batch",
    "label unreadable",
    "old one in good order",
    "searched and not found",
    "counted wrongly",
    "person not here",
    "looked at before",
)
NEAR = ("lmre", "Imre.", "I mre", "Mr Imre", "\u0406mr\u0435", "IMRE", "D\u0430lia", "dalia ", "Ruth.", "nobody", "")
"""Names that a reader takes for that of somebody who works here, and some that are nobody's."""
UNSURE = -1.6
"""Natural-log odds below which nothing may come of what was heard."""
ALWAYS = (
    "next",
    "next",
    "next",
    "yes",
    "no",
    "go",
    "back",
    "repeat",
    "which step",
    "how long",
    "stop",
    "help",
    "pause",
    "resume",
    "later",
    "skip step",
    "skip step",
    "missing",
    "have it",
    "no date",
    "parts list",
    "take a note",
    "restart the wait",
    "cancel the wait",
    "extend by one minute",
    "started two minutes ago",
    "started two hours ago",
    "started twenty minutes ago",
    "starting in one minute",
    "number one",
    "number two",
    "batch four two six",
    "march twenty thirty",
    "may twenty twenty five",
    "found foreign part",
    "searched by kofi",
    "searched by imre",
    "code one two three four",
    "code four seven one one",
    "code two five eight zero",
    "the first",
    "done",
    "allowed by nobody",
)
PASSING = ("skip", "cancel", "started", "allowed", "sign", "yes", "next", "later", "go", "restart", "no", "code")
"""What the words begin with that may lead past a guard."""


@dataclass
class Tally:
    """What walks came to. `caught`: (what, first seed, step) of each thing a judge found wrong."""

    count: Counter[str] = field(default_factory=Counter)
    caught: Counter[str] = field(default_factory=Counter)
    first: dict[str, tuple[int, str]] = field(default_factory=dict)
    stranded: list[int] = field(default_factory=list)

    def summary(self) -> str:
        """A few lines for a person."""
        c = self.count
        lines = [
            f"walks {c['walks']}, events {c['events']}, facts {c['facts']}, power cuts {c['cuts']}, "
            f"restarts of the computer {c['restarts']}, clock jumps {c['jumps']}, hand-overs {c['handed over']}, "
            f"returned by the foreman {c['returned']}"
        ]
        lines += [
            f"{guard}: {c[f'{guard} tried']} attempts, {c[f'{guard} held']} held, "
            f"{c[f'{guard} allowed']} let through by another person, {c[f'{guard} met']} met as it wants to be, "
            f"{c[f'{guard} passed']} got past it"
            for guard in ("second", "nobody", "stop")
        ]
        lines.append(
            f"brought to its end afterwards {c['finished']}, stopped for good by a finding "
            f"nobody may pass {c['stopped for good']}, stranded {len(self.stranded)}"
        )
        lines += [f"  stranded in walk {seed}" for seed in self.stranded[:10]]
        for what, n in self.caught.most_common():
            lines.append(f"  {n:5d} {what} (first in walk {self.first[what][0]}, step {self.first[what][1]})")
        return "\n".join(lines)


def spoken_words(procedure: Procedure) -> tuple[str, ...]:
    """All that the walker knows to say in a job."""
    steps = procedure.steps
    words = list(ALWAYS)
    words += [f"skip step because {reason}" for reason in REASONS] + list(REASONS)
    words += [f"sign {name.lower()}" for name in PEOPLE] + ["sign foreman", "sign inspector", f"sign ruth code {CODE}"]
    words += [f"sign ruth code {CODE}", "sign ruth code nine nine nine nine", "sign kofi code two five eight zero"]
    words += [f"allowed by {name.lower()}" for name in PEOPLE] + ["allowed by foreman"]
    words += [f"allowed by ruth code {CODE}", "allowed by ruth code one one one one"]
    words += [f"hand over to {name.lower()}" for name in WORKERS]
    words += [f"found {finding.say}" for finding in procedure.findings]
    words += [f"count {way} {thing}" for thing in procedure.things() for way in ("in", "out")]
    for step in steps:
        if isinstance(step.detail, Wait):
            name = step.detail.name
            words += [f"cancel {name}", f"restart {name}", f"extend {name} by two minutes"]
        if isinstance(step.detail, Fasten) and step.detail.each:
            words += ["ten newton metres", "twenty four newton metres", "ninety newton metres"]
        if isinstance(step.detail, Measure):
            unit = spoken(step.detail.unit, True)
            words += [f"{n} {unit}" for n in ("zero", "one", "point one five", "fifty")]
            words += [f"correct {step.detail.name} {n} {unit}" for n in ("one", "five hundred")]
    words += ["twenty three degrees celsius", "fifty percent"]
    return tuple(words)


@cache
def _heard_in(key: str, mode: Mode, words: tuple[str, ...]) -> tuple[str, ...]:
    """What of `words` means something in a dialogue state."""
    grammar = grammars_of(key).state(mode.value)
    return tuple(one for one in words if grammar.match(one.split(), spoken=False) is not None)


PUSH: dict[str, tuple[str, ...]] = {
    "override": ("yes",),
    "confirm": ("yes",),
    "sure": ("yes",),
    "reason": (*REASONS, *(("foreman's order",) * 10), *(("another reason",) * 3)),
    "which": ("number one",),
    "consent": ("yes",),
    "paused": ("resume",),
    "either": ("the first",),
    "gauge": ("yes", "no"),
    "spell": ("skip step", "batch four two six"),
    "expiry": ("no date", "march twenty thirty"),
    "list": ("later",),
    "noting": ("stop",),
    "hold": ("later", "later", "sign foreman", "sign imre", "next"),
    "named": ("allowed by ruth", "allowed by ruth", "allowed by kofi", "allowed by imre"),
    "code": ("code four seven one one", "code four seven one one", "code one two three four"),
}
"""What somebody answers who wants to be through."""


class Walk:
    """One walk. `trace`: what was done, for looking at one that went wrong."""

    def __init__(self, seed: int, tally: Tally, *, passing: bool, near: bool = False) -> None:
        self.seed, self.tally, self.near = seed, tally, near
        self.rng = Random(seed)
        rng = self.rng
        if rng.random() < 0.4:
            procedure = rng.choice(shipped())
            self.key = procedure.id
        else:
            procedure, self.key = procedure_of(rng, passing), ""
        self.words = spoken_words(procedure)
        self.diligence = rng.choice((0.15, 0.4, 0.7, 0.85))
        self.world = World(
            procedure, bay(rng.choice(("codes", "roles", "nothing"))), grammars_of(self.key), trust=rng.random() < 0.2
        )
        self.world.mic = rng.random() < 0.5
        self.trace: list[str] = []
        self.returned = False

    def go(self, most: int = 120) -> None:
        """Walk, then let an honest technician finish; what was wrong goes to the tally."""
        world, count = self.world, self.tally.count
        world.begin(self.rng.choice(WORKERS))
        for _ in range(self.rng.randint(most // 4, most)):
            if world.state.job.finished and self.returned:
                count["ended by the walker"] += 1
                break
            if world.alive and world.state.job.finished:
                self._returned()
            self._once()
        if not world.alive:
            world.begin(WORKERS[0])
        if honest.finish(world):
            count["finished"] += 1
        else:
            if world.judge.stopped_for_good:
                # A finding nobody may pass: that the job does not end is what the procedure wants.
                count["stopped for good"] += 1
            else:
                self.tally.stranded.append(self.seed)
            self.trace.append(f"stranded in {world.state.mode} at {world.judge.here}: {world.said[-3:]}")
        count["walks"] += 1
        count["events"] += world.told
        count["facts"] += len(world.facts)
        count["handed over"] += sum(fact.kind == "handed_over" for fact in world.facts)
        for what, step in world.judge.wrong:
            plain = what if self.key else _nameless(what)
            self.tally.caught[plain] += 1
            self.tally.first.setdefault(plain, (self.seed, step))

    def _returned(self) -> None:
        """The foreman returns the job with a remark: its last step is open again."""
        world = self.world
        self.returned = True
        self.tally.count["returned"] += 1
        self._note("the foreman returns the job")
        world.die()
        keys = dict.fromkeys(KINDS["returned"], "")
        world.keep("returned", {**keys, "who": "Ruth", "remark": "Show me the last step."})

    def _once(self) -> None:
        rng, world = self.rng, self.world
        if not world.alive:
            self._come_up()
            return
        chance = rng.random()
        if world.taking and chance < 0.7:
            stem, world.taking = world.taking, ""
            world.take(ev.NoteTaken(world.at, f"{stem}-0.wav", "0" * 64, 2.0))
        elif chance < 0.03:
            self._note("power fails while it records")
            world.power_for = rng.randint(0, 4)
            self._attempt(self._choose())
            if world.alive:
                world.die()
        elif chance < 0.045:
            self._note("power fails")
            world.die()
        elif chance < 0.06:
            by = rng.choice((-7200.0, -90.0, 90.0, 3600.0, 30_000.0))
            self._note(f"the wall clock is set by {by}")
            self.tally.count["jumps"] += 1
            world.set_wall(by)
        elif chance < 0.10:
            seconds = rng.choice((3.0, 60.0, 119.0, 300.0, 1199.0, 1900.0, 25_000.0))
            self._note(f"{seconds} s pass")
            world.forget()
            world.wait(seconds)
        else:
            self._attempt(self._choose())

    def _come_up(self) -> None:
        rng, world, count = self.rng, self.world, self.tally.count
        count["cuts"] += 1
        if rng.random() < 0.5:
            world.mono += rng.choice((0.5, 45.0))
            world.base += rng.choice((0.0, 0.0, 5000.0, -5000.0))
        else:
            count["restarts"] += 1
            by = rng.choice((0.0, 0.0, 0.0, 3600.0, 86_400.0, -3600.0, 3.0e8 if world.at.wall < 1.9e9 else 0.0))
            count["jumps"] += by != 0
            world.computer_again(rng.choice((20.0, 60.0)), by)
            if rng.random() < 0.15:
                # A system that gives the runs of its clock no name: the product makes one up.
                world.boot = f"unknown-{count['restarts']}"
        by_whom = rng.choice((*WORKERS, *WORKERS, "imre", *(NEAR[:-2] if self.near else ())))
        self._note(f"{by_whom} starts again, {world.boot}")
        world.begin(by_whom)

    def _choose(self) -> str:
        """What is said next: now and then the honest word, mostly what may lead past what stands here."""
        rng, world = self.rng, self.world
        state = world.state
        mode = state.mode
        guarded = bool(world.judge.guards_here(world.true)) or bool(state.gate) or state.pending is not None
        stops = [words for words in self.words if words.startswith("found") and words != "found foreign part"]
        if not guarded and state.mode in ("step", "check", "measure", "hold", "replace") and rng.random() < 0.03:
            return rng.choice(stops or ["next"])
        if not guarded and rng.random() < self.diligence:
            return honest.word(world)
        if world.judge.here in world.judge.stops and rng.random() < 0.5:
            return honest.word(world, sign=False)
        if rng.random() < 0.6 and mode in PUSH:
            return rng.choice(PUSH[mode])
        here = _heard_in(self.key, mode, self.words)
        if guarded and rng.random() < 0.6:
            here = tuple(words for words in here if words.split()[0] in PASSING) or here
        if not here or rng.random() < 0.02:
            return rng.choice(self.words)
        if guarded and rng.random() < 0.1:
            return honest.word(world)
        return rng.choice(here)

    def _attempt(self, words: str) -> None:
        rng, world, count = self.rng, self.world, self.tally.count
        before = world.judge.guards_here(world.true)
        wrong = len(world.judge.wrong)
        intent = None
        typed = rng.random() < 0.3
        sure: float | None = None
        late = 0.0
        if self.near and words.split()[0] in ("sign", "allowed") and rng.random() < 0.25:
            who = rng.choice(NEAR)
            words, typed = f"{words.split()[0]} {who}", True
            intent = Intent("sign" if words.startswith("sign") else "name", slots=(("who", who.lower()),))
        if not typed and rng.random() < 0.25:
            sure = rng.choice((-3.0, UNSURE, -0.9, -0.5, 0.2, 0.9, 3.0))
            late = rng.choice((0.0, 0.0, 2.0, 20.0))
        how = "typed" if typed else f"heard, sure {sure}, {late} s ago"
        self._note(f"{world.state.mode} at {world.judge.here or 'the start'}: {words!r} {how}")
        facts = len(world.facts)
        world.say(words, typed=typed, sure=sure, late=late, intent=intent)
        self._note("    " + "; ".join(f"{fact.kind} {fact.body}" for fact in world.facts[facts:]))
        if sure is not None and sure <= UNSURE and words not in ("stop",):
            made = [
                fact.kind
                for fact in world.facts[facts:]
                if fact.kind in ("overridden", "signed", "step_done", "checked", "wait_started", "job_done")
            ]
            world.judge.wrong += [(f"{kind} on words that were not sure", world.judge.here) for kind in made]
        if not any(words.startswith(one) for one in PASSING):
            return
        judge = world.judge
        after = judge.guards_here(world.true)
        for step, guard in before.items():
            count[f"{guard} tried"] += 1
            if len(judge.wrong) > wrong:
                count[f"{guard} passed"] += 1
                self._note(f"    WRONG {judge.wrong[wrong:]}")
            elif (guard == "stop" and step not in judge.stops) or (guard == "second" and step in judge.allowed):
                count[f"{guard} allowed"] += 1
            elif step in after or judge.here == step:
                count[f"{guard} held"] += 1
            else:
                count[f"{guard} met"] += 1

    def _note(self, what: str) -> None:
        self.trace.append(f"{self.world.true:9.1f} {what}")


def _nameless(what: str) -> str:
    """A finding of the judge without the names of steps that only one random procedure has."""
    return " ".join("…" if word[0] in "sxy" and word[1:].isdigit() else word for word in what.split())


def walk(seed: int, tally: Tally, *, passing: bool = True, near: bool = False) -> Walk:
    """Walk once; an exception of the product carries what was done last.

    near: also with names that can be taken for somebody else's.
    """
    one = Walk(seed, tally, passing=passing, near=near)
    try:
        one.go()
    except Exception as error:
        error.add_note(f"reckless walk {seed}:\n" + "\n".join(one.trace[-12:]))
        raise
    return one
