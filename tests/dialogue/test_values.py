"""No value gets into a record but by a yes to exactly that value; and what is said arrives as it was said."""

from __future__ import annotations

import random
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bayvoice.dialogue.engine import effects as fx
from bayvoice.dialogue.engine import events as ev
from bayvoice.dialogue.engine.state import Mode, ValueAsked
from bayvoice.dialogue.session import handle
from bayvoice.dialogue.steps import KINDS
from bayvoice.job.job import Job, fold_all
from bayvoice.language import units
from bayvoice.procedure.load import load_text
from bayvoice.procedure.model import Procedure
from bayvoice.units import possible
from tests.stage import Stage, new_state, wording

JOB = """
format = 1
title = "Hub"
machine = "Varrow K40 tow tractor"
[[gauge]]
id = "dial"
name = "dial gauge"
unit = "mm"
uncertainty = 0.008
due = "ask"
[[gauge]]
id = "wrench"
name = "torque wrench"
due = 2020-01-31
[[step]]
id = "float"
kind = "measure"
say = "Measure the end float."
name = "end float"
unit = "mm"
low = 0.02
high = 0.10
gauge = "dial"
[[step]]
id = "depth"
kind = "measure"
say = "Measure the depth."
name = "depth"
unit = "mm"
low = 2
high_from = "end_float + 30 mm"
times = 2
spread = "1 mm"
[[step]]
id = "bolts"
kind = "fasten"
say = "Tighten the bolts."
count = 2
order = "row"
stages = ["24 N.m"]
each = true
tolerance = "4 %"
last_round = true
[[step]]
id = "preload"
kind = "measure"
say = "Measure the preload."
name = "preload"
unit = "N.m"
low = 30
high = 45
gauge = "wrench"
"""
PHRASES = (
    "yes",
    "yes",
    "yes",
    "yes",
    "no",
    "next",
    "done",
    "repeat",
    "back",
    "stop",
    "the first",
    "the second",
    "pause",
    "resume",
    "which step",
    "skip step",
    "damaged",
    "point oh five",
    "point oh six millimetres",
    "two thou",
    "three fifty",
    "thirty six",
    "thirty six foot pounds",
    "four hundred and fifty",
    "twenty four",
    "nineteen",
    "five fifty",
    "double oh five",
    "about five",
    "two and a half",
    "twelve bar",
    "no twelve",
    "correct point oh seven",
    "correct end float point one two",
    "correct preload thirty one",
    "correct the second reading nine",
    "correct depth the first reading eleven",
    "reckon pressure two bar",
    "record twelve",
    "help",
)
RECORDED = ("measured", "fastened")


def procedure() -> Procedure:
    return load_text(JOB, "hub.toml")


def say(stage: Stage, words: str) -> tuple[ValueAsked | None, bool, int]:
    """The value that was open before `words`, whether they were a yes, and how many facts there were."""
    pending, facts = stage.state.pending, len(stage.facts)
    intent = stage.grammars.state(stage.state.mode).match(words.split())
    stage.hear(words, take=False)
    agreed = intent is not None and intent.name == "yes" and isinstance(pending, ValueAsked)
    return (pending if isinstance(pending, ValueAsked) else None), agreed, facts


def check(stage: Stage, pending: ValueAsked | None, agreed: bool, before: int) -> None:
    """Every value recorded now is the one that was read back and agreed to, as it was said and as it is judged."""
    values = [f for f in stage.facts[before:] if f.kind == "measured" or (f.kind == "fastened" and f.body["achieved"])]
    if not agreed or pending is None:
        assert all(f.body["trusted"] for f in values), values
        return
    assert len(values) == 1
    body = values[0].body
    said = ("achieved", "achieved_unit") if values[0].kind == "fastened" else ("said_value", "said_unit")
    assert (body[said[0]], body[said[1]]) == (f"{pending.said_value:f}", pending.said_unit)
    assert not body["trusted"]
    if values[0].kind == "measured":
        assert (body["value"], body["unit"], body["step"]) == (f"{pending.value:f}", pending.unit, pending.step)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.sampled_from(PHRASES) | st.sampled_from(("wait", "again")), max_size=40), st.booleans())
def test_no_value_without_a_yes_to_exactly_that_value(said: list[str], trust: bool) -> None:
    """Random dialogues, with silences and crashes: and the record folds to the live job, and replays to itself."""
    stage = Stage(procedure(), ("Ruth",), trust=trust)
    stage.take(ev.Began(stage.at, "Imre", "boot-1"))
    crashed = False
    for words in said:
        if words == "wait":
            before = len(stage.facts)
            stage.wait(30)
            assert not [f for f in stage.facts[before:] if f.kind in RECORDED]
        elif words == "again":
            crashed = True
            stage.again("Dalia")
        else:
            check(stage, *say(stage, words))
        if not trust:
            assert not any(f.body["trusted"] for f in stage.facts if f.kind in RECORDED)
    assert fold_all(Job("job-1", stage.procedure, KINDS), stage.facts) == stage.state.job
    if crashed:
        return
    state = replace(new_state("job-1", stage.procedure, wording(), ("Ruth",)), trust=trust)
    effects: list[fx.Effect] = []
    for event in stage.events:
        state, more = handle(state, event)
        effects.extend(more)
    assert effects == stage.effects
    assert state == stage.state


def limits_for(code: str) -> Procedure:
    """A job that measures in `code` between such limits that no value is far off."""
    return load_text(
        'format = 1\ntitle = "T"\nmachine = "M"\n[[step]]\nid = "v"\nkind = "measure"\nsay = "Measure."\n'
        f'name = "size"\nunit = "{code}"\nlow = -999999\nhigh = 999999\n[[step]]\nid = "end"\n'
        'kind = "do"\nsay = "Put the gauge away."\n',
        "v.toml",
    )


@pytest.mark.parametrize("code", list(units.UNITS))
def test_what_is_said_in_any_unit_is_what_is_recorded(code: str) -> None:
    """Say, match, read back, yes, fact: value, trailing zeros, sign and unit, for 60 random values of every unit."""
    rng = random.Random(code)
    stage = Stage(limits_for(code))
    stage.take(ev.Began(stage.at, "Imre", "boot-1"))
    for _ in range(60):
        places = rng.randrange(4)
        value = Decimal(rng.randrange(-(10 ** (3 + places)), 10 ** (3 + places))).scaleb(-places)
        value = value if value else abs(value)
        stage.forget()
        if stage.state.mode is not Mode.MEASURE:
            stage.hear("back")
        stage.hear(units.say(value, code))
        if not possible(value, code):  # a temperature below absolute zero is refused by name
            assert stage.said[-1] == f"That is below absolute zero. Say the size again, in {units.spoken(code)}."
            assert not [fact for fact in stage.new_facts if fact.kind == "measured"]
            continue
        assert stage.state.mode is Mode.CONFIRM, (value, code, stage.said)
        stage.hear("yes")
        body = next(f for f in stage.new_facts if f.kind == "measured").body
        assert (body["value"], body["unit"]) == (f"{value:f}", code)
        assert (body["said_value"], body["said_unit"]) == (f"{value:f}", code)


def test_without_a_unit_a_value_is_in_the_steps_unit() -> None:
    """And with another of the same dimension both are recorded: 25.4 mm are an inch (NIST SP 811, exact)."""
    stage = Stage(limits_for("mm"))
    stage.take(ev.Began(stage.at, "Imre", "boot-1"))
    stage.hear("one inch")
    stage.hear("yes")
    body = next(f for f in stage.facts if f.kind == "measured").body
    assert (body["value"], body["unit"], body["said_value"], body["said_unit"]) == ("25.4", "mm", "1", "in")


@pytest.mark.parametrize(
    ("value", "verdict"),
    [
        ("0.019", "close"),
        ("0.011", "low"),
        ("0.028", "within"),
        ("0.092", "within"),
        ("0.093", "close"),
        ("0.108", "close"),
        ("0.109", "high"),
    ],
)
def test_verdicts_are_those_of_the_decision_rule(value: str, verdict: str) -> None:
    """ISO 14253-1 by hand: limits 0.02 and 0.10, expanded uncertainty 0.008; the edges of the doubt are 0.012, 0.028,
    0.092 and 0.108."""
    stage = Stage(procedure())
    stage.take(ev.Began(stage.at, "Imre", "boot-1"))
    stage.hear("yes")
    stage.hear(f"{value} mm", typed=True)
    stage.hear("yes")
    assert next(f for f in stage.facts if f.kind == "measured").body["verdict"] == verdict


def test_the_bolts_of_a_step_are_told_for_the_screen() -> None:
    """Number and state of each, in the order in which they are done."""
    text = JOB[: JOB.index("[[step]]")] + JOB[JOB.index('[[step]]\nid = "bolts"') :]
    stage = Stage(load_text(text, "bolts.toml"))
    stage.take(ev.Began(stage.at, "Imre", "boot-1"))
    assert stage.state.job.bolts("bolts") == ((1, "now"), (2, "to come"))
    stage.hear("done")
    assert stage.state.job.bolts("bolts") == ((1, "done"), (2, "now"))
    stage.hear("done")
    assert stage.state.job.bolts("bolts") == ((1, "now"), (2, "now")), "the last round is over all of them"
    stage.hear("no")
    assert stage.state.job.bolts("bolts") == ((1, "done"), (2, "done"))
    assert stage.state.job.bolts("preload") == ()
