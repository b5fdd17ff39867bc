"""A stage for the core: a hand-cranked clock, a store that keeps at once, a loudspeaker that takes no time.

Dialogue scripts (``tests/dialogue/scripts/*.script``) are played on it. A line is a verb and its object:

    procedure NAME          a procedure that ships with the product; or ``procedure`` and an indented TOML block
    people Ruth, Kofi       who may sign
    person Ruth foreman 47  somebody of the bay's file of people: name, role, code if any
    trust                   plain values are logged without a yes (from the next begin on)
    address MODE WORD       the address word and when it must be said (from the next begin on)
    begin Imre              a sitting begins
    again Dalia             the computer is started anew and the job taken up by Dalia from its facts
    return Ruth WORDS       between two sittings the foreman returns the job with a remark
    hear WORDS              an utterance, matched by the grammar of the present dialogue state
    unsure ODDS WORDS       the same, heard with these natural-log odds only
    noise WORDS             something heard that the grammar does not accept
    type WORDS              typed words
    wait 2 min 5 s          time passes; alerts due in it happen
    microphone              there is one (from the next begin on)
    note 3.2 s              the sound of the note that is being taken is on the disk
    nothing WHY             it could not be kept, or ("") nobody spoke
    talking / quiet         the loudspeaker is in the middle of an utterance / has ended it
    disk full / disk well   the store refuses facts / takes them again
    says TEXT               something said since the last input contains TEXT, in the order of the lines
    why TEXT                the last utterance was not taken, for a reason that contains TEXT
    silent                  nothing was said since the last input
    rings TONE              an alert burst since the last input
    fact KIND key=value …   such a fact was recorded since the last input (values as JSON or bare words)
    no fact KIND            no such fact since the last input
    taking / ending         the microphone was asked to keep a note / to end it
    mode NAME               the dialogue state now
    step ID                 the current step now
"""

from __future__ import annotations

import json
import re
import shlex
from collections import deque
from dataclasses import dataclass, field, replace
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from bayvoice.dialogue.engine import effects as fx
from bayvoice.dialogue.engine import events as ev
from bayvoice.dialogue.engine.state import State
from bayvoice.dialogue.session import handle
from bayvoice.dialogue.steps import KINDS
from bayvoice.ears.listener import SAY_FIRST
from bayvoice.host.datafiles import read_grammars, read_procedure
from bayvoice.job.facts import Fact, upward
from bayvoice.job.job import Job, fold_all
from bayvoice.job.people import Person
from bayvoice.language.address import NO_ADDRESS, Address, AddressMode
from bayvoice.language.grammar import Grammars
from bayvoice.language.wording import Wording
from bayvoice.procedure.fills import fills_of, units_of
from bayvoice.procedure.load import load_text
from bayvoice.procedure.model import Procedure
from bayvoice.record.sqlite.roster import Entry, Roster, hashed
from bayvoice.runtime.intake import shield, spelled, words_of, written_intent

WALL = 1_790_000_000.0
NOBODY = Roster()
SCRIPTS = Path(__file__).parent / "dialogue" / "scripts"


@cache
def wording() -> Wording:
    """The English wording that ships."""
    return Wording()


@lru_cache(maxsize=16)
def compiled(fills: tuple[tuple[str, tuple[str, ...]], ...], address: Address, units: frozenset[str]) -> Grammars:
    """The grammars of jobs that bring these names and units: one for all of them, since compiling is what costs."""
    return Grammars(read_grammars(), dict(fills), address, units)


@cache
def shipped(name: str) -> Procedure:
    """A procedure that ships, read once."""
    return read_procedure(name)


@dataclass
class Sitting:
    """What happened from one start of the process to the next."""

    begins: State
    events: list[ev.Event] = field(default_factory=list)
    effects: list[fx.Effect] = field(default_factory=list)


@dataclass
class Stage:
    """One job on the stage."""

    procedure: Procedure
    people: tuple[str, ...] = ()
    roster: Roster = NOBODY
    address: Address = NO_ADDRESS
    mono: float = 100.0
    base: float = WALL
    trust: bool = False
    boot: str = "boot-1"
    slow_voice: bool = False
    disk_full: bool = False
    facts: list[Fact] = field(default_factory=list)
    said: list[str] = field(default_factory=list)
    rung: list[str] = field(default_factory=list)
    new_facts: list[Fact] = field(default_factory=list)
    events: list[ev.Event] = field(default_factory=list)
    effects: list[fx.Effect] = field(default_factory=list)
    wakes: dict[str, float] = field(default_factory=dict)
    speaking: list[int] = field(default_factory=list)
    finished: bool = False
    taking: str = ""
    ended: bool = False
    mic: bool = False
    grammars: Grammars = None  # type: ignore[assignment]

    def __post_init__(self) -> None:
        if self.grammars is None:
            fills = tuple(fills_of(self.procedure, self.people).items())
            self.grammars = compiled(fills, self.address, units_of(self.procedure))
        fresh = new_state("job-1", self.procedure, wording(), self.people, self.roster.roll)
        self.state: State = replace(fresh, mic=self.mic, trust=self.trust)
        self.sittings: list[Sitting] = [Sitting(self.state)]

    @property
    def at(self) -> ev.Stamp:
        """The present moment."""
        return ev.Stamp(self.mono, self.base + self.mono)

    def take(self, event: ev.Event) -> None:
        """Handle `event`, and all that the edges answer to it."""
        pending = deque([event])
        while pending:
            one = pending.popleft()
            self.events.append(one)
            self.sittings[-1].events.append(one)
            self.state, effects = handle(self.state, one)
            self.effects.extend(effects)
            self.sittings[-1].effects.extend(effects)
            for effect in effects:
                pending.extend(self._perform(effect))

    def _perform(self, effect: fx.Effect) -> list[ev.Event]:
        match effect:
            case fx.Append(fact):
                if self.disk_full:
                    return [ev.Unkept(self.at, fact.seq, "the disk is full")]
                assert fact.seq == len(self.facts) + 1, "facts out of order"
                self.facts.append(fact)
                self.new_facts.append(fact)
                return [ev.Kept(self.at, fact.seq)]
            case fx.Say(uid, text, _):
                self.said.append(text)
                if self.slow_voice:
                    self.speaking.append(uid)
                    return [ev.SpeechBegan(self.at, uid)]
                # Said in no time, a moment ago: it must not count as overlapping the next utterance.
                past = ev.Stamp(self.mono - 5.0, self.base + self.mono - 5.0)
                return [ev.SpeechBegan(past, uid), ev.Spoken(past, uid)]
            case fx.Hush():
                uids, self.speaking = self.speaking, []
                return [ev.Spoken(self.at, uid, cut=True) for uid in uids]
            case fx.Ring(tone):
                self.rung.append(tone)
            case fx.WakeAt(key, due):
                self.wakes[key] = due
            case fx.Finish():
                self.finished = True
            case fx.TakeNote(stem):
                self.taking = stem
            case fx.EndNote():
                self.ended = True
            case fx.Listen():
                pass
        return []

    def quiet(self) -> None:
        """The loudspeaker has said everything."""
        uids, self.speaking = self.speaking, []
        for uid in uids:
            self.take(ev.Spoken(self.at, uid))

    def forget(self) -> None:
        """Forget what was said and recorded: a new input comes."""
        self.said.clear()
        self.rung.clear()
        self.new_facts.clear()

    def hear(self, words: str, *, typed: bool = False, take: bool = True, sure: float | None = None) -> None:
        """A second later, an utterance of `words`, spoken in its last half, or typed."""
        self.mono += 1.0
        grammar, written = self.grammars.state(self.state.mode), words
        if typed:
            words = " ".join(words_of(spelled(words, self.state.pending)))
        intent = grammar.match(words.split(), spoken=not typed)
        if typed:
            intent = written_intent(written, self.state.mode) or intent
        shown, shielded = shield(self.roster, self.state.pending, tuple(words.split()), intent)
        if typed:
            self.take(ev.Typed(self.at, shown, shielded))
            return
        assert intent is not None or not take, f"{words!r} is not a phrase of state {self.state.mode!r}"
        first = SAY_FIRST.format(word=self.address.word) if grammar.unaddressed(words.split()) else ""
        why = "" if intent else first or "not a phrase of this step"
        self.take(
            ev.Heard(self.at, shown, shielded, "stage", 5.0, self.mono - 0.5, self.mono, why, sure, self.state.mode)
        )

    def wait(self, seconds: float) -> None:
        """Let time pass; wake-ups come when they are due."""
        end = self.mono + seconds
        while True:
            due = sorted((at, key) for key, at in self.wakes.items() if at <= end)
            if not due:
                break
            at, key = due[0]
            del self.wakes[key]
            self.mono = max(self.mono, at)
            self.take(ev.Woke(self.at, key, at))
        self.mono = end

    def again(self, by: str, away: float = 60.0) -> None:
        """The computer is started anew `away` seconds later: only the facts are left."""
        wall = self.base + self.mono + away
        self.boot += "+"
        self.wakes.clear()
        self.speaking.clear()
        self.mono = 7.0
        self.base = wall - self.mono
        job = fold_all(Job("job-1", self.procedure, KINDS), self.facts)
        self.state = State(
            job=job, wording=wording(), people=self.people, roll=self.roster.roll, mic=self.mic, trust=self.trust
        )
        self.sittings.append(Sitting(self.state))
        self.take(ev.Began(self.at, by, self.boot))


def new_state(
    job: str, procedure: Procedure, wording: Wording, people: tuple[str, ...] = (), roll: tuple[Person, ...] = ()
) -> State:
    """The state before anything has happened to `job`."""
    return State(job=Job(job, procedure, KINDS), wording=wording, people=people, roll=roll)


class ScriptError(AssertionError):
    """A line of a script does not hold."""


def play(path: Path) -> Stage:
    """Play a script; ScriptError names the first line that does not hold."""
    stage: Stage | None = None
    procedure: Procedure | None = None
    people: tuple[str, ...] = ()
    roster = Roster()
    mic = False
    address = NO_ADDRESS
    trust = False
    lines = path.read_text(encoding="utf-8").splitlines()
    index = 0
    heard_from = 0
    while index < len(lines):
        line = lines[index]
        index += 1
        text = line.strip()
        if not text or text.startswith("#"):
            continue
        verb, _, rest = text.partition(" ")
        try:
            if verb == "procedure":
                block = []
                while index < len(lines) and (lines[index].startswith("    ") or not lines[index].strip()):
                    block.append(lines[index][4:])
                    index += 1
                procedure = read_procedure(rest) if rest else load_text("\n".join(block) + "\n", path.name, KINDS)
            elif verb == "people":
                people = tuple(p.strip() for p in rest.split(","))
            elif verb == "person":
                name, role, *code = rest.split()
                entry = Entry(name, role, "", hashed(code[0]) if code else "")
                roster = Roster((*roster.entries, entry))
                people = (*people, name)
            elif verb == "microphone":
                mic = True
            elif verb == "address":
                mode, _, word = rest.partition(" ")
                address = Address(AddressMode(mode), word)
            elif verb == "trust":
                trust = True
            elif verb == "begin":
                assert procedure is not None, "begin needs a procedure"
                stage = Stage(procedure, people, roster, address, mic=mic, trust=trust)
                heard_from = 0
                stage.take(ev.Began(stage.at, rest, stage.boot))
            else:
                assert stage is not None, "the script must begin a sitting first"
                if verb in _INPUTS:
                    stage.forget()
                    heard_from = 0
                    _input(stage, verb, rest)
                else:
                    heard_from = _expect(stage, verb, rest, heard_from)
        except AssertionError as fault:
            told = f"\n  said: {stage.said}\n  facts: {[(f.kind, f.body) for f in stage.new_facts]}" if stage else ""
            raise ScriptError(f"{path.name}:{index}: {text}: {fault}{told}") from None
    assert stage is not None
    return stage


_INPUTS = frozenset(
    {
        "note",
        "nothing",
        "hear",
        "unsure",
        "noise",
        "type",
        "wait",
        "talking",
        "quiet",
        "disk",
        "again",
        "leave",
        "return",
    }
)
_UNITS = {"h": 3600, "min": 60, "s": 1}


def _input(stage: Stage, verb: str, rest: str) -> None:
    if verb == "hear":
        stage.hear(rest)
    elif verb == "unsure":
        odds, _, words = rest.partition(" ")
        stage.hear(words, sure=float(odds))
    elif verb == "noise":
        stage.hear(rest, take=False)
    elif verb == "type":
        stage.hear(rest, typed=True)
    elif verb == "wait":
        stage.wait(sum(float(n) * _UNITS[u] for n, u in re.findall(r"([\d.]+)\s*(h|min|s)\b", rest)))
    elif verb in ("note", "nothing"):
        assert stage.taking, "no note is being taken"
        stage.mono += 1.0
        seconds = float(rest.removesuffix(" s")) if verb == "note" else 0.0
        name, digest = (f"{stage.taking}-0.wav", "0" * 64) if verb == "note" else ("", "")
        stage.take(ev.NoteTaken(stage.at, name, digest, seconds, rest if verb == "nothing" else ""))
    elif verb == "talking":
        stage.slow_voice = True
    elif verb == "quiet":
        stage.slow_voice = False
        stage.quiet()
    elif verb == "disk":
        stage.disk_full = rest == "full"
    elif verb == "again":
        stage.again(rest)
    elif verb == "return":
        who, _, remark = rest.partition(" ")
        body = upward("returned", {"who": who, "remark": remark})
        stage.facts.append(Fact(len(stage.facts) + 1, stage.base + stage.mono, "returned", body))
    else:
        stage.take(ev.Left(stage.at, rest))


def _expect(stage: Stage, verb: str, rest: str, heard_from: int) -> int:
    if verb == "says":
        for i in range(heard_from, len(stage.said)):
            if rest in stage.said[i]:
                return i
        raise AssertionError("not said")
    if verb == "why":
        heard = stage.state.heard
        assert heard is not None, "nothing was heard"
        assert not heard.made, f"it was taken as {heard.made}"
        assert rest in heard.why, f"the reason was {heard.why!r}"
    elif verb == "silent":
        assert not stage.said, "something was said"
    elif verb == "rings":
        assert rest in stage.rung, f"rang {stage.rung}"
    elif verb == "fact":
        _expect_fact(stage, rest)
    elif verb == "no":
        kind = rest.removeprefix("fact ")
        assert all(f.kind != kind for f in stage.new_facts), "there is one"
    elif verb == "mode":
        assert stage.state.mode == rest, f"it is {stage.state.mode}"
    elif verb == "taking":
        assert stage.taking, "no note is being taken"
    elif verb == "ending":
        assert stage.ended, "the note goes on"
    elif verb == "step":
        current = stage.state.job.current
        assert current is not None, "there is no current step"
        assert current.id == rest, f"it is {current.id}"
    else:
        raise AssertionError(f"no verb {verb!r}")
    return heard_from


def _expect_fact(stage: Stage, rest: str) -> None:
    kind, *pairs = shlex.split(rest)
    wanted: dict[str, Any] = {}
    for pair in pairs:
        key, _, value = pair.partition("=")
        try:
            wanted[key] = json.loads(value)
        except ValueError:
            wanted[key] = value
    for fact in stage.new_facts:
        # Bodies keep readings as strings, a script may write them bare: 0.12 means "0.12".
        if fact.kind == kind and all(
            fact.body.get(k) == v or str(fact.body.get(k)) == pairs[i].partition("=")[2]
            for i, (k, v) in enumerate(wanted.items())
        ):
            return
    raise AssertionError("no such fact")
