"""A reading without limits, or a text, that is read off and put down: running hours, the serial number of a part."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, ClassVar

from bayvoice.dialogue.engine.asked import SaidAsked
from bayvoice.dialogue.engine.kind import GOOD, LATER, Answers, Piece, Shown, StepKind
from bayvoice.dialogue.engine.state import Mode, State, Target, ValueAsked, mode_of
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import asking
from bayvoice.dialogue.flow.walk import leave
from bayvoice.job.facts import Fact
from bayvoice.job.job import Folds, Job, answer
from bayvoice.language import units
from bayvoice.language.intents import Intent
from bayvoice.language.spelling import read_back
from bayvoice.language.units import UNITS
from bayvoice.procedure.fields import Table
from bayvoice.procedure.forms.shared import detail
from bayvoice.procedure.gauges import unit_help
from bayvoice.procedure.kind import Around
from bayvoice.procedure.mistakes import quoted
from bayvoice.procedure.model import Detail, Group, Name, Procedure, Step
from bayvoice.procedure.remark import Remark
from bayvoice.procedure.spoken import unsayable


@dataclass(frozen=True, slots=True)
class Read(Detail):
    """What is read off, by its name. `unit`: that of a number; "" for a text, which is spelled or typed."""

    name: str
    unit: str = ""


def number(turn: Turn, intent: Intent) -> None:
    """A number was said: it is read back. There are no limits, so that it is never taken without a yes."""
    step, wanted = turn.step, detail(turn.step, Read)
    said = intent.slot("name")
    if said is not None and said != wanted.name.lower():
        turn.say("read_not_here", name=wanted.name)
        return
    asked = asking.propose(turn, Target(step.id, wanted.name, wanted.unit, None, None), intent)
    if asked is not None:
        asking.put(turn, asked)


def spelled(turn: Turn, intent: Intent) -> None:
    """A text was spelled, or typed: it is read back letter by letter."""
    step, text = turn.step, intent.slot("spelt") or ""
    if not text:
        READ.ask(turn, step)
        return
    words = turn.state.heard.words if turn.state.heard else ""
    asking.put_said(turn, SaidAsked(step.id, detail(step, Read).name, text, read_back(text), words))


def _shown(body: Mapping[str, str]) -> str:
    unit = UNITS.get(body["unit"])
    return f"{body['value']} {unit.symbol if unit else body['unit']}" if body["unit"] else body["text"]


def _fold(job: Job, fact: Fact) -> Job:
    b = fact.body
    others = tuple(pair for pair in job.kept if pair[0] != b["step"])
    return answer(replace(job, kept=(*others, (b["step"], _shown(b)))), b["step"], True)


class ReadKind(StepKind):
    """A number with its unit, or a text; the later one of the same step counts."""

    word = "read"
    keys = ("name", "as", "unit")
    telling = ("as",)
    title = "readings without limits"
    json_key = "readings"
    facts: ClassVar[dict[str, tuple[str, ...]]] = {"read": ("step", "name", "value", "unit", "text", "words")}
    folds: ClassVar[Folds] = {"read": _fold}
    particulars: ClassVar[dict[str, Callable[[Mapping[str, str]], str]]] = {"read": _shown}
    answers: ClassVar[Answers] = {Mode.MEASURE: {"record": number}, "read": {"spell": spelled}}

    def read(self, table: Table, around: Around) -> Read:
        """What is read off: a number, which has a unit, or a text, which has none."""
        name = table.text("name", required=True)
        sort = table.choice("as", ("number", "text"), what="sort of reading")
        unit: str | None = ""
        if sort == "number":
            unit = table.choice("unit", tuple(UNITS), what="unit", mend=unit_help(table.raw.get("unit")))
        elif sort == "text" and table.has("unit"):
            table.wrong("unit", "a text has no unit", 'take unit out, or write as = "number"')
        return Read(name, unit or "")

    def names(self, step: Step) -> Iterator[Name]:
        """What is read off; a number may be said with its name before it."""
        wanted = detail(step, Read)
        yield Name(Group.MEASUREMENTS if wanted.unit else "readings", "name", wanted.name)

    def units(self, step: Step) -> Iterator[str]:
        """That of a number."""
        if detail(step, Read).unit:
            yield detail(step, Read).unit

    def about(self, procedure: Procedure, step: Step) -> Iterator[Remark]:
        """A name that is no word, or that an earlier step reads off too."""
        name = detail(step, Read).name
        yield from unsayable(step.id, "name", name)
        for at in procedure.of_kind(self.word):
            before = procedure.steps[at]
            if before.id == step.id:
                break
            if detail(before, Read).name.lower() == name.lower():
                what = f"the step {quoted(before.id)} reads off {quoted(name)} too"
                yield Remark(step.id, "name", what, "give each its own name, so that the report tells them apart")

    def line(self, procedure: Procedure, step: Step) -> str:
        """What is read off, and how."""
        wanted = detail(step, Read)
        return f"{wanted.name}, {f'in {wanted.unit}' if wanted.unit else 'spelled or typed'}"

    def row(self, procedure: Procedure, step: Step) -> dict[str, Any]:
        """The same; "unit" is "" for a text."""
        wanted = detail(step, Read)
        return {"name": wanted.name, "as": "number" if wanted.unit else "text", "unit": wanted.unit}

    def particular(self, step: Step) -> str:
        """Its name."""
        return detail(step, Read).name

    def mode(self, job: Job, step: Step) -> str:
        """A number as where one is measured; a text is spelled."""
        return Mode.MEASURE if detail(step, Read).unit else "read"

    def ask(self, turn: Turn, step: Step) -> None:
        """For the number, or for the text and how it is said."""
        wanted = detail(step, Read)
        turn.say("ask_measure_none" if wanted.unit else "ask_read", name=wanted.name)

    def log(self, turn: Turn, step: Step, asked: ValueAsked, *, trusted: bool) -> None:
        """Record the number, but only by a yes: no limit would show that it was misheard."""
        if trusted:
            asking.put(turn, asked)
            return
        turn.put(pending=None)
        turn.mode(mode_of(turn.job, turn.step))
        _record(turn, step, f"{asked.value:f}", asked.unit, "", asked.words)

    def answered(self, turn: Turn, step: Step, asked: SaidAsked) -> None:
        """Record the text."""
        _record(turn, step, "", "", asked.text, asked.words)

    def expects(self, state: State, step: Step) -> str:
        """A number of its unit; what a text takes is the same everywhere."""
        unit = detail(step, Read).unit
        return state.wording.text("expect_measure_none", unit=units.spoken(unit, True)) if unit else ""

    def lines(self, state: State, step: Step) -> tuple[Shown, ...]:
        """What was read off, once it is there."""
        found = dict(state.job.kept).get(step.id)
        return ((Piece(f"{detail(step, Read).name}: "), Piece(found, GOOD) if found else Piece("not read", LATER)),)


def _record(turn: Turn, step: Step, value: str, unit: str, text: str, words: str) -> None:
    name = detail(step, Read).name
    turn.fact("read", step=step.id, name=name, value=value, unit=unit, text=text, words=words)
    turn.say("logged_value", name=name, value=dict(turn.job.kept)[step.id] if unit else read_back(text))
    leave(turn, step)


READ = ReadKind()
