"""What reading and vetting a procedure need of a step kind, and the ordered list of the kinds that are known.

A kind is one object, a `Form`. Whatever looks at a procedure asks it and never looks into the detail of a step itself,
so that a kind is added by adding its module.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, TypeVar

from bayvoice.errors import BayError
from bayvoice.procedure.fields import Table
from bayvoice.procedure.mistakes import Notes, listed, quoted, suggest
from bayvoice.procedure.model import Detail, Name, Part, Procedure, Step, Wait
from bayvoice.procedure.places import Path
from bayvoice.procedure.remark import Remark

Placed = Sequence[tuple[int, Step]]
"""Steps with their positions, counted from 1 as a reader counts them."""


@dataclass(frozen=True, slots=True)
class Around:
    """What the reading of a step may look at besides its own table.

    Attributes:
        parts: the parts of the procedure by id.
        supplies: ids of what a step may use up, parts and consumables.
        order: gives the position of the step among the steps as it meets them, and the ids of those, "" where one has
            none. Worked out only when asked.
    """

    parts: Mapping[str, Part]
    supplies: Collection[str]
    order: Callable[[], tuple[int, Sequence[str]]]


@dataclass(frozen=True, slots=True)
class Listing:
    """One list in what `bayvoice vet` shows.

    Attributes:
        title: above the lines; without lines it is left out.
        key: its name in JSON.
        lines: for a reader.
        rows: for JSON; times are seconds, `at` counts steps from 1, limits and amounts are strings.
    """

    title: str
    key: str
    lines: list[str]
    rows: list[dict[str, Any]]


class Form:
    """How steps of one kind are read, and what vetting asks about them.

    A kind has its own subclass and one instance of it. Each answer has a default, which suits a kind that has nothing
    to say there; only `read` has to be written.

    Attributes:
        word: `kind` of such a step in the file.
        keys: keys such a step has besides those of every step.
        telling: those of them that tell the kind by themselves, where a step names none that is known.
        ordered: what is read depends on the steps before and after it.
        lasts: such a step lasts as long as what it starts, and need not say how long it takes.
        title, json_key: above its lines when a procedure is vetted, and the same in JSON; "" for a kind not listed.
        early: it is listed before the other kinds.
        heard_by: group of names that only such steps bring -> the rule of states.gram that hears them.
    """

    word: str
    keys: tuple[str, ...] = ()
    telling: tuple[str, ...] = ()
    ordered: bool = False
    lasts: bool = False
    title: str = ""
    json_key: str = ""
    early: bool = False
    heard_by: Mapping[str, str] = MappingProxyType({})

    # Reading

    def read(self, table: Table, around: Around) -> Detail | None:
        """What the kind asks for in the table of a step; what is wrong is noted. None: nothing can be made of it."""
        raise NotImplementedError

    def check(self, notes: Notes, procedure: Procedure, places: Sequence[Path]) -> None:
        """Note what no single step of the kind can show. `places`: where in the file each step stands."""

    # What is said and heard

    def sentences(self, step: Step) -> Iterator[tuple[str, str]]:
        """(key, text) of every sentence that is said besides `say` and the cautions."""
        yield from ()

    def names(self, step: Step) -> Iterator[Name]:
        """What the step calls by a name that the technician says."""
        yield from ()

    def units(self, step: Step) -> Iterator[str]:
        """Codes of the units in which something is said in the step."""
        yield from ()

    # What it does to the job

    def window(self, step: Step) -> Wait | None:
        """The window that the step starts."""
        return None

    def remedy(self, step: Step) -> tuple[str, int]:
        """(the aside it goes to when its answer is not in order, how often at most); "" for none."""
        return "", 0

    def renews(self, step: Step) -> str:
        """Id of the part of which it fits a new one, "" for none."""
        return ""

    # Vetting

    def about(self, procedure: Procedure, step: Step) -> Iterator[Remark]:
        """What is unwise in one step; depends on nothing else but the gauges and parts of `procedure`."""
        yield from ()

    def about_all(self, procedure: Procedure) -> Iterator[Remark]:
        """What is unwise between the steps of the kind."""
        yield from ()

    def groups(self, procedure: Procedure, steps: Placed) -> Iterator[Listing]:
        """What vetting shows of `steps`, all of the kind."""
        if self.title:
            yield Listing(
                self.title,
                self.json_key,
                [f"{at}. {self.line(procedure, step)}" for at, step in steps],
                [{"at": at, "step": step.id, **self.row(procedure, step)} for at, step in steps],
            )

    def line(self, procedure: Procedure, step: Step) -> str:
        """One step for a reader."""
        return step.say

    def row(self, procedure: Procedure, step: Step) -> dict[str, Any]:
        """One step for JSON."""
        return {}


F_co = TypeVar("F_co", bound=Form, covariant=True)


class Kinds(Mapping[str, F_co]):
    """The step kinds that are known, by their words, in the order in which they are named to a reader.

    The first is what a step is taken for when nothing tells its kind.
    """

    def __init__(self, forms: Iterable[F_co]) -> None:
        self._forms: dict[str, F_co] = {}
        for form in forms:
            if form.word in self._forms:
                raise ValueError(f"two step kinds are called {form.word!r}")
            self._forms[form.word] = form

    def __getitem__(self, word: str) -> F_co:
        """The kind called `word`. BayError: there is none."""
        try:
            return self._forms[word]
        except KeyError:
            mend = suggest(word, self._forms, f"write {listed(self._forms)}")
            raise BayError(f"{quoted(word)} is no kind of step", "kind", mend) from None

    def __contains__(self, word: object) -> bool:
        return word in self._forms

    def __iter__(self) -> Iterator[str]:
        return iter(self._forms)

    def __len__(self) -> int:
        return len(self._forms)

    @property
    def first(self) -> F_co:
        """The plainest kind."""
        return next(iter(self._forms.values()))


def kinds_of(procedure: Procedure) -> Kinds[Form]:
    """The kinds `procedure` was read with."""
    assert isinstance(procedure.kinds, Kinds), "a procedure is made with the kinds it is read with"
    return procedure.kinds


def form_of(procedure: Procedure, step: Step) -> Form:
    """The kind of `step`, one of `procedure`."""
    return kinds_of(procedure)[step.kind]


def names_of(procedure: Procedure) -> Iterator[tuple[int, Name]]:
    """(position of the step, name) of everything the steps call by a name, in the order of the file."""
    kinds = kinds_of(procedure)
    for at, step in enumerate(procedure.steps):
        for name in kinds[step.kind].names(step):
            yield at, name


def placed(procedure: Procedure, word: str) -> list[tuple[int, Step]]:
    """The steps of the kind `word`, with their positions from 1."""
    return [(at + 1, procedure.steps[at]) for at in procedure.of_kind(word)]
