"""Real states for the screen's tests: the core is driven by typed words, and every fact it appends is kept."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache

from bayvoice.dialogue.engine.effects import Append, WakeAt
from bayvoice.dialogue.engine.events import Began, Event, Heard, Kept, Stamp, Trouble, Typed, Woke
from bayvoice.dialogue.engine.state import Mode, State
from bayvoice.dialogue.session import handle
from bayvoice.host.datafiles import read_grammars, read_procedure
from bayvoice.job.facts import Fact
from bayvoice.job.people import Person
from bayvoice.language.grammar import Grammars
from bayvoice.language.wording import Wording
from bayvoice.procedure.fills import fills_of
from bayvoice.procedure.load import load_text
from bayvoice.procedure.model import Procedure
from bayvoice.runtime.intake import words_of, written_intent
from tests.stage import new_state

PEOPLE = ("Imre", "Dalia", "Kofi", "Ruth")
_COMPILED: dict[str, Grammars] = {}


@cache
def wording() -> Wording:
    """The English sentences."""
    return Wording()


def grammars_of(procedure: Procedure) -> Grammars:
    """The grammars of `procedure`, compiled once for all its walks."""
    if procedure.sha256 not in _COMPILED:
        _COMPILED[procedure.sha256] = Grammars(read_grammars("en"), fills_of(procedure, PEOPLE))
    return _COMPILED[procedure.sha256]


class Walk:
    """A job under way.

    Args:
        procedure: a procedure, or the name of one that ships with the product.
        roll: who of the bay keeps a code.
        name, by: of the job and of the technician.
    """

    def __init__(
        self,
        procedure: str | Procedure = "k40-transfer-cover",
        name: str = "bay-2-job",
        by: str = "Imre",
        roll: tuple[Person, ...] = (),
    ) -> None:
        self.procedure = read_procedure(procedure) if isinstance(procedure, str) else procedure
        self.grammars = grammars_of(self.procedure)
        self.mono = 1000.0
        self._wakes: dict[str, float] = {}
        self.state: State = new_state(name, self.procedure, wording(), PEOPLE, roll)
        self.give(Began(self.at, by, "one"))

    @property
    def at(self) -> Stamp:
        """The present moment."""
        return Stamp(self.mono, 1.7e9 + self.mono)

    def give(self, event: Event) -> State:
        """Let `event` happen, and keep every fact it leads to."""
        self.state, effects = handle(self.state, event)
        for effect in effects:
            if isinstance(effect, Append):
                self.keep(effect.fact)
                self.give(Kept(self.at, effect.fact.seq))
            elif isinstance(effect, WakeAt):
                self._wakes[effect.key] = effect.due
        return self.state

    def keep(self, fact: Fact) -> None:
        """A fact the job led to."""

    def type(self, *lines: str) -> State:
        """Type lines, as the hub would understand them in the present dialogue state."""
        for line in lines:
            words, mode = words_of(line), self.state.mode
            intent = written_intent(line, mode) or self.grammars.state(mode).match(words, spoken=False)
            self.give(Typed(self.at, tuple(words), intent))
        return self.state

    def hear(self, words: str, margin: float, why: str = "", sure: float | None = None) -> State:
        """Hear words by a recogniser; with `why` they are refused."""
        said = tuple(words.split())
        mode = self.state.mode
        intent = None if why else self.grammars.state(mode).match(said)
        return self.give(Heard(self.at, said, intent, "phones", margin, self.mono, self.mono, why, sure, mode))

    def trouble(self, part: str, what: str, mend: str) -> State:
        """An edge stops working."""
        return self.give(Trouble(self.at, part, what, mend))

    def later(self, seconds: float) -> None:
        """Time passes, and what asked to be woken in it is woken."""
        until = self.mono + seconds
        while self._wakes and (first := min(self._wakes, key=self._wakes.__getitem__)) and self._wakes[first] <= until:
            self.mono = max(self.mono, self._wakes.pop(first))
            self.give(Woke(self.at, first, self.mono))
        self.mono = until

    @property
    def step(self) -> str:
        """Id of the current step."""
        current = self.state.job.current
        return current.id if current else ""


ROUTE: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("isolate", ("next",)),
    ("chock", ("yes",)),
    ("cool-down", ("go", "+130", "next")),
    ("pan", ("next",)),
    ("drain", ("next",)),
    ("count-open", ("count in two rag", "count in guide pin", "next")),
    ("loosen-cover", ("next",)),
    ("lift-cover", ("yes", "next")),
    ("magnet", ("no",)),
    ("timing-marks", ("yes",)),
    ("backlash", ("0.14 mm", "yes")),
    ("end-float", ("0.21 mm", "yes", "0.12 mm", "yes")),
    ("apply-remover", ("next",)),
    ("remover-works", ("go", "+200", "next")),
    ("scrape", ("next",)),
    ("faces-clean", ("yes",)),
    ("new-seal", ("yes",)),
    ("new-washer", ("yes",)),
    ("drain-plug", ("next",)),
    ("inside-check", ("sign Ruth",)),
    ("count-closed", ("count out two rag", "count out guide pin", "next")),
    ("apply-bead", ("next",)),
    ("bead-open", ("+60", "next")),
    ("fit-cover", ("yes", "next")),
    ("new-bolts", ("yes",)),
    ("tighten-cover", ("next", "next", "next")),
    ("final-torque", ("38.5 N.m", "yes")),
    ("skin-over", ("go", "+130", "next")),
    ("fill", ("1.8 l", "yes")),
    ("leak-check", ("yes",)),
    ("hand-over", ("sign Ruth",)),
)
"""(step, what is typed there to leave it); "+130" lets 130 seconds pass."""


def walk_to(step: str = "", walk: Walk | None = None) -> Walk:
    """A job that stands at `step`, or at the end of everything for ""."""
    walk = walk or Walk()
    for name, lines in _rest(walk.step):
        if name == step:
            break
        if walk.step != name:
            raise AssertionError(f"the job stands at {walk.step!r}, not at {name!r}: {walk.state.last_said}")
        for line in lines:
            if line.startswith("+"):
                walk.later(float(line))
            else:
                walk.type(line)
    return walk


def _rest(step: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    names = [name for name, _ in ROUTE]
    yield from ROUTE[names.index(step) :]


@cache
def dated() -> Procedure:
    """The main job, with a sealant whose batch number and date are wanted."""
    text = read_procedure("k40-transfer-cover").text
    text = text.replace('name = "flange sealant"', 'name = "flange sealant"\nbatch = true\nshelf_life = true')
    return load_text(text, "dated.toml")


@cache
def gauged() -> Procedure:
    """The main job, with a wrench whose calibration is asked for."""
    text = read_procedure("k40-transfer-cover").text.replace('gauge = "torque wrench"', 'gauge = "wrench"')
    gauge = '[[gauge]]\nid = "wrench"\nname = "torque wrench"\ndue = "ask"\n\n'
    return load_text(text.replace("[[step]]", f"{gauge}[[step]]", 1), "gauged.toml")


@cache
def one_by_one() -> Procedure:
    """The main job, with its bolts gone through one by one."""
    text = read_procedure("k40-transfer-cover").text
    return load_text(text.replace('id = "tighten-cover"', 'id = "tighten-cover"\neach = true'), "bolts.toml")


WAITS = """
format = 1
title = "Bond and seal"
machine = "Varrow K40 tow tractor"
[[step]]
id = "bond"
kind = "wait"
wait = "cure"
name = "bond"
say = "Leave the bracket alone."
at_least = "1 h"
gates = ["load"]
[[step]]
id = "seal"
kind = "wait"
wait = "cure"
name = "seal"
say = "Leave the seam alone."
table = [{ temperature = "10 degC", at_least = "2 h" }, { temperature = "30 degC", at_least = "1 h" }]
gates = ["load"]
[[step]]
id = "load"
kind = "do"
say = "Hang the hose on it."
[[step]]
id = "count"
kind = "tally"
say = "Count."
opening = "case"
things = ["rag"]
[[step]]
id = "counted"
kind = "tally"
say = "Close."
opening = "case"
close = true
"""
"""A job with two waits, the second worked out from the temperature."""

OF_WAITS = {
    Mode.AMBIENT: ("go", "next"),
    Mode.SURE: ("go", "restart the wait"),
    Mode.WHICH: ("go", "next", "20 degC", "yes", "go", "extend by two minutes"),
}
"""What is typed in that job to come into a dialogue state."""


def in_mode(mode: Mode) -> Walk:
    """A job in dialogue state `mode`, reached by what a person would say."""
    if mode in OF_WAITS:
        walk = Walk(load_text(WAITS, "waits.toml"))
        walk.type(*OF_WAITS[mode])
        assert walk.state.mode is mode, (mode, walk.state.mode, walk.state.last_said)
        return walk
    at = {
        Mode.STEP: ("apply-remover", ()),
        Mode.CHECK: ("chock", ()),
        Mode.MEASURE: ("final-torque", ()),
        Mode.CONFIRM: ("final-torque", ("28.5 N.m",)),
        Mode.EITHER: ("final-torque", ("three fifty",)),
        Mode.GAUGE: ("final-torque", ()),
        Mode.BOLT: ("tighten-cover", ()),
        Mode.OVERRIDE: ("new-seal", ("skip step",)),
        Mode.REASON: ("new-seal", ("skip step", "yes")),
        Mode.FASTEN: ("tighten-cover", ("next",)),
        Mode.WAIT: ("remover-works", ("go",)),
        Mode.REPLACE: ("new-washer", ()),
        Mode.TALLY: ("count-open", ("count in two rag",)),
        Mode.HOLD: ("inside-check", ()),
        Mode.TOGETHER: ("lift-cover", ()),
        Mode.LIST: ("pan", ("parts list",)),
        Mode.SPELL: ("apply-bead", ("next",)),
        Mode.EXPIRY: ("apply-bead", ("next", "batch four oh two", "yes")),
        Mode.CONSENT: ("pan", ("hand over to Dalia",)),
        Mode.CODE: ("inside-check", ("sign Ruth",)),
        Mode.NOTING: ("pan", ("note",)),
        Mode.NAMED: ("inside-check", ("skip step because not needed", "yes", "person not here")),
        Mode.PAUSED: ("remover-works", ("go", "pause")),
        Mode.FINISHED: ("", ()),
    }
    step, lines = at[mode]
    other = {Mode.SPELL: dated, Mode.EXPIRY: dated, Mode.GAUGE: gauged, Mode.BOLT: one_by_one}.get(mode)
    procedure: Procedure | str = other() if other else "k40-transfer-cover"
    # Where a bay keeps anybody, nobody else counts: all of them are kept.
    roll = [Person(name, "foreman" if name == "Ruth" else "technician") for name in PEOPLE]
    if mode is Mode.CODE:
        roll = [replace(one, coded=one.name == "Ruth") for one in roll]
    walk = walk_to(step, Walk(procedure, roll=tuple(roll)))
    walk.state = replace(walk.state, mic=mode is Mode.NOTING)
    walk.type(*lines)
    assert walk.state.mode is mode, (mode, walk.state.mode, walk.state.last_said)
    return walk
