"""A kind of step in the dialogue: what it asks, lacks, owes, takes as an answer, does and shows.

The way through a job (`dialogue.flow`) knows steps only by this: `kind_of(job, step)` is the kind of a step, out of the
registry that the job carries.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import ClassVar, Final

from bayvoice.dialogue.engine.asked import OverrideAsked, SaidAsked
from bayvoice.dialogue.engine.state import Mode, State, ValueAsked
from bayvoice.dialogue.engine.turn import Handler, Turn
from bayvoice.job.job import Job, JobKind
from bayvoice.procedure.model import FOREMAN, Step

Row = Mapping[str, Handler]
"""Intent -> what it does."""

Answers = Mapping[str, Row]
"""Dialogue state -> intent -> what it does."""

GOOD, BAD, LATER, NOW = "good", "bad", "later", "now"
"""Marks of what is shown."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of a shown line. `mark`: `GOOD`, `BAD`, `LATER` or `NOW`, drawn before the text; "" for none."""

    text: str
    mark: str = ""


Shown = tuple[Piece, ...]
"""One line, as pieces that are drawn one after the other."""


@dataclass(frozen=True, slots=True)
class Owed:
    """What the job may not end without. `what`: "tally", "hold", "part", "value", "finding"; `name` as it is said."""

    what: str
    step: str
    name: str


@dataclass(frozen=True, slots=True)
class Sign:
    """What somebody else's sign at a step is for. `what`: as in the fact "overridden"; `name` as it is said."""

    what: str
    role: str
    name: str


class StepKind(JobKind):
    """A kind of step, beside how it is read (`procedure.kind.Form`) and folded. What it does not say is as in a step
    that is answered by "next" alone.

    Attributes:
        answers: dialogue state -> intent -> what it does; "next" leads on from each of these states by itself.
        steers: intents that mean something in every step because there are steps of this kind.
        particulars: kind of fact -> how the report prints what it puts down, from its body with every value a text.
            Such facts have the keys "step" and "name"; a later one of the same step counts.
    """

    answers: ClassVar[Answers] = {Mode.STEP: {}}
    steers: ClassVar[Row] = {}
    particulars: ClassVar[Mapping[str, Callable[[Mapping[str, str]], str]]] = {}

    def mode(self, job: Job, step: Step) -> str:
        """The dialogue state in which it is answered: one of `Mode`, or one of its own with a grammar of that name."""
        return Mode.STEP

    # What is said, and what leads from one step to the next.

    def ready(self, turn: Turn, step: Step) -> bool:
        """What comes between the step's words and what it asks; False where a question was put that comes first."""
        return True

    def ask(self, turn: Turn, step: Step) -> None:
        """Say what is expected in this step now, where the step's own words do not."""

    def announce(self, turn: Turn, step: Step) -> None:
        """Say, in the step before, what must be got ready for `step`."""

    def entered(self, turn: Turn, step: Step) -> None:
        """What follows once the step was entered and read."""

    def complete(self, turn: Turn, step: Step, here: bool) -> None:
        """Record what follows from the facts of the step and was not recorded because the sitting broke off.

        here: it is the current step.
        """

    def lacking(self, job: Job, step: Step) -> str:
        """Wording key of what this step still needs before it may be left, "" if nothing."""
        return "" if step.id in job.answered and step.id not in job.deviant else f"lacking_{self.word}"

    def advance(self, turn: Turn, step: Step) -> bool:
        """What "next" does before the step is left; whether it may be left. What it lacks is said."""
        lack = self.lacking(turn.job, step)
        if lack:
            turn.say(lack)
            self.ask(turn, step)
        return not lack

    def spoken(self, turn: Turn, step: Step) -> None:
        """The utterance it counts by (`State.counting`) has been said to its end."""

    def log(self, turn: Turn, step: Step, asked: ValueAsked, *, trusted: bool) -> None:
        """Record a value for this step that was confirmed, or is trusted."""
        raise TypeError(f"steps of kind {self.word!r} take no value")

    def answered(self, turn: Turn, step: Step, asked: SaidAsked) -> None:
        """Record an answer in words, read back and confirmed. The question is over, the step in hand again."""
        raise TypeError(f"steps of kind {self.word!r} are not answered in words")

    # Guards, and what is owed.

    def guard(self, job: Job, step: Step) -> OverrideAsked | None:
        """What "next" would pass as the step stands, None where it passes nothing."""
        return None

    def left_out(self, job: Job, step: Step) -> OverrideAsked | None:
        """What leaving the step out passes; None where there is nothing to leave out any more."""
        return OverrideAsked("skip", step.id, step.say)

    def bars_skip(self, turn: Turn, step: Step) -> bool:
        """Whether it can't be left out; what it takes is said and recorded then."""
        return False

    def after_pass(self, turn: Turn, step: Step, asked: OverrideAsked) -> bool:
        """What follows once a guard of the step was passed and recorded; False where that is the same for all kinds."""
        return False

    def reasons(self, job: Job, step: Step, what: str) -> tuple[str, ...]:
        """Codes of the reasons that can be true of passing the guard `what`; empty where the usual ones are."""
        return ()

    def role(self, step: Step) -> str:
        """Who may allow what only another person may."""
        return FOREMAN

    def sign(self, job: Job, step: Step) -> Sign | None:
        """What somebody else can sign here as it stands, None for nothing."""
        return None

    def sign_barred(self, turn: Turn, step: Step, name: str) -> bool:
        """Whether that can't be signed yet, or not by the person `name` ("": by anybody); why is said."""
        return False

    def owed(self, job: Job, step: Step) -> Owed | None:
        """What a step of the line owes to the end of the job."""
        return None

    def owed_until(self, step: Step) -> str:
        """Id of the step before which what was left for later must be done, "" for none."""
        return ""

    def reopened(self, job: Job, step: Step) -> Owed | None:
        """What a step that was left owes again, because something later put it out of order."""
        return None

    # What the step is about, where several kinds have it or others ask.

    def needs(self, state: State, step: Step) -> tuple[str, ...]:
        """What must be in reach beside what the step uses up, in words."""
        return ()

    def begins_supplied(self, job: Job, step: Step) -> bool:
        """Whether the step begins, rather than may be left, once the batch of what it uses is known."""
        return False

    def supplied(self, turn: Turn, step: Step) -> None:
        """Begin the step, since the batch of what it uses is known; see `begins_supplied`."""

    def particular(self, step: Step) -> str:
        """What it puts down without judging it, by its name; "" for nothing. See `particulars`."""
        return ""

    # What is shown.

    def expects(self, state: State, step: Step) -> str:
        """The one thing expected now, "" where that is the same in every step that is answered in this state."""
        return ""

    def large(self, state: State, step: Step) -> str:
        """What is shown largest instead of the step's own words, "" for these."""
        return ""

    def lines(self, state: State, step: Step) -> tuple[Shown, ...]:
        """What the kind brings to the screen."""
        return ()

    def order(self, step: Step) -> tuple[int, ...]:
        """Numbers of the fasteners in tightening order, for the picture; empty for none."""
        return ()


def kind_of(job: Job, step: Step) -> StepKind:
    """The kind of `step` in the registry of `job`."""
    kind = job.kinds[step.kind]
    assert isinstance(kind, StepKind), f"steps of kind {step.kind!r} have no dialogue"
    return kind


LEAVING: Final = frozenset({"skip", "hold", "part", "tally", "check", "measure", "batch"})
"""Guards that are passed only by leaving their step, so that nothing else may keep it."""
