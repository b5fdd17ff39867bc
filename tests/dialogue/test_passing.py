"""Who may pass which guard: each class with each kind of guard, and every way somebody alone might try."""

from __future__ import annotations

from functools import cache
from random import Random
from typing import Any

import pytest

from bayvoice.dialogue.engine import events as ev
from bayvoice.host.datafiles import read_grammars
from bayvoice.job.facts import Fact
from bayvoice.language.grammar import Grammars
from bayvoice.language.intents import Intent
from bayvoice.procedure.fills import fills_of
from bayvoice.procedure.load import load_text
from bayvoice.procedure.model import Procedure
from bayvoice.record.sqlite.roster import Entry, Roster, hashed
from tests.stage import Stage

HEAD = """format = 1
title = "T"
machine = "M"
[[part]]
id = "ring"
name = "sealing ring"
one_use = true
[[consumable]]
id = "glue"
name = "glue"
shelf_life = true
[[gauge]]
id = "dial"
name = "dial gauge"
due = "2001-01-01"
"""
BODIES = {
    "skip": 'kind = "do"\n',
    "check": 'kind = "check"\nask = "Clean?"\n',
    "measure": 'kind = "measure"\nname = "gap"\nunit = "mm"\nlow = "0.10"\nhigh = "0.20"\n',
    "gauge": 'kind = "measure"\nname = "gap"\nunit = "mm"\nlow = "0.10"\nhigh = "0.20"\ngauge = "dial"\n',
    "bolt": ('kind = "fasten"\ncount = 2\norder = "row"\nstages = ["20 N.m"]\neach = true\ntolerance = "5 %"\n'),
    "part": 'kind = "replace"\npart = "ring"\n',
    "batch": 'kind = "do"\nuses = ["glue"]\n',
    "hold": 'kind = "hold"\nlook = "the seat"\n',
    "wait": 'kind = "wait"\nwait = "cure"\nname = "cure"\nat_least = "20 min"\n',
    "cancel": 'kind = "wait"\nwait = "cure"\nname = "cure"\nat_least = "20 min"\n',
    "late": ('kind = "wait"\nwait = "act"\nname = "remover"\nat_least = "1 min"\nat_most = "5 min"\n'),
    "unstarted": 'kind = "wait"\nwait = "cure"\nname = "cure"\nat_least = "20 min"\n',
}
"""Guard -> a step that has it."""
WAYS: dict[str, tuple[str | float, ...]] = {
    "skip": ("skip step",),
    "check": ("no", "next"),
    "measure": ("five millimetres", "yes", "next"),
    "gauge": ("point one five millimetres", "yes", "next"),
    "bolt": ("fifty newton metres", "yes", "next"),
    "part": ("no", "skip step"),
    "batch": ("next", "january twenty twenty one", "yes", "next", "skip step"),
    "hold": ("skip step",),
    "wait": ("go", "next", "skip step"),
    "cancel": ("go", "cancel the wait"),
    "late": ("go", 600.0, "next", "skip step"),
    "unstarted": ("skip step",),
}
"""Guard -> what leads to the question whether it may be passed."""
KIND_OF = {"unstarted": "skip"}
ROSTER = Roster(
    (
        Entry("Imre", "technician"),
        Entry("Dalia", "technician"),
        Entry("Kofi", "technician"),
        Entry("Ruth", "foreman", "", hashed("4711")),
    )
)
NAMES = ("Imre", "Dalia", "Kofi", "Ruth")


@cache
def grammars() -> Grammars:
    """One for all of them, which have the same names."""
    waits = "".join(f'[[step]]\nid = "{n}"\nsay = "S."\n{BODIES[n]}' for n in ("wait", "late"))
    steps = f'{waits}[[step]]\nid = "bleed"\nsay = "S."\n{WAIT}[[step]]\nid = "m"\nsay = "S."\n{BODIES["measure"]}'
    text = f'{HEAD.replace("one_use = true", "")}{FINDING}{steps}[[step]]\nid = "e"\nsay = "E."\nkind = "do"\n'
    return Grammars(read_grammars(), fills_of(load_text(text, "x.toml"), NAMES))


def play(procedure: Procedure) -> Stage:
    """The job of `procedure`, begun by Imre."""
    stage = Stage(procedure, NAMES, ROSTER, grammars=grammars())
    stage.take(ev.Began(stage.at, "Imre", stage.boot))
    return stage


def stage_of(guard: str, passing: str, *, before: str = "", after: str = "", extra: str = "") -> Stage:
    """A job whose step "it" has the guard; it begins at that step."""
    line = f'pass = "{passing}"\n' if passing else ""
    first = f'[[step]]\nid = "first"\nsay = "First."\n{before}' if before else ""
    it = f'[[step]]\nid = "it"\nsay = "The step."\n{BODIES[guard]}{line}{extra}'
    ring = "" if guard == "part" else '[[step]]\nid = "ring"\nsay = "Ring."\nkind = "replace"\npart = "ring"\n'
    rest = f'[[step]]\nid = "after"\nsay = "After."\n{after or KIND_DO}{ring}'
    text = f'{HEAD}{first}{it}{rest}[[step]]\nid = "end"\nsay = "End."\nkind = "do"\n'
    return play(load_text(text, "x.toml"))


KIND_DO = 'kind = "do"\n'


def say(stage: Stage, *words: str | float) -> None:
    """Say one after the other; a number is time that passes. What is recorded and said since is kept by the stage."""
    for each in words:
        if isinstance(each, float):
            stage.wait(each)
        else:
            stage.hear(each, take=False)


def passes(stage: Stage) -> list[dict[str, Any]]:
    """Bodies of the facts by which guards were passed."""
    return [fact.body for fact in stage.facts if fact.kind == "overridden"]


def at(stage: Stage) -> str:
    """Id of the step in hand."""
    step = stage.state.job.current
    return step.id if step else ""


def mode(stage: Stage) -> str:
    """The dialogue state."""
    return stage.state.mode


def left(facts: list[Fact], step: str) -> bool:
    """Whether `step` was left."""
    return any(fact.kind == "step_done" and fact.body["step"] == step for fact in facts)


GUARDS = sorted(BODIES)


@pytest.mark.parametrize("guard", GUARDS)
def test_alone_a_yes_and_a_reason_pass(guard: str) -> None:
    """The technician passes what may be passed alone; a hold point never may."""
    stage = stage_of(guard, "alone")
    say(stage, *WAYS[guard])
    assert mode(stage) == "override", stage.said
    say(stage, "yes", "foreman's order")
    if guard == "hold":
        assert mode(stage) == "named"
        assert not passes(stage)
        return
    (one,) = passes(stage)
    assert (one["what"], one["class"], one["who"]) == (KIND_OF.get(guard, guard), "alone", "")


@pytest.mark.parametrize("guard", GUARDS)
def test_second_takes_another_person_with_the_code(guard: str) -> None:
    """Neither who works nor who has worked on the job, nor a wrong code, nor a stranger passes it; the foreman does."""
    stage = stage_of(guard, "second")
    say(stage, "hand over to dalia", "yes", "yes")
    stage.again("Imre")
    say(stage, *WAYS[guard], "yes", "foreman's order")
    assert mode(stage) == "named", (stage.state.mode, stage.said)
    for words in ("next", "yes", "skip step", "allowed by imre", "allowed by dalia", "allowed by kofi"):
        say(stage, words)
        assert mode(stage) == "named", words
    say(stage, "allowed by ruth", "code one one one one")
    assert mode(stage) == "code"
    assert not passes(stage)
    assert not left(stage.facts, "it") or guard in ("wait", "cancel", "late")
    say(stage, "code four seven one one")
    (one,) = passes(stage)
    assert one["what"] == KIND_OF.get(guard, guard)
    assert (one["class"], one["who"], one["code"]) == ("second", "Ruth", "right")
    assert "4711" not in str([fact.body for fact in stage.facts])


@pytest.mark.parametrize("guard", GUARDS)
@pytest.mark.parametrize("passing", ["second", "nobody"])
def test_a_question_that_is_broken_off_passes_nothing(guard: str, passing: str) -> None:
    """The power fails with everything said but the code; the job goes on at the guard."""
    stage = stage_of(guard, passing)
    say(stage, *WAYS[guard], "yes", "foreman's order", "allowed by ruth")
    here = at(stage)
    stage.again("Dalia")
    say(stage, "code four seven one one", "yes")
    assert not passes(stage)
    if guard not in ("check", "part"):
        assert at(stage) == here


@pytest.mark.parametrize("guard", GUARDS)
def test_nobody_passes_what_nobody_may(guard: str) -> None:
    """It is refused in one sentence that says what to do instead, whatever is said, by whomever."""
    stage = stage_of(guard, "nobody")
    stage.forget()
    say(stage, *WAYS[guard][:-1])
    stage.forget()
    say(stage, WAYS[guard][-1])
    assert any("Nobody may" in said for said in stage.said), stage.said
    assert "skip step" not in " ".join(stage.said)
    assert [fact.body["what"] for fact in stage.new_facts if fact.kind == "refused"][-1] == "nobody"
    for words in (
        "yes",
        "foreman's order",
        "allowed by ruth",
        "sign ruth code four seven one one",
        "yes",
        "skip step because not needed",
        "yes",
        "next",
        "cancel the wait",
        "yes",
    ):
        stage.hear(words, take=False)
        stage.hear(words, typed=True)
    assert not [body for body in passes(stage) if body["step"] == "it"]
    assert not any(fact.kind == "wait_ended" and fact.body["verdict"] == "cancelled" for fact in stage.facts)


@pytest.mark.parametrize(
    ("body", "wanted"),
    [
        ('kind = "wait"\nwait = "settle"\nname = "bleed"\nat_least = "1 min"\n', "second"),
        ('kind = "wait"\nwait = "cure"\nname = "cure"\nat_least = "1 min"\n', "alone"),
        ('kind = "hold"\nlook = "it"\n', "second"),
        ('kind = "do"\n', "alone"),
        ('kind = "do"\ncaution = { signal = "WARNING", text = "Hot." }\n', "alone"),
        ('kind = "do"\ncaution = { signal = "DANGER", text = "It kills." }\n', "second"),
        ('kind = "do"\ncaution = { signal = "DANGER", text = "It kills." }\npass = "alone"\n', "alone"),
        ('kind = "do"\npass = "nobody"\n', "nobody"),
    ],
)
def test_the_class_where_the_file_is_silent(body: str, wanted: str) -> None:
    """What can hurt somebody takes a second person; the file's own word counts before that."""
    text = f'format = 1\ntitle = "T"\nmachine = "M"\n[[step]]\nid = "a"\nsay = "A."\n{body}'
    text += '[[step]]\nid = "b"\nsay = "B."\nkind = "do"\n'
    assert load_text(text, "x.toml").steps[0].passing == wanted


WAIT = 'kind = "wait"\nwait = "settle"\nname = "bleed"\nat_least = "10 min"\n'


def bleed(gates: str, *, starts: str = "go", middle: str = KIND_DO, more: str = "") -> Stage:
    """first, bleed (a settling wait), middle, gate, end."""
    text = (
        f'{HEAD.replace("one_use = true", "")}[[step]]\nid = "first"\nsay = "First."\nkind = "do"\n'
        f'[[step]]\nid = "bleed"\nsay = "Bleed."\n{WAIT}starts = "{starts}"\ngates = ["{gates}"]\n'
        f'[[step]]\nid = "middle"\nsay = "Middle."\n{middle}'
        f'[[step]]\nid = "gate"\nsay = "Gate."\nkind = "do"\n[[step]]\nid = "end"\nsay = "End."\nkind = "do"\n{more}'
    )
    return play(load_text(text, "x.toml"))


PUSHES = (
    "next",
    "skip step",
    "skip step because not needed",
    "yes",
    "foreman's order",
    "back",
    "go on",
    "later",
    "repeat",
    "cancel the wait",
    "cancel bleed",
    "restart the wait",
    "extend the wait by five minutes",
    "started two hours ago",
    "started five minutes ago",
    "no",
    "allowed by imre",
    "allowed by kofi",
    "allowed by dalia",
    "pause",
    "resume",
    "sign imre",
    "correct",
    "hand over to dalia",
    "which step",
)


@pytest.mark.parametrize("seed", range(40))
def test_nobody_alone_gets_past_a_settling_wait(seed: int) -> None:
    """Whatever a technician and a colleague who takes the job over say in any order: the gate opens after the time."""
    rng = Random(seed)
    stage = bleed("gate", starts=rng.choice(("go", "step")))
    began: float | None = None
    for _ in range(120):
        known = len(stage.facts)
        stage.hear(rng.choice(PUSHES), take=False, typed=rng.random() < 0.3)
        if rng.random() < 0.05:
            stage.again(rng.choice(("Imre", "Dalia")), away=rng.choice((1.0, 60.0)))
        if rng.random() < 0.1:
            stage.wait(rng.choice((10.0, 60.0)))
        for fact in stage.facts[known:]:
            if fact.kind == "wait_started":
                began = fact.wall - fact.body["ago"]
                first = next(f.wall for f in stage.facts if f.kind == "step_entered" and f.body["step"] == "bleed")
                assert began >= first - 2.0
            if fact.kind == "step_entered" and fact.body["step"] in ("gate", "end"):
                assert began is not None, "the gate opened though the wait was never started"
                assert fact.wall - began >= 600.0, "the gate opened early"
        if stage.state.job.finished:
            return


def test_a_wait_whose_step_the_job_never_came_through_gates_as_well() -> None:
    """Facts that lead past the wait by any way: its gate is barred, and says which step is missing."""
    stage = bleed("gate")
    body = {"step": "middle", "again": "no"}
    stage.facts.append(Fact(len(stage.facts) + 1, stage.base + stage.mono, "step_entered", body))
    stage.again("Imre")
    assert at(stage) == "middle"
    stage.forget()
    say(stage, "next")
    assert at(stage) == "middle"
    assert "Not yet. bleed, step 2, has not been started" in " ".join(stage.said)
    assert [f.body["what"] for f in stage.new_facts if f.kind == "refused"] == ["unbegun"]
    say(stage, "skip step", "yes", "foreman's order")
    assert mode(stage) == "named"
    say(stage, "allowed by ruth", "code four seven one one")
    assert at(stage) == "gate"
    assert [(b["what"], b["step"]) for b in passes(stage)] == [("wait", "bleed")]


def test_leaving_out_the_step_before_leaves_the_wait_as_it_is() -> None:
    """The step before the wait is left out alone; the wait is asked for and gates all the same."""
    stage = bleed("middle")
    say(stage, "skip step because not needed", "yes")
    assert at(stage) == "bleed"
    say(stage, "next")
    assert at(stage) == "bleed"
    say(stage, "go", "next", "skip step", "yes", "foreman's order")
    assert mode(stage) == "named"


def test_a_wait_begun_again_is_owed_again_after_a_recovery() -> None:
    """What was passed or kept before the work begins anew does not count for the new round."""
    text = (
        'format = 1\ntitle = "T"\nmachine = "M"\n[[step]]\nid = "a"\nsay = "A."\nkind = "do"\n'
        f'[[step]]\nid = "bleed"\nsay = "Bleed."\n{WAIT}gates = ["b"]\n'
        '[[step]]\nid = "b"\nsay = "B."\nkind = "do"\n'
        '[[step]]\nid = "glue"\nsay = "Glue."\nkind = "wait"\nwait = "open"\nname = "glue"\nat_most = "5 min"\n'
        'closes = "c"\nrecovery = "a"\n[[step]]\nid = "c"\nsay = "C."\nkind = "do"\n'
    )
    stage = play(load_text(text, "x.toml"))
    say(stage, "next", "go", 700.0, "next", "next", "go", 900.0, "next")
    assert at(stage) == "a", "the open time ran out"
    say(stage, "next")
    assert at(stage) == "bleed"
    say(stage, "next")
    assert at(stage) == "bleed", "the wait of the first round does not count for the second"
    say(stage, "skip step", "yes", "foreman's order")
    assert mode(stage) == "named"


def test_a_start_before_the_step_was_entered_is_one_persons_word() -> None:
    """Two hours ago is refused where the step was read a minute ago; half a minute is taken."""
    stage = bleed("middle")
    say(stage, "next", 60.0, "started two hours ago")
    assert mode(stage) == "wait"
    assert "it can't have started before" in stage.said[-1]
    say(stage, "started forty seconds ago", "yes")
    started = [f.body["ago"] for f in stage.facts if f.kind == "wait_started"]
    assert started == [40] or (started and 40 <= started[0] <= 42)
    alone = stage_of("wait", "alone")
    say(alone, "started two hours ago", "yes")
    assert [f.body["ago"] // 60 for f in alone.facts if f.kind == "wait_started"] == [120]


def test_a_clock_set_forward_brings_no_earlier_start() -> None:
    """The entry of the step is kept on the clock nobody can set."""
    stage = bleed("middle")
    say(stage, "next", 60.0)
    stage.base += 86_400.0
    say(stage, "started two hours ago")
    assert mode(stage) == "wait"
    stage.again("Imre", away=5.0)
    say(stage, "started two hours ago")
    assert mode(stage) == "wait"
    assert not any(f.kind == "wait_started" for f in stage.facts)


def test_back_does_not_lead_behind_a_wait_that_runs() -> None:
    """The wait is begun anew after its gate was passed in time: "back" passes over the gate."""
    stage = bleed("gate")
    say(stage, "next", "go", 700.0, "next", "next", "next")
    assert at(stage) == "end"
    say(stage, "back")
    assert at(stage) == "gate"
    say(stage, "back", "back", "restart the wait", "yes", "next", "next")
    assert at(stage) == "middle"


FINDING = '[[finding]]\nsay = "cracked bracket"\nstop = true\n'


@pytest.mark.parametrize("passing", ["", "second", "nobody"])
def test_findings_that_stop(passing: str) -> None:
    """Only somebody else lets the step go on; where nobody may, no sign does."""
    line = f'pass = "{passing}"\n' if passing else ""
    text = f'format = 1\ntitle = "T"\nmachine = "M"\n{FINDING}{line}[[step]]\nid = "a"\nsay = "A."\nkind = "do"\n'
    text += '[[step]]\nid = "b"\nsay = "B."\nkind = "do"\n'
    stage = play(load_text(text, "x.toml"))
    say(stage, "found cracked bracket", "next", "skip step because not needed", "yes", "sign imre", "next")
    assert at(stage) == "a"
    say(stage, "sign ruth code four seven one one", "next")
    assert at(stage) == ("a" if passing == "nobody" else "b")
    if passing == "nobody":
        assert any("nobody may let it go on" in said for said in stage.said)
        assert not any(fact.kind == "signed" for fact in stage.facts)


@pytest.mark.parametrize(
    ("line", "what"),
    [
        ('[[finding]]\nsay = "x"\nstop = true\npass = "alone"\n', "alone"),
        ('[[finding]]\nsay = "x"\nto = "y"\npass = "second"\n', "stops nothing"),
    ],
)
def test_a_finding_with_a_wrong_class_is_a_mistake(line: str, what: str) -> None:
    """A finding that stops is never one person's to pass; one that branches stops nothing."""
    text = f'format = 1\ntitle = "T"\nmachine = "M"\n{line}[[step]]\nid = "a"\nsay = "A."\nkind = "check"\n'
    text += 'ask = "Q?"\n[[step]]\nid = "z"\nsay = "Z."\nkind = "do"\naside = "y"\n'
    with pytest.raises(Exception, match=what) as found:
        load_text(text, "x.toml")
    assert "x.toml:" in str(found.value)


def test_a_class_that_is_none_is_a_mistake_with_its_line() -> None:
    """What, where, how to mend it."""
    text = 'format = 1\ntitle = "T"\nmachine = "M"\n[[step]]\nid = "a"\nsay = "A."\nkind = "do"\npass = "anyone"\n'
    with pytest.raises(Exception, match="anyone") as found:
        load_text(text, "x.toml")
    assert "x.toml:8" in str(found.value)
    assert "write alone" in str(found.value)


@pytest.mark.parametrize(("passing", "told"), [("alone", True), ("second", False), ("nobody", False)])
def test_help_teaches_the_way_past_only_who_may_alone(passing: str, told: bool) -> None:
    """Of refusals, of help by voice, and of what is said of a check that is not in order."""
    check = stage_of("check", passing)
    check.forget()
    say(check, "help")
    assert ("skip step" in " ".join(check.said)) is told
    check.forget()
    say(check, "no")
    assert ("say next to go on regardless" in " ".join(check.said)) is told
    assert ("another person must allow it" in " ".join(check.said)) is (passing == "second")
    wait = stage_of("wait", passing)
    say(wait, "go")
    wait.forget()
    say(wait, "next")
    assert ("skip step" in " ".join(wait.said)) is told
    late = stage_of("late", passing)
    say(late, "go", 60.0)
    late.forget()
    say(late, 400.0, "next")
    assert ("skip step" in " ".join(late.said)) is told


def test_a_step_that_could_not_be_left_is_not_recorded_as_left_out() -> None:
    """While a wait bars the next step: refused before anybody is asked, and nothing stands in the record."""
    stage = bleed("gate")
    say(stage, "next", "go", "next")
    assert at(stage) == "middle"
    say(stage, "skip step because not needed", "yes", "yes")
    assert not passes(stage)
    assert not left(stage.facts, "middle")
    assert at(stage) == "middle"
    assert [f.body["what"] for f in stage.facts if f.kind == "refused"] == ["wait"]
    say(stage, 700.0, "skip step because not needed", "yes")
    assert [(b["what"], b["step"]) for b in passes(stage)] == [("skip", "middle")]
    assert left(stage.facts, "middle")


def test_a_check_that_could_not_be_left_is_not_recorded_as_passed() -> None:
    """The same for a check that is not in order, gone on with or signed."""
    stage = bleed("gate", middle=BODIES["check"])
    say(stage, "next", "go", "next", "no", "next", "foreman's order", "sign ruth code four seven one one")
    assert not passes(stage)
    assert not any(fact.kind == "signed" for fact in stage.facts)
    say(stage, 700.0, "next", "yes", "foreman's order")
    assert [(b["what"], b["step"]) for b in passes(stage)] == [("check", "middle")]


@pytest.mark.parametrize(("key", "how"), [(True, "key"), (False, "typed")])
def test_how_something_was_said_is_the_events_own(key: bool, how: str) -> None:
    """Not what the screen shows as the last thing heard."""
    stage = stage_of("hold", "")
    slots = (("code", "right"), ("who", "Ruth"))
    stage.take(ev.Typed(stage.at, ("sign", "ruth"), Intent("sign", slots=slots), key))
    assert [fact.body["how"] for fact in stage.facts if fact.kind == "signed"] == [how]
    spoken = stage_of("hold", "")
    spoken.hear("sign ruth", typed=True)
    spoken.hear("code four seven one one")
    assert [fact.body["how"] for fact in spoken.facts if fact.kind == "signed"] == ["spoken"]
