"""A section of a report: one object that gathers its lines, judges them and lays them out for every renderer."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar, cast

from bayvoice.job.facts import Fact
from bayvoice.procedure.model import Step
from bayvoice.report.base.blocks import Block
from bayvoice.report.base.common import Common
from bayvoice.report.base.markup import Markup
from bayvoice.report.base.model import Chain, Deviation, Header, StepLine
from bayvoice.report.base.words import Clock

S = TypeVar("S")
"""What a section gathers; nothing changes it once the last fact is taken."""

Fold = Callable[[S, Common, Fact], None]
"""What a fact, with words for its codes, adds to it. `Common` has taken the fact already."""


@dataclass(frozen=True, slots=True)
class Found:
    """Everything gathered of a job. `states`: key of a section -> what it gathered."""

    common: Common
    sections: tuple[Section[Any], ...]
    states: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class JobReport:
    """Everything the foreman reads.

    Attributes:
        heading: the line it is headed with, the same wherever the job is shown (`bayvoice.report.heading`).
        result: "in order", "deviations: n", or "does not hold" where the audit fails.
        in_order: nothing deviates and the audit does not fail.
        deviations: of all sections, the worst first.
        found: what the sections gathered; `SECTION.of(report)` is that of one.
    """

    header: Header
    result: str
    in_order: bool
    chain: Chain
    deviations: tuple[Deviation, ...]
    facts: tuple[Fact, ...]
    heading: str
    found: Found

    @property
    def sections(self) -> tuple[Section[Any], ...]:
        """Its sections, in the order in which every renderer shows them."""
        return self.found.sections


class Section(Generic[S]):
    """Base of all sections; a section overrides what it has something to say to.

    Attributes:
        key: its name for programs, its own among the sections.
        title: what page, text and paper head it with.
        rank: place of its remarks among those of other sections, the lowest first.
        apart: on paper each of its tables is kept whole by itself, not the section.
    """

    key: str
    title: str
    rank: int = 100
    apart: bool = False

    def begin(self, common: Common) -> S:
        """What it has gathered before the first fact."""
        raise NotImplementedError(self.key)

    def of(self, whose: Found | JobReport) -> S:
        """What it gathered of this job."""
        found = whose.found if isinstance(whose, JobReport) else whose
        return cast(S, found.states[self.key])

    # gathering

    def folds(self) -> Mapping[str, Fold[S]]:
        """Kind of fact -> what such a fact adds."""
        return {}

    def before(self, found: Found, fact: Fact) -> None:
        """Called with every fact before anything else takes it."""

    def void(self, state: S, steps: frozenset[str]) -> None:
        """These steps are to be done again: the lines stay, what they prove does not."""

    def end(self, state: S, common: Common) -> None:
        """Called once after the last fact."""

    # judging

    def deviations(self, found: Found) -> Iterator[Deviation]:
        """What in its lines is not as the procedure wants it."""
        return iter(())

    def missing(self, found: Found, line: StepLine, step: Step) -> Iterator[Deviation]:
        """What of its subject a step asks for that was left as done, and the record does not have."""
        return iter(())

    def settles(self, step: Step) -> bool:
        """Whether such a step, once entered, may stay open, so that not it is missing at the end but what it owes."""
        return False

    def owed(self, found: Found, line: StepLine, step: Step) -> Iterator[Deviation]:
        """What an open step of its subject (`settles`) still owes when the job is done."""
        return iter(())

    def left_out(self, found: Found, line: StepLine, step: Step | None) -> str:
        """What must be said of its subject where a step was left out: a clause, "" for nothing."""
        return ""

    def answers_for(self, found: Found, step: Step) -> bool:
        """Whether `deviations` has a sentence of its own for this step where it was left out."""
        return False

    def explains_silence(self, found: Found, step: Step | None) -> bool:
        """Whether its subject is why nothing is entered in this step at present."""
        return False

    # showing

    def remarks(self, report: JobReport, clock: Clock) -> Iterator[str]:
        """What is no deviation and worth a look all the same."""
        return iter(())

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """Its tables, lists and quotes as plain strings; without any it is left out."""
        return ()

    def picture(self, report: JobReport, clock: Clock) -> Markup:
        """A picture above its tables, for the page and for paper."""
        return Markup("")

    def data(self, report: JobReport) -> Mapping[str, object]:
        """For programs: key -> lines (frozen data)."""
        return {}

    def records(self, report: JobReport) -> Iterator[Mapping[str, str]]:
        """Rows of its own for the CSV: column (`bayvoice.report.render.csv.HEADS`) -> field, ``kind`` what the row is.

        The facts themselves are rows already.
        """
        return iter(())


class View(Section[None]):
    """A section that shows what others gathered."""

    def begin(self, common: Common) -> None:
        """Nothing."""
