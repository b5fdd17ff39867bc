"""Kinds of step are objects of a registry: two that only this test has are spoken, recorded, guarded, owed, shown."""

from __future__ import annotations

import ast
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any, ClassVar

import pytest

import bayvoice
from bayvoice.dialogue.engine.asked import OverrideAsked
from bayvoice.dialogue.engine.events import Began
from bayvoice.dialogue.engine.kind import GOOD, LATER, Answers, Owed, Piece, Shown, StepKind
from bayvoice.dialogue.engine.state import Mode, State
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow.walk import leave
from bayvoice.dialogue.session import TABLE, table_of
from bayvoice.dialogue.steps import KINDS
from bayvoice.host.datafiles import read_grammars
from bayvoice.job.facts import Fact
from bayvoice.job.job import Folds, Job, answer, fold_all
from bayvoice.language.grammar import Grammars
from bayvoice.language.intents import Intent
from bayvoice.language.wording import Wording
from bayvoice.procedure.fields import Table
from bayvoice.procedure.fills import fills_of
from bayvoice.procedure.kind import Around
from bayvoice.procedure.load import load_text
from bayvoice.procedure.model import Detail, Procedure
from bayvoice.screen.signs import UNICODE
from bayvoice.screen.view import view
from tests.stage import Stage

ROOT = Path(bayvoice.__file__).parent


@dataclass(frozen=True, slots=True)
class Counter(Detail):
    """A number that is read off something."""

    off: str


def _took(turn: Turn, intent: Intent) -> None:
    assert isinstance(turn.step.detail, Counter)
    turn.fact("counter_read", step=turn.step.id, off=turn.step.detail.off, value=str(intent.value))
    leave(turn, turn.step)


def _kept(job: Job, fact: Fact) -> Job:
    step = fact.body["step"]
    return answer(replace(job, kept=(*job.kept, (step, fact.body["value"]))), step, True)


class CounterKind(StepKind):
    """Answered in a dialogue state of its own, with a fact of its own, and owed to the end of the job."""

    word = "counter"
    keys = ("dial",)
    facts: ClassVar[dict[str, tuple[str, ...]]] = {"counter_read": ("step", "off", "value")}
    folds: ClassVar[Folds] = {"counter_read": _kept}
    answers: ClassVar[Answers] = {"counter": {"record": _took}}

    def read(self, table: Table, around: Around) -> Counter:
        """One key."""
        return Counter(table.text("dial", required=True))

    def mode(self, job: Job, step: Any) -> str:
        """A grammar that no other step has."""
        return "counter"

    def ask(self, turn: Turn, step: Any) -> None:
        """What it is read off."""
        turn.say("ask_counter", off=step.detail.off)

    def owed(self, job: Job, step: Any) -> Owed | None:
        """The number."""
        return None if step.id in job.answered else Owed("counter", step.id, step.detail.off)

    def lines(self, state: State, step: Any) -> tuple[Shown, ...]:
        """The number, once it is there."""
        value = dict(state.job.kept).get(step.id)
        return ((Piece("counter: "), Piece(value, GOOD) if value else Piece("not read", LATER)),)


@dataclass(frozen=True, slots=True)
class Stamped(Detail):
    """Something that has to bear a stamp."""

    thing: str


def _yes(turn: Turn, intent: Intent) -> None:
    turn.fact("stamp_seen", step=turn.step.id, seen=True)
    leave(turn, turn.step)


def _no(turn: Turn, intent: Intent) -> None:
    turn.fact("stamp_seen", step=turn.step.id, seen=False)


def _seen(job: Job, fact: Fact) -> Job:
    return answer(job, fact.body["step"], fact.body["seen"])


class StampKind(StepKind):
    """Answered in a dialogue state that it shares with checks, with a guard of its own."""

    word = "stamp"
    keys = ("thing",)
    facts: ClassVar[dict[str, tuple[str, ...]]] = {"stamp_seen": ("step", "seen")}
    folds: ClassVar[Folds] = {"stamp_seen": _seen}
    answers: ClassVar[Answers] = {Mode.CHECK: {"yes": _yes, "no": _no}}

    def read(self, table: Table, around: Around) -> Stamped:
        """One key."""
        return Stamped(table.text("thing", required=True))

    def mode(self, job: Job, step: Any) -> str:
        """Yes or no."""
        return Mode.CHECK

    def guard(self, job: Job, step: Any) -> OverrideAsked | None:
        """A stamp that is not there."""
        return OverrideAsked("stamp", step.id, step.detail.thing) if step.id in job.deviant else None

    def reasons(self, job: Job, step: Any, what: str) -> tuple[str, ...]:
        """One only."""
        return ("maker_allows",) if what == "stamp" else ()

    def large(self, state: State, step: Any) -> str:
        """What to look at."""
        return f"STAMP? {step.detail.thing}"


MORE = KINDS | (CounterKind(), StampKind())

TEXT = """
format = 1
id = "two"
title = "Two more kinds"
machine = "Varrow K40"

[[step]]
id = "a"
kind = "counter"
dial = "hour counter"
say = "Read the hour counter."

[[step]]
id = "b"
kind = "stamp"
thing = "cover"
say = "Look for the stamp on the cover."

[[step]]
id = "c"
kind = "check"
say = "Look at the oil."
ask = "Is it clear?"
"""

SENTENCES = {
    "ask_counter": "What does the {off} show?",
    "lacking_counter": "It is not read yet.",
    "help_counter": "Say the number.",
    "expect_counter": "the number",
    "lacking_stamp": "The stamp was not looked for.",
    "override_stamp": "The {name} bears no stamp. Go on all the same?",
    "owed_counter": "The {name} is still to be read.",
}


@cache
def procedure() -> Procedure:
    """A job whose first two steps are of the kinds above."""
    return load_text(TEXT, "two", MORE)


@cache
def grammars() -> Grammars:
    """Those that ship, and one rule more."""
    texts = read_grammars()
    texts["states.gram"] += "\npublic <counter> = <steering> | <record> | <next>;\n"
    return Grammars(texts, fills_of(procedure(), ("Imre",)))


class WithMore(Wording):
    """The sentences of the product, and those of the two kinds."""

    def text(self, key: str, **fields: object) -> str:
        """As a catalogue with these sentences would give it."""
        return SENTENCES[key].format(**fields) if key in SENTENCES else super().text(key, **fields)


@pytest.fixture
def stage() -> Stage:
    """The job of the two kinds, begun."""
    stage = Stage(procedure(), ("Imre",), grammars=grammars())
    stage.state = State(job=Job("job-1", procedure(), MORE), wording=WithMore(), people=("Imre",))
    stage.take(Began(stage.at, "Imre", "boot-1"))
    return stage


def test_a_kind_with_a_dialogue_state_of_its_own(stage: Stage) -> None:
    """It asks, refuses to be left without an answer, is heard by its own rule, records its own fact and is shown."""
    assert stage.said[-1] == "What does the hour counter show?"
    assert stage.state.mode == "counter"
    shown = view(stage.state, UNICODE)
    assert shown.detail[0] == f"counter: {UNICODE.later} not read"
    assert shown.expected == "the number"
    stage.forget()
    stage.hear("next")
    assert stage.said == ["It is not read yet.", "What does the hour counter show?"]
    stage.hear("four hundred")
    assert [fact.body for fact in stage.facts if fact.kind == "counter_read"] == [
        {"step": "a", "off": "hour counter", "value": "400"}
    ]
    assert dict(stage.state.job.kept) == {"a": "400"}
    assert stage.state.job.step == 1
    stage.hear("back")
    assert view(stage.state, UNICODE).detail[0] == f"counter: {UNICODE.good} 400"


def test_what_it_owes_bars_the_end(stage: Stage) -> None:
    """A kind's debt leads back to it, as that of any other does."""
    job = stage.state.job
    stage.state = replace(stage.state, job=replace(job, step=1, done=frozenset({"a"})), mode=Mode.CHECK)
    stage.hear("yes")
    stage.forget()
    stage.hear("yes")
    assert stage.said[:2] == ["Logged: yes.", "The hour counter is still to be read."]
    assert stage.state.job.current is not None
    assert stage.state.job.current.id == "a"


def test_two_kinds_share_a_dialogue_state(stage: Stage) -> None:
    """ "No" to a stamp is no answer to a check; its guard is passed with its own reason only, and the check follows."""
    stage.hear("four hundred")
    assert view(stage.state, UNICODE).large == "STAMP? cover"
    stage.hear("no")
    assert [fact.body for fact in stage.facts if fact.kind == "stamp_seen"] == [{"step": "b", "seen": False}]
    assert not [fact for fact in stage.facts if fact.kind == "checked"]
    stage.forget()
    stage.hear("next")
    assert stage.said == ["The cover bears no stamp. Go on all the same?"]
    stage.hear("yes")
    stage.hear("not fitted")
    assert stage.state.mode is Mode.REASON
    stage.hear("maker allows it")
    assert [fact.body["what"] for fact in stage.facts if fact.kind == "overridden"] == ["stamp"]
    assert stage.state.job.step == 2
    stage.hear("yes")
    assert [fact.body["answer"] for fact in stage.facts if fact.kind == "checked"] == [True]
    assert stage.state.job.finished


def test_the_record_folds_to_the_same_job_through_the_registry(stage: Stage) -> None:
    """The same fold for a live job and its record; without the kinds their facts only count."""
    for words in ("four hundred", "yes", "yes"):
        stage.hear(words)
    assert stage.state.job.finished
    assert fold_all(Job("job-1", procedure(), MORE), stage.facts) == stage.state.job
    bare = fold_all(Job("job-1", procedure(), KINDS), [fact for fact in stage.facts if fact.kind == "counter_read"])
    assert (bare.kept, bare.answered) == ((), frozenset())


def test_a_fact_of_a_kind_has_the_keys_it_declares(stage: Stage) -> None:
    """As facts of the common list do."""
    turn = Turn(stage.state, stage.at)
    with pytest.raises(TypeError, match="wants the keys"):
        turn.fact("counter_read", step="a")
    with pytest.raises(KeyError):
        turn.fact("never_declared", step="a")


def test_more_kinds_change_nothing_for_those_that_ship() -> None:
    """One row more for each of their answers, and no global table that remembers them."""
    more = table_of(MORE)
    assert {key for key in more if key[0] != "counter"} == set(TABLE)
    assert ("counter", "record") in more
    assert ("counter", "record") not in TABLE
    assert "counter" not in KINDS


def details_asked(path: Path) -> list[str]:
    """Places in a file that ask which kind a step is: a test of its detail's class, a pattern of it, or its kind."""
    classes = {kind.__name__ for kind in Detail.__subclasses__()}
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and ast.unparse(node.func) == "isinstance":
            named = {each.id for each in ast.walk(node.args[1]) if isinstance(each, ast.Name)}
            asks = bool(named & classes) or "detail" in ast.unparse(node.args[0])
        elif isinstance(node, ast.MatchClass):
            asks = ast.unparse(node.cls) in classes
        else:
            asks = isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id == "Kind"
        if asks:
            found.append(f"{path.relative_to(ROOT)}:{node.lineno}")  # type: ignore[attr-defined]
    return found


def test_nobody_but_the_kinds_asks_what_kind_a_step_is() -> None:
    """In the dialogue, the job and the screen: what differs between kinds is a method of theirs."""
    rooms = [path for room in ("dialogue", "job", "screen") for path in (ROOT / room).rglob("*.py")]
    kinds = [path for path in rooms if path.parent.name == "steps"]
    assert [place for path in rooms if path not in kinds for place in details_asked(path)] == []
    assert [place for path in kinds for place in details_asked(path)], "the search finds nothing at all"
