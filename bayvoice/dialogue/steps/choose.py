"""One of a list that the procedure gives is chosen by voice: a size class, a variant of a part."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, ClassVar

from bayvoice.dialogue.engine.asked import SaidAsked
from bayvoice.dialogue.engine.kind import GOOD, LATER, NOW, Answers, Piece, Shown, StepKind
from bayvoice.dialogue.engine.state import State
from bayvoice.dialogue.engine.turn import Turn
from bayvoice.dialogue.flow import asking
from bayvoice.dialogue.flow.walk import leave
from bayvoice.job.facts import Fact
from bayvoice.job.job import Folds, Job, answer
from bayvoice.language.intents import Intent
from bayvoice.procedure.fields import Table
from bayvoice.procedure.forms.shared import detail
from bayvoice.procedure.kind import Around
from bayvoice.procedure.model import Detail, Name, Procedure, Step
from bayvoice.procedure.remark import Remark
from bayvoice.procedure.spoken import unsayable

MOST = 20
"""Most options of a step: more are not kept in mind while they are read aloud."""


@dataclass(frozen=True, slots=True)
class Choose(Detail):
    """What is chosen, by its name, and the phrases it is chosen from."""

    name: str
    options: tuple[str, ...]


def choose(turn: Turn, intent: Intent) -> None:
    """One of the options was said, or its number: it is read back."""
    step, wanted = turn.step, detail(turn.step, Choose)
    said, count = intent.slot("name"), int(intent.slot("count") or 0)
    found = next((option for option in wanted.options if option.lower() == said), "")
    if 0 < count <= len(wanted.options):
        found = wanted.options[count - 1]
    if not found:
        turn.ring("refused")
        turn.say("choose_not_offered", name=wanted.name)
        CHOOSE.ask(turn, step)
        return
    words = turn.state.heard.words if turn.state.heard else ""
    asking.put_said(turn, SaidAsked(step.id, wanted.name, found, found, words))


def _option(body: Mapping[str, str]) -> str:
    return body["option"]


def _fold(job: Job, fact: Fact) -> Job:
    step, option = fact.body["step"], fact.body["option"]
    others = tuple(pair for pair in job.kept if pair[0] != step)
    return answer(replace(job, kept=(*others, (step, option))), step, True)


class ChooseKind(StepKind):
    """A choice; the later one of the same step counts."""

    word = "choose"
    keys = ("name", "options")
    telling = ("options",)
    title = "choices"
    json_key = "choices"
    heard_by: Mapping[str, str] = {"options": "option"}
    facts: ClassVar[dict[str, tuple[str, ...]]] = {"chosen": ("step", "name", "option", "words")}
    folds: ClassVar[Folds] = {"chosen": _fold}
    particulars: ClassVar[dict[str, Callable[[Mapping[str, str]], str]]] = {"chosen": _option}
    answers: ClassVar[Answers] = {"choose_step": {"choose": choose}}

    def read(self, table: Table, around: Around) -> Choose:
        """What is chosen, and from what."""
        name, options = table.text("name", required=True), table.texts("options")
        if not table.has("options"):
            table.missing("options")
        elif isinstance(table.raw["options"], list) and not 2 <= len(table.raw["options"]) <= MOST:
            count = len(table.raw["options"])
            table.wrong("options", f"the number of options is {count}", f"give 2 to {MOST} to choose from")
        if len({option.lower() for option in options}) < len(options):
            table.wrong("options", "an option is given twice", "give each once")
        return Choose(name, options)

    def names(self, step: Step) -> Iterator[Name]:
        """What is chosen, and each option, which must be told from those of other steps too."""
        wanted = detail(step, Choose)
        yield Name("choices", "name", wanted.name)
        for option in wanted.options:
            yield Name("options", "options", option)

    def about(self, procedure: Procedure, step: Step) -> Iterator[Remark]:
        """A name or an option that is no word."""
        wanted = detail(step, Choose)
        yield from unsayable(step.id, "name", wanted.name)
        for option in wanted.options:
            yield from unsayable(step.id, "options", option)

    def line(self, procedure: Procedure, step: Step) -> str:
        """What is chosen, and from what."""
        wanted = detail(step, Choose)
        return f"{wanted.name}: {', '.join(wanted.options)}"

    def row(self, procedure: Procedure, step: Step) -> dict[str, Any]:
        """The same."""
        wanted = detail(step, Choose)
        return {"name": wanted.name, "options": list(wanted.options)}

    def particular(self, step: Step) -> str:
        """Its name."""
        return detail(step, Choose).name

    def mode(self, job: Job, step: Step) -> str:
        """One of the options."""
        return "choose_step"

    def ask(self, turn: Turn, step: Step) -> None:
        """The options, one after the other."""
        wanted = detail(step, Choose)
        turn.say("ask_choose", name=wanted.name, options=", ".join(wanted.options))

    def answered(self, turn: Turn, step: Step, asked: SaidAsked) -> None:
        """Record it."""
        turn.fact("chosen", step=step.id, name=asked.name, option=asked.text, words=asked.words)
        turn.say("logged_value", name=asked.name, value=asked.text)
        leave(turn, step)

    def lines(self, state: State, step: Step) -> tuple[Shown, ...]:
        """The options with their numbers, and which was chosen."""
        wanted, chosen = detail(step, Choose), dict(state.job.kept).get(step.id)
        marks = [GOOD if option == chosen else LATER if chosen else NOW for option in wanted.options]
        rows = zip(marks, wanted.options, strict=True)
        return ((Piece(f"{wanted.name}:"),), *((Piece(f"{n} {o}", mark),) for n, (mark, o) in enumerate(rows, 1)))


CHOOSE = ChooseKind()
