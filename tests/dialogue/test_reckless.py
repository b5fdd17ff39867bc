"""A technician who tries every word, key, lie and pulled plug gets past no guard that is not his to pass.

The walks and their judge are in `tests/dialogue/reckless`; the judge reads the procedure's text and the facts as JSON
and shares no code with the core. Long runs: ``python -m tests.dialogue.reckless --walks 2000 --seed 1``.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from bayvoice.dialogue import session
from bayvoice.dialogue.flow import passing, route, signing, waits, walk
from bayvoice.dialogue.steps import waiting
from bayvoice.job import sittings
from bayvoice.job.people import Person
from bayvoice.language.risk import Verdict
from bayvoice.procedure.load import load_text
from bayvoice.procedure.model import Passing
from tests.dialogue.reckless.jobs import bay, grammars_of, shipped
from tests.dialogue.reckless.judge import Judge, likeness
from tests.dialogue.reckless.rules import read
from tests.dialogue.reckless.walker import Tally
from tests.dialogue.reckless.walker import walk as step
from tests.dialogue.reckless.world import World

WALKS = 60
MOST = 150
"""Walks at most until a guard that was taken out is missed."""


def walked(seeds: range, **how: bool) -> Tally:
    """What these walks came to."""
    tally = Tally()
    for seed in seeds:
        step(seed, tally, **how)
    return tally


def test_nothing_leads_past_a_guard_and_nobody_is_stranded() -> None:
    """And every kind of guard was really tried, held, and let a job through where somebody else allowed it."""
    tally = walked(range(WALKS))
    print(tally.summary())
    assert not tally.caught, tally.summary()
    assert not tally.stranded, tally.summary()
    for guard in ("second", "nobody", "stop"):
        assert tally.count[f"{guard} tried"] >= 50, tally.summary()
        assert tally.count[f"{guard} held"] >= 40, tally.summary()
        assert tally.count[f"{guard} passed"] == 0, tally.summary()
    assert tally.count["second allowed"] >= 5, tally.summary()
    assert tally.count["cuts"] >= 80
    assert tally.count["restarts"] >= 50
    assert tally.count["handed over"] >= 50


WEAKENED: dict[str, tuple[object, str, Callable[..., Any]]] = {
    "every guard is the technician's own": (passing, "class_of", lambda job, what, step: Passing.ALONE),
    "what nobody may pass is passed": (passing, "nobody_may", lambda turn, asked: False),
    "no wait bars the way": (waits, "gating", lambda *given, **named: None),
    "no finding stops": (walk, "stopped", lambda turn, step: False),
    "nothing is owed before a step": (route, "owed_before", lambda job, index: None),
    "a wait is said to have begun at any time": (waiting, "_before_entered", lambda turn, step, seconds: False),
    "the wall clock is believed": (
        sittings,
        "_counted_since",
        lambda at, last, mono, gone: mono - gone.least - (last - at),
    ),
    "whoever worked may sign": (signing, "_person", lambda turn, said, role: (Person(said.capitalize()), "")),
    "unsure words count": (session, "weigh", lambda state, intent, sure: Verdict.ACT),
}
"""What each leaves out of the core: (module, name, what stands there instead)."""


@pytest.mark.parametrize("what", WEAKENED)
def test_walks_that_a_weakened_core_lets_through_are_caught(what: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Any one guard taken out of the core, and the same walks come out wrong: the judge does not believe the core."""
    module, name, instead = WEAKENED[what]
    monkeypatch.setattr(module, name, instead)
    tally = Tally()
    for seed in range(MOST):
        step(seed, tally)
        if tally.caught:
            return
    raise AssertionError(f"{MOST} walks found nothing")


LIFT = load_text(
    next(one for one in shipped() if one.id == "lift-chain").text.replace('gates = ["guard-off"]', 'gates = ["wipe"]'),
    "lift-chain.toml",
)
"""The lift chains with two steps between the pressure bleed and what it holds back."""
RIGHT = {
    "what": "skip",
    "name": "it",
    "reason": "not needed",
    "who": "Ruth",
    "code": "right",
    "class": "second",
    "note": 0,
}


def judged(*facts: tuple[str, dict[str, Any]], text: str = LIFT.text) -> list[tuple[str, str]]:
    """What the judge finds in facts a second apart, of a job that Imre works in a bay that keeps codes."""
    judge = Judge(bay("codes").members)
    opening = [("job_began", {"text": text}), ("sitting_began", {"by": "Imre"})]
    for second, (kind, body) in enumerate([*opening, *facts]):
        judge.fact({"kind": kind, "body": body}, float(second), float(second))
    return judge.wrong


def entered(step: str, again: str = "no") -> tuple[str, dict[str, Any]]:
    """A step is entered."""
    return "step_entered", {"step": step, "again": again}


def done(step: str, how: str = "done") -> tuple[str, dict[str, Any]]:
    """A step is left."""
    return "step_done", {"step": step, "how": how, "reason": ""}


def passed(step: str, **other: Any) -> tuple[str, dict[str, Any]]:
    """A guard is passed, by default as it should be."""
    return "overridden", {**RIGHT, "step": step, **other}


TO_THE_BLEED = [
    entered("lower"),
    ("checked", {"step": "lower", "answer": True}),
    done("lower"),
    entered("key-out"),
    ("checked", {"step": "key-out", "answer": True}),
    done("key-out"),
    entered("pressure-bleeds"),
]
PAST_THE_BLEED = [
    done("pressure-bleeds", "skipped"),
    entered("guard-off"),
    done("guard-off"),
    entered("guard-away"),
    done("guard-away"),
    entered("wipe"),
]


def test_the_judge_lets_through_what_another_person_allowed_and_nothing_else() -> None:
    """The pressure bleed that is left out: with Ruth and her code it is right, in any other way it is not."""
    assert judged(*TO_THE_BLEED, passed("pressure-bleeds"), *PAST_THE_BLEED) == []
    for other in ({"who": ""}, {"who": "Imre"}, {"who": "Mr. lmre"}, {"code": ""}, {"who": "Nobody"}, {"reason": ""}):
        assert judged(*TO_THE_BLEED, passed("pressure-bleeds", **other), *PAST_THE_BLEED), other
    without = judged(*TO_THE_BLEED, *PAST_THE_BLEED)
    assert ("second: wait left, skipped", "pressure-bleeds") in without
    assert ("second: begun before the wait pressure-bleeds was over (no)", "wipe") in without


def test_the_judge_takes_its_own_time() -> None:
    """A wait whose fact says that it began long ago began when its step was come to."""
    began = {"step": "pressure-bleeds", "at_least": 120, "mono": "-500.000"}
    assert judged(*TO_THE_BLEED, ("wait_started", began), done("pressure-bleeds"), *PAST_THE_BLEED[1:])
    short = judged(*TO_THE_BLEED, ("wait_started", {**began, "at_least": 60}))
    assert short == [("a wait was made shorter than its procedure says", "pressure-bleeds")]


def test_the_judge_holds_a_class_of_nobody_against_everybody() -> None:
    """Not even the foreman with her code passes it."""
    text = LIFT.text.replace('wait = "settle"', 'wait = "settle"\npass = "nobody"', 1)
    found = judged(*TO_THE_BLEED, passed("pressure-bleeds"), *PAST_THE_BLEED, text=text)
    assert ("nobody: skip passed", "pressure-bleeds") in found


def test_the_judge_knows_a_stop() -> None:
    """A step a finding stops is left only after a sign of somebody who did not work here."""
    found = ("found", {"step": "lower", "what": "cracked chain plate", "to": ""})
    sign = ("signed", {"step": "lower", "who": "Ruth", "code": "right"})
    answer = ("checked", {"step": "lower", "answer": True})
    assert judged(entered("lower"), answer, found, sign, done("lower"), entered("key-out")) == []
    assert len(judged(entered("lower"), answer, found, done("lower"), entered("key-out"))) == 2
    assert judged(entered("lower"), found, ("signed", {"step": "lower", "who": "Imre", "code": "right"}))


@pytest.mark.parametrize("procedure", shipped(), ids=lambda procedure: procedure.id)
def test_the_judge_reads_the_steps_in_the_order_they_are_worked(procedure: Any) -> None:
    """Two readers of one file that share no code agree on the steps, their order and what the waits hold back."""
    rules = read(procedure.text)
    assert [rule.id for rule in rules.steps] == [step.id for step in procedure.steps]
    assert [rule.gates for rule in rules.steps] == [getattr(step.detail, "gates", ()) for step in procedure.steps]
    assert [rule.guard for rule in rules.steps if rule.kind != "hold"] == [
        step.passing.value for step in procedure.steps if step.kind.value != "hold"
    ]


@pytest.mark.parametrize(
    ("one", "other", "alike"),
    [
        ("Imre", "lmre", True),
        ("Imre", "Imre.", True),
        ("Imre", "I mre", True),
        ("Imre", "Mr Imre", True),
        ("Imre", "\u0406mr\u0435", True),
        ("Imre", "Dalia", False),
        ("Imre", "Imra", False),
        ("", "Imre", False),
    ],
)
def test_names_a_reader_takes_for_the_same_are_the_same(one: str, other: str, alike: bool) -> None:
    """As the judge compares them; letters that look alike after Unicode Technical Standard 39, from memory."""
    assert (likeness(one) == likeness(other)) is alike


def at_the_bleed() -> World:
    """Imre has started the pressure bleed of the lift chains, two minutes long, and worked on to the step before its
    gate."""
    world = World(LIFT, bay("nothing"), grammars_of("lift-chain"))
    world.begin("Imre")
    for words in ("yes", "yes", "go", "next", "next"):
        world.say(words)
    assert world.judge.here == "guard-away"
    return world


def test_a_wall_clock_set_ahead_while_the_computer_is_off_passes_no_guarded_wait() -> None:
    """Twenty seconds off, and an hour later by the wall clock: of the two minutes only what was counted has passed."""
    world = at_the_bleed()
    world.die()
    world.computer_again(20.0, 3600.0)
    world.begin("Imre")
    assert "pressure bleeding off: the time the computer was off does not count." in world.said
    world.say("next")
    assert world.judge.here == "guard-away"
    assert [fact.body["what"] for fact in world.new_facts] == ["wait"]
    world.wait(130.0)
    world.say("next")
    assert world.judge.here == "wipe"
    assert world.judge.wrong == []


def test_a_wait_begun_anew_holds_back_the_step_it_gates_though_that_was_come_to() -> None:
    """Kofi lets the chains be wiped; then the pressure rises again and the wait is begun anew: wiping does not end."""
    world = at_the_bleed()
    for words in ("next", "skip step because foreman's order", "yes", "allowed by kofi"):
        world.say(words)
    assert world.judge.here == "wipe"
    for words in ("restart the wait", "yes", "next"):
        world.say(words)
    assert world.judge.here == "wipe"
    assert [fact.body["what"] for fact in world.new_facts] == ["wait"]
    world.wait(130.0)
    world.say("next")
    assert world.judge.here == "plates"
    assert world.judge.wrong == []


COUNTED = """\
format = 1
title = "Timing window"
machine = "Hollin 25"
references = ["a test"]
[[step]]
id = "bench"
kind = "do"
say = "Clean the bench."
[[step]]
id = "count-open"
kind = "tally"
say = "Open the count."
opening = "timing window"
things = ["rag"]
[[step]]
id = "count-closed"
kind = "tally"
say = "Close the count."
opening = "timing window"
close = true
"""


def test_a_count_is_opened_though_the_power_failed_as_its_step_was_entered() -> None:
    """Else it could never be closed with "next"."""
    procedure = load_text(COUNTED, "counted.toml")
    world = World(procedure, bay("nothing"), grammars_of("balancer-phase"))
    world.begin("Imre")
    world.power_for = 2
    world.say("next")
    assert (world.alive, world.facts[-1].kind, world.judge.here) == (False, "step_entered", "count-open")
    world.begin("Imre")
    assert world.state.job.openings == ("timing window",)
