"""The procedure, as the rest of the product sees it. Frozen data, made by `bayvoice.procedure.load`.

Durations are seconds (int). Numbers that are measured or set are `Decimal`, with the digits the file has.
Unit codes are those of `bayvoice.language.units` ("N.m", "mm", "deg", "bar", "degC" …).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from typing import Final, NamedTuple, Protocol

FOREMAN: Final = "foreman"
"""The role that may let a job go on where the procedure names none."""


class Signal(StrEnum):
    """Signal words with the meaning of ANSI Z535.4: death or serious injury will / could happen,
    minor or moderate injury could happen, no injury but damage."""

    DANGER = "DANGER"
    WARNING = "WARNING"
    CAUTION = "CAUTION"
    NOTICE = "NOTICE"


class Kind(StrEnum):
    """Words of the step kinds that are built in. A procedure may be read with others beside them."""

    DO = "do"
    CHECK = "check"
    MEASURE = "measure"
    FASTEN = "fasten"
    WAIT = "wait"
    REPLACE = "replace"
    TALLY = "tally"
    HOLD = "hold"
    TOGETHER = "together"


class WaitKind(StrEnum):
    """act: a chemical works, no less than and no more than; open: working time, close the joint before it ends;
    cure: no load before; settle: cool down, bleed down, discharge."""

    ACT = "act"
    OPEN = "open"
    CURE = "cure"
    SETTLE = "settle"


class Passing(StrEnum):
    """Who may pass a guard: alone: the technician, with a yes and a reason; second: with another person besides, who
    has not worked on the job; nobody: no one."""

    ALONE = "alone"
    SECOND = "second"
    NOBODY = "nobody"


@dataclass(frozen=True, slots=True)
class Caution:
    signal: Signal
    text: str


@dataclass(frozen=True, slots=True)
class Part:
    """`batch`: its batch number is asked for and kept."""

    id: str
    name: str
    number: str = ""
    quantity: int = 1
    one_use: bool = False
    batch: bool = False


@dataclass(frozen=True, slots=True)
class Item:
    """A tool or a consumable. `quantity` as the file has it ("2 l"); `batch`, `shelf_life`: asked for before use."""

    id: str
    name: str
    quantity: str = ""
    batch: bool = False
    shelf_life: bool = False


@dataclass(frozen=True, slots=True)
class Gauge:
    """What a value is measured with.

    Attributes:
        id: its name in the file.
        name: what it is called aloud.
        number: its own number, "" where it has none.
        unit: unit code of its uncertainty.
        uncertainty: expanded uncertainty (k = 2) of a reading, None where it is not known.
        due: last day of its calibration ("2027-03-01"), "ask" where it is asked before use, "" where it is not known.
    """

    id: str
    name: str
    number: str = ""
    unit: str = ""
    uncertainty: Decimal | None = None
    due: str = ""

    @property
    def title(self) -> str:
        """Name and number, as the record names it."""
        return f"{self.name}, {self.number}" if self.number else self.name


class Detail:
    """What a step of one kind holds beside what every step has. Each kind has its own, frozen."""

    __slots__ = ()

    @property
    def guard(self) -> Passing:
        """Who may pass the guard of such a step where neither the file nor a DANGER of its own says otherwise."""
        return Passing.ALONE


@dataclass(frozen=True, slots=True)
class Do(Detail):
    """Nothing: the step is done when the technician says so."""


@dataclass(frozen=True, slots=True)
class Check(Detail):
    """`ask`: the question, answered yes or no; `want`: True where "yes" is in order.

    `remedy`: the aside to go to when the answer is not in order, "" for none; it comes back to this step, which is
    asked again, at most `tries` times.
    """

    ask: str
    want: bool = True
    remedy: str = ""
    tries: int = 3


@dataclass(frozen=True, slots=True)
class Measure(Detail):
    """A reading, or the mean of several.

    Attributes:
        name: what is measured, as it is said.
        unit: unit code; limits and spread are in it.
        low, high: inclusive limits, None where there is none; one at least is given, here or as a sum.
        gauge: id of a `Gauge` of the procedure, or any text.
        times: how many readings are taken and averaged, 1 for a single one.
        spread: most by which repeated readings may differ, None for any.
        low_from, high_from: a sum over earlier readings that gives a limit ("housing_depth - 0.05 mm"), "" for none.
            Beside a limit of the step's own the tighter of the two counts.
        remedy, tries: as in `Check`.
    """

    name: str
    unit: str
    low: Decimal | None
    high: Decimal | None
    gauge: str = ""
    remedy: str = ""
    tries: int = 3
    times: int = 1
    spread: Decimal | None = None
    low_from: str = ""
    high_from: str = ""


@dataclass(frozen=True, slots=True)
class Stage:
    """One pass over all fasteners: to a torque (`unit` "N.m" …) or by an angle (`unit` "deg")."""

    amount: Decimal
    unit: str


@dataclass(frozen=True, slots=True)
class Fasten(Detail):
    """Fasteners of one joint.

    Attributes:
        count: how many there are.
        order: their numbers, 1 to `count`, in tightening order.
        stages: passes over all of them, none for loosening and for tightening without a figure.
        undo: loosen, in the reverse of `order`.
        name: what one is called.
        each: they are gone through one by one, each answered with "done" or with the value that was reached.
        tolerance: how far a reached value may be off its stage, at most one for each dimension: in percent ("%") of a
            torque, in a unit of torque, in degrees ("deg").
        last_round: after the last stage, rounds at its amount until none turns any more.
    """

    count: int
    order: tuple[int, ...]
    stages: tuple[Stage, ...] = ()
    undo: bool = False
    name: str = "bolt"
    each: bool = False
    tolerance: tuple[Stage, ...] = ()
    last_round: bool = False

    @property
    def sequence(self) -> tuple[int, ...]:
        """The order in which the fasteners are taken in this step."""
        return tuple(reversed(self.order)) if self.undo else self.order

    def band(self, stage: Stage) -> tuple[Decimal, Decimal] | None:
        """Lowest and highest value that fulfils `stage`, None where nothing is said about that."""
        for tolerance in self.tolerance:
            if (tolerance.unit == "deg") is (stage.unit == "deg"):
                off = stage.amount * tolerance.amount / 100 if tolerance.unit == "%" else tolerance.amount
                return stage.amount - off, stage.amount + off
        return None

    def turned(self, stage: int) -> Decimal:
        """Degrees turned in all once stage number `stage` (from 1) is done; 0 before the first stage in degrees."""
        return sum((s.amount for s in self.stages[:stage] if s.unit == "deg"), Decimal(0))


@dataclass(frozen=True, slots=True)
class WindowRow:
    """A line of a maker's table: limits in seconds at a temperature (degC) and, where the table has it, a relative
    humidity (%)."""

    temperature: Decimal
    humidity: Decimal | None
    at_least: int | None
    at_most: int | None


@dataclass(frozen=True, slots=True)
class Law:
    """What a wait's limits depend on where the maker states a law instead of a table.

    Attributes:
        model: "doubling" (twice as fast for each `span` degrees more), "arrhenius" (`span` is the activation energy in
            kJ/mol) or "depth" (a front that grows with the square root of time).
        reference: where the limits that are written hold: a temperature in degC; for "depth" a depth in mm.
        span: see `model`; 0 for "depth".
        low, high: between which the law holds, in the unit of `reference`.
        depth: the depth in mm that has to cure, None where it is asked for; only for "depth".
    """

    model: str
    reference: Decimal
    span: Decimal
    low: Decimal
    high: Decimal
    depth: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Wait(Detail):
    """A running window.

    Attributes:
        wait: its kind.
        name: what it is called aloud ("remover on the cover").
        at_least, at_most: seconds from the start, or None. With a table the shortest minimum and the longest maximum
            in it; with a law those at its reference.
        gates: step ids that may not be begun before `at_least`.
        closes: step id; the window ends when this step is begun (act) or done (open). "" for cure and settle.
        recovery: step id to go to when `at_most` has passed, "" for none.
        on_go: starts on the spoken "go" (True) or on entering the step.
        rows: the maker's table the limits are taken from; law: the law they are worked out by.
    """

    wait: WaitKind
    name: str
    at_least: int | None
    at_most: int | None
    gates: tuple[str, ...] = ()
    closes: str = ""
    recovery: str = ""
    on_go: bool = True
    rows: tuple[WindowRow, ...] = ()
    law: Law | None = None

    @property
    def guard(self) -> Passing:
        """Somebody is burnt, struck or scalded by what has not settled."""
        return Passing.SECOND if self.wait is WaitKind.SETTLE else Passing.ALONE


@dataclass(frozen=True, slots=True)
class Replace(Detail):
    """`part`: id of a one-use part; answered "yes" when the new one is fitted."""

    part: str


@dataclass(frozen=True, slots=True)
class Tally(Detail):
    """Opens (`close` False) or closes the count of things that go in and out of `opening`."""

    opening: str
    things: tuple[str, ...] = ()
    close: bool = False


@dataclass(frozen=True, slots=True)
class Hold(Detail):
    """Someone other than the technician looks at `look` and signs. `who`: the role that may ("foreman").

    `until`: the hold may be left open for later; it must be signed before that step begins, and before the job ends.
    "": it must be signed before the next step.
    """

    look: str
    who: str = "foreman"
    until: str = ""

    @property
    def guard(self) -> Passing:
        """A hold point is there for somebody else to look."""
        return Passing.SECOND


@dataclass(frozen=True, slots=True)
class Together(Detail):
    """`people`: how many are needed, at least 2. `beats`: beats counted down to the common move, 0 for none.
    `ask`: question about the result, answered yes or no, "" for none."""

    people: int = 2
    beats: int = 0
    ask: str = ""


@dataclass(frozen=True, slots=True)
class Use:
    """What a step uses up of a part or a consumable: `amount` in `unit` ("" for pieces), None where it is not said."""

    item: str
    amount: Decimal | None = None
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """One step.

    Attributes:
        kind: the word of its kind, as the file has it.
        say, show: what is spoken; the longer text on the screen (defaults to `say`).
        takes: seconds it is expected to take, None where the file does not say.
        off: things this step takes off the machine, in words.
        puts_back: things this step puts back; each was taken off by an earlier step.
        origin: of a step of the way back: id of the step that took off what this one puts back.
        because: why what it takes off never goes back, "" where it does.
        aside: name of the aside it belongs to. Such steps are no part of the line: they are entered only by a remedy or
            a finding, one after the other, and after the last of them the step that sent the job there is asked again.
        used: parts and consumables it uses up.
        pass_: who may pass its guard, as the file says; None where it says nothing.
        reasons: phrases of its own that may be given as the reason for passing its guard.
    """

    id: str
    kind: str
    say: str
    show: str
    detail: Detail
    cautions: tuple[Caution, ...] = ()
    takes: int | None = None
    off: tuple[str, ...] = ()
    puts_back: tuple[str, ...] = ()
    origin: str = ""
    because: str = ""
    aside: str = ""
    used: tuple[Use, ...] = ()
    pass_: Passing | None = None
    reasons: tuple[str, ...] = ()

    @property
    def passing(self) -> Passing:
        """Who may pass its guard. Where the file says nothing: a second person what can hurt somebody (a settling wait,
        a hold point, a DANGER), else the technician alone."""
        if self.pass_ is not None:
            return self.pass_
        danger = any(caution.signal is Signal.DANGER for caution in self.cautions)
        return Passing.SECOND if danger else self.detail.guard

    @property
    def uses(self) -> tuple[str, ...]:
        """Ids of the parts and consumables it uses up."""
        return tuple(use.item for use in self.used)


@dataclass(frozen=True, slots=True)
class Finding:
    """Something a technician may find and say ("found: cracked bracket").

    Attributes:
        say: its words.
        to: the aside that deals with it, "" where it only stops the step.
        stop: the step stops, and goes on only after an override.
        steps: ids of the steps it may be found in; empty: in any.
        passing: who may let a stopped step go on, `Passing.SECOND` or `Passing.NOBODY`.
    """

    say: str
    to: str = ""
    stop: bool = False
    steps: tuple[str, ...] = ()
    passing: Passing = Passing.SECOND


class Group(StrEnum):
    """Names of a procedure that are heard in one place, so that they must sound unlike each other."""

    THINGS = "things"
    MEASUREMENTS = "measurements"
    WAITS = "waits"
    ROLES = "roles"


class Name(NamedTuple):
    """What a step calls by a name that is said and heard.

    `group`: one of `Group`, or one of its kind's own; `key`: where in its table it stands.
    """

    group: str
    key: str
    text: str


class Naming(Protocol):
    """What a procedure itself asks of a step kind; the whole of it is `bayvoice.procedure.kind.Form`."""

    def names(self, step: Step, /) -> Iterator[Name]:
        """What the step calls by a name."""
        ...


@dataclass(frozen=True, slots=True)
class Procedure:
    """A whole procedure. `text` is the file's own text and `sha256` its hex digest: the record keeps both.

    `kinds`: the step kinds it was read with, by their words (`bayvoice.procedure.kind.kinds_of` gives them whole).
    """

    id: str
    title: str
    machine: str
    steps: tuple[Step, ...]
    references: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()
    parts: tuple[Part, ...] = ()
    tools: tuple[Item, ...] = ()
    consumables: tuple[Item, ...] = ()
    findings: tuple[Finding, ...] = ()
    gauges: tuple[Gauge, ...] = ()
    text: str = field(default="", repr=False)
    sha256: str = ""
    kinds: Mapping[str, Naming] = field(default_factory=dict, repr=False, compare=False)
    _named: dict[str, tuple[str, ...]] = field(init=False, repr=False, compare=False, default_factory=dict)
    _of_kind: dict[str, tuple[int, ...]] = field(init=False, repr=False, compare=False, default_factory=dict)

    def of_kind(self, kind: str) -> tuple[int, ...]:
        """Positions of the steps of one kind, in order; found out once."""
        if not self._of_kind:
            found: dict[str, list[int]] = {}
            for i, step in enumerate(self.steps):
                found.setdefault(step.kind, []).append(i)
            self._of_kind.update({each: tuple(at) for each, at in found.items()})
        return self._of_kind.get(kind, ())

    def named(self, group: str) -> tuple[str, ...]:
        """Every name of the group that a step brings, in file order, once; found out once."""
        if not self._named:
            found: dict[str, dict[str, None]] = {each: {} for each in Group}
            for step in self.steps:
                for name in self.kinds[step.kind].names(step):
                    found.setdefault(name.group, {})[name.text] = None
            self._named.update({each: tuple(names) for each, names in found.items()})
        return self._named.get(group, ())

    def index(self, step_id: str) -> int:
        """Position of the step called `step_id`; KeyError if there is none."""
        for i, step in enumerate(self.steps):
            if step.id == step_id:
                return i
        raise KeyError(step_id)

    @property
    def line(self) -> tuple[int, ...]:
        """Positions of the steps that belong to no aside, in order."""
        return tuple(i for i, step in enumerate(self.steps) if not step.aside)

    def after(self, position: int) -> int | None:
        """Position of the step that follows `position` in the line, or in the same aside; None after the last."""
        aside = self.steps[position].aside
        later = range(position + 1, len(self.steps))
        return next((i for i in later if self.steps[i].aside == aside), None)

    def aside(self, name: str) -> tuple[int, ...]:
        """Positions of the steps of the aside called `name`, in order; empty where there is none."""
        return tuple(i for i, step in enumerate(self.steps) if step.aside == name)

    def part(self, part_id: str) -> Part:
        """The part called `part_id`; KeyError if there is none."""
        for part in self.parts:
            if part.id == part_id:
                return part
        raise KeyError(part_id)

    def gauge(self, gauge_id: str) -> Gauge | None:
        """The gauge called `gauge_id`, None where the procedure describes none of that id."""
        return next((gauge for gauge in self.gauges if gauge.id == gauge_id), None)

    def things(self) -> tuple[str, ...]:
        """Every thing that may be counted in or out, in file order, once."""
        return self.named(Group.THINGS)
