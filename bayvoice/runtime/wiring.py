"""Wiring: which edges a sitting uses, and how they are tied to the hub."""

from __future__ import annotations

import contextlib
import getpass
import os
import re
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from bayvoice.dialogue.engine.events import Heard, Mended, Trouble, Typed
from bayvoice.dialogue.steps.windows import SENSIBLE, UNITS
from bayvoice.ears.base import Recogniser
from bayvoice.ears.likeness import vet_address
from bayvoice.ears.listener import Utterance
from bayvoice.ears.pronounce import Lexicon
from bayvoice.ears.soundwatch import SoundMended, SoundTrouble
from bayvoice.errors import BayError, sentence
from bayvoice.host.datafiles import read_grammars, read_procedure
from bayvoice.job.job import Job, fold_all
from bayvoice.language.address import NO_ADDRESS, Address
from bayvoice.language.grammar import Grammars
from bayvoice.language.intents import Intent
from bayvoice.language.wording import Wording
from bayvoice.procedure.fills import fills_of, units_of
from bayvoice.procedure.load import load_kept
from bayvoice.procedure.mistakes import BadProcedure
from bayvoice.procedure.model import Procedure
from bayvoice.record.sqlite import roster
from bayvoice.record.sqlite.store import Store
from bayvoice.runtime.codes import HIDDEN, shield, typed
from bayvoice.runtime.hub import Hub
from bayvoice.runtime.typed import words_of, written_intent

LANGUAGE = "en"


@dataclass(frozen=True, slots=True)
class Options:
    """What `bayvoice work` was asked for. `mic`: "live", "off" or a WAV; `speaker`: "live", "off" or a WAV.

    `address`: the word that must be said before an intent, and when. `ambient`: (name, value, unit) of the bay's air.
    `trust`: log plain values without a yes.
    """

    procedure: str
    mic: str = "live"
    speaker: str = "live"
    store: Path | None = None
    job: str = ""
    by: str = ""
    people: tuple[str, ...] = ()
    ears: str = "auto"
    address: Address = NO_ADDRESS
    ambient: tuple[tuple[str, str, str], ...] = ()
    trust: bool = False


def surroundings(temperature: str, humidity: str) -> tuple[tuple[str, str, str], ...]:
    """What `--ambient` and `--humidity` say, as `events.Began.ambient` has it; the unit may be left out.

    BayError where it is no such amount.
    """
    found = []
    for name, option, text in (("temperature", "--ambient", temperature), ("humidity", "--humidity", humidity)):
        unit = UNITS[name]
        taken = re.fullmatch(r"([+-]?\d{1,3}(?:\.\d{1,3})?)\s*(degC|°C|C|%)?", text.strip())
        if not text.strip():
            continue
        if taken is None or (taken[2] or "") not in (("", "%") if unit == "%" else ("", "degC", "°C", "C")):
            raise BayError(f'"{text}" is no {name}', option, f'write it like "{"50 %" if unit == "%" else "23 degC"}"')
        low, high = SENSIBLE[name]
        if not low <= Decimal(taken[1]) <= high:
            raise BayError(f"a {name} of {taken[1]} {unit} is not possible", option, f"give one from {low} to {high}")
        found.append((name, taken[1], unit))
    return tuple(found)


def wording() -> Wording:
    """The sentences of the dialogue."""
    return Wording()


def grammars_for(procedure: Procedure | None, people: tuple[str, ...] = ()) -> Grammars:
    """The grammars, with what a procedure and the people of the bay bring into them."""
    return _grammars(procedure, people, NO_ADDRESS)


def _grammars(procedure: Procedure | None, people: tuple[str, ...], address: Address) -> Grammars:
    if procedure is None:
        return Grammars(read_grammars(LANGUAGE), None, address)
    return Grammars(read_grammars(LANGUAGE), fills_of(procedure, people), address, units_of(procedure))


def addressed_grammars(
    procedure: Procedure | None, people: tuple[str, ...], address: Address, lexicon: Lexicon
) -> Grammars:
    """The grammars with their address word. BayError where the word sounds too much like one that is said anyway."""
    plain = grammars_for(procedure, people)
    if not address.heard:
        return plain
    vet_address(address.word, [plain.state(name) for name in plain.states()], lexicon)
    return _grammars(procedure, people, address)


def prepare(recogniser: Recogniser, grammars: Grammars) -> None:
    """Compile every dialogue state before the job begins, so that a change of state costs next to nothing."""
    for name in grammars.states():
        recogniser.use(grammars.state(name))


def who(by: str) -> str:
    """The technician: as given, else the name of the computer's user."""
    if by:
        return by
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return "technician"


def people_of_bay(given: str) -> tuple[str, ...]:
    """Names from ``--people`` or BAYVOICE_PEOPLE, separated by commas: names that may be said.

    They make nobody known: where the record keeps the people of the bay, only those sign.
    """
    text = given or os.environ.get("BAYVOICE_PEOPLE", "")
    return tuple(name.strip() for name in text.split(",") if name.strip())


def people_known(given: str) -> tuple[str, ...]:
    """Those names, then the people that this bay's own record keeps, where there is one that can be read."""
    names = people_of_bay(given)
    with contextlib.suppress(BayError), Store(read_only=True) as store:
        return roster.with_names(roster.read(store), names)
    return names


@dataclass(frozen=True, slots=True)
class Opened:
    """A job ready to be worked on.

    Attributes:
        changed: SHA-256 of the procedure's file if it is no longer the job's own, else "".
        last: wall time of the last fact, 0 for a fresh job.
    """

    name: str
    procedure: Procedure
    job: Job
    changed: str
    notices: tuple[str, ...]
    last: float = 0.0


def open_job(store: Store, options: Options) -> Opened:
    """Begin a job, or take up the open one, and claim it. BayError where that is not possible or not clear."""
    broken: BadProcedure | None = None
    procedure: Procedure | None
    try:
        procedure = read_procedure(options.procedure)
    except BadProcedure as error:
        procedure, broken = None, error
    name = options.job or _open_job_of(store, procedure, options.procedure)
    facts = store.facts(name) if name else []
    if not facts:
        if procedure is None:
            assert broken is not None
            raise broken
        name = name or _new_name(store, procedure)
        store.claim(name, who(options.by))
        return Opened(name, procedure, Job(name, procedure), "", ())
    began = facts[0]
    # A procedure without an id of its own is called as its file was.
    own = load_kept(began.body["text"], str(began.body["procedure"]))
    if procedure is not None and procedure.id != own.id:
        raise BayError(
            f'this job is of the procedure "{own.id}"',
            f"job {name}",
            f"give that procedure, or another --job than {name}",
        )
    store.claim(name, who(options.by))
    notices: list[str] = []
    if broken is not None:
        notices.append(f"The procedure's file cannot be used now ({broken}) The job goes on with the version it holds.")
    changed = procedure.sha256 if procedure is not None and procedure.sha256 != own.sha256 else ""
    return Opened(name, own, fold_all(Job(name, own), facts), changed, tuple(notices), facts[-1].wall)


def _open_job_of(store: Store, procedure: Procedure | None, given: str) -> str:
    """The one open job of this procedure, "" if there is none; BayError if there are several."""
    wanted = procedure.id if procedure is not None else Path(given).stem
    names = [name for name, began in store.open_jobs() if began.get("procedure") == wanted]
    if len(names) > 1:
        raise BayError(
            f"{len(names)} jobs of this procedure are open",
            str(store.path),
            f"say which with --job: {', '.join(names)}",
        )
    return names[0] if names else ""


def _new_name(store: Store, procedure: Procedure) -> str:
    taken = set(store.job_names())
    number = 1
    while f"{procedure.id}-{number}" in taken:
        number += 1
    return f"{procedure.id}-{number}"


def heard_event(hub: Hub, found: Utterance) -> Heard:
    """A listener's result as an event; the listener counts in the hub's mono time."""
    hearing = found.hearing
    words, intent = _shielded(hub, hearing.words, found.intent)
    return Heard(
        hub.clock.now(), words, intent, hearing.engine, hearing.margin,
        found.began_s, found.ended_s, found.why, hearing.sure,
    )  # fmt: skip


def _shielded(hub: Hub, words: tuple[str, ...], intent: Intent | None) -> tuple[tuple[str, ...], Intent | None]:
    """Words and intent without a code. One that can't be compared, because the record fails, is not right."""
    try:
        return shield(hub.door or roster.Roster(), getattr(hub.state, "pending", None), words, intent)
    except BayError as error:
        hub.put(Trouble(hub.clock.now(), "store", sentence(error.what), sentence(error.mend)))
        return (HIDDEN,), None


def sound_event(hub: Hub, news: SoundTrouble | SoundMended) -> Trouble | Mended:
    """News of the sound as an event."""
    if isinstance(news, SoundTrouble):
        return Trouble(hub.clock.now(), news.part, news.what, news.mend)
    return Mended(hub.clock.now(), news.part)


def typed_event(hub: Hub, grammars: Grammars, text: str, key: bool = False) -> Typed:
    """A typed line, or what a `key` stands for, as an event, in the grammar of the present dialogue state, or with
    words only typing can say."""
    mode = hub.state.mode.value
    written = written_intent(text, mode)
    if written is not None:
        return Typed(hub.clock.now(), tuple(text.split()), written, key)
    pending = getattr(hub.state, "pending", None)
    text = typed(text, pending)
    words = words_of(text)
    state = grammars.state(mode)
    # As it stands, figures may be those of a part number.
    intent = state.match(words, spoken=False) or state.match(text.split(), spoken=False)
    return Typed(hub.clock.now(), *_shielded(hub, words, intent), key)
