"""Wiring: which edges a sitting uses, and how they are tied together. Each part gets what it needs as it is made.

First the bench is laid out (`lay_out`: the record, what is worked, the clock, the inbox and who hands in there), then a
screen may be made that hands in, and then all of it is joined, with whoever watches (`wire`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import platformdirs

from bayvoice.dialogue import session
from bayvoice.dialogue.engine.events import Began, Event
from bayvoice.dialogue.engine.state import State
from bayvoice.dialogue.flow import choosing
from bayvoice.dialogue.flow.choosing import Choice, Choosing
from bayvoice.ears.choose import choose, lexicon_of
from bayvoice.ears.front import FrontEnd
from bayvoice.ears.listener import Listener
from bayvoice.ears.person import adaptation_of
from bayvoice.ears.phones import Phones
from bayvoice.ears.tape import Tape
from bayvoice.errors import BayError
from bayvoice.host.clock import LiveClock, TapeClock
from bayvoice.host.datafiles import read_grammars
from bayvoice.job.people import Person, settled
from bayvoice.language.grammar import Grammars
from bayvoice.record.sqlite import roster
from bayvoice.record.sqlite.outfile import must_not_harm
from bayvoice.record.sqlite.store import Store
from bayvoice.runtime.grammars import LANGUAGE, addressed_grammars, prepare, wording
from bayvoice.runtime.hub import Handle, Hub, NoEars, Watch, notes_into
from bayvoice.runtime.inbox import Inbox
from bayvoice.runtime.intake import Door, Hands, Intake
from bayvoice.runtime.listening import Listening
from bayvoice.runtime.live import Level, LiveEars
from bayvoice.runtime.noting import Noting
from bayvoice.runtime.opening import Opened, open_job
from bayvoice.runtime.options import Options, who
from bayvoice.runtime.sitting import Live, OnTape, Sitting
from bayvoice.runtime.tape import Recording, wall_of
from bayvoice.voice.player import NullPlayer, Player, TapePlayer, Tell
from bayvoice.voice.render import SpokenVoice


@dataclass(frozen=True, slots=True)
class Bench:
    """What a sitting works with, before it is joined to its edges.

    Attributes:
        options: with names as the record knows them.
        state, handle: where the core begins, and the core.
        changed: SHA-256 of the procedure's file where it is no longer the job's own, else "".
        recording: sound in place of the microphone, None where it is live.
        hands: for whoever types; any thread.
        notices: what the user should know so far.
    """

    options: Options
    store: Store
    state: Any
    handle: Handle
    grammars: Grammars
    changed: str
    recording: Recording | None
    clock: LiveClock | TapeClock
    inbox: Inbox
    intake: Intake
    hands: Hands
    notices: tuple[str, ...]


def lay_out(options: Options, recording: Recording | None = None) -> Bench:
    """Open the record and the job. BayError where the sitting can't take place.

    Args:
        options: what was asked for.
        recording: sound to work on instead of the one `options.mic` names; it may be made while it is listened to.
    """
    # The recording first: a job must not begin for a microphone that is not there.
    recording = recording or (Tape(options.mic) if options.on_tape else None)
    store = Store(options.store)
    try:
        return _with_job(options, store, open_job(store, options), recording)
    except BaseException:
        store.close()
        raise


def _with_job(options: Options, store: Store, opened: Opened, recording: Recording | None) -> Bench:
    taken: list[str] = []
    people = roster.take_up(store, taken.append)
    options = replace(
        options, people=roster.with_names(people, options.people), by=_name_of(options, opened, people.roll)
    )
    grammars = addressed_grammars(opened.procedure, options.people, options.address, lexicon_of(LANGUAGE))
    state = State(
        job=opened.job,
        wording=wording(),
        people=options.people,
        roll=people.roll,
        mic=options.hears,
        trust=options.trust,
    )
    door = roster.Door(store, opened.name)
    notices = (*opened.notices, *taken)
    clock = _clock(recording, opened.last)
    return _bench(options, store, state, session.handle, grammars, opened.changed, recording, clock, door, notices)


def lay_out_choice(options: Options, offered: tuple[Choice, ...], recording: Recording | None) -> Bench:
    """The same for choosing a job instead of working one; nobody signs there."""
    store = Store(options.store)
    try:
        grammars = Grammars(read_grammars(LANGUAGE), states="choosing")
        state = Choosing(offered, wording())
        clock = _clock(recording, 0.0)
        return _bench(
            options, store, state, choosing.handle, grammars, "", recording, clock, roster.Roster(), notices=()
        )
    except BaseException:
        store.close()
        raise


def _bench(
    options: Options,
    store: Store,
    state: Any,
    handle: Handle,
    grammars: Grammars,
    changed: str,
    recording: Recording | None,
    clock: LiveClock | TapeClock,
    door: Door,
    notices: tuple[str, ...],
) -> Bench:
    try:
        store.bay_key()
    except BayError as error:
        notices = (*notices, f"{error} What is recorded is kept, and not signed.")
    inbox, intake = Inbox(), Intake(clock, grammars, door)
    return Bench(
        options=options,
        store=store,
        state=state,
        handle=handle,
        grammars=grammars,
        changed=changed,
        recording=recording,
        clock=clock,
        inbox=inbox,
        intake=intake,
        hands=Hands(inbox, intake),
        notices=notices,
    )


def _clock(recording: Recording | None, last: float) -> LiveClock | TapeClock:
    return LiveClock() if recording is None else TapeClock(wall_of(recording, last))


def _name_of(options: Options, opened: Opened, roll: tuple[Person, ...]) -> str:
    """The technician's name as it is written already, so that nobody works as two. BayError where that is not clear."""
    name, close = settled(roll, opened.job.hands, who(options.by))
    if close:
        raise BayError(
            f"this name is too like {close}, who is known here", f"--by {name}", f"give {close}, or both names in full"
        )
    return name


def open_sitting(options: Options, watch: Watch, recording: Recording | None = None) -> Sitting:
    """A sitting on a job: `lay_out` and `wire` in one, for whoever has nothing to make in between."""
    return wire(lay_out(options, recording), watch)


def wire(bench: Bench, watch: Watch, level: Level | None = None) -> Sitting:
    """Join what is on the bench to the edges that its options name.

    Args:
        bench: its record is closed where this fails.
        watch: told of everything that happens, in the thread that runs the sitting.
        level: told how loud the microphone is, in the ears' thread.

    Raises:
        BayError: an edge that was asked for by name does not work.
    """
    try:
        return _wired(bench, watch, level)
    except BaseException:
        bench.store.close()
        raise


def _wired(bench: Bench, watch: Watch, level: Level | None) -> Sitting:
    options, clock, live = bench.options, bench.clock, isinstance(bench.clock, LiveClock)
    notices = list(bench.notices)
    listener = _listener(options, bench.grammars, not live, notices)
    log = platformdirs.user_log_path("bayvoice") / "voice.log"
    voice = None if options.speaker == "off" and live else SpokenVoice(log=writable(log))
    player = _player(options, clock, notes_into(bench.inbox, clock), notices)
    listening = None
    if listener is not None:
        listening = Listening(listener, bench.grammars, Noting(bench.store.path, bench.inbox.put, clock))
    sound: Live | OnTape
    ears: LiveEars | Listening | NoEars
    if isinstance(clock, TapeClock):
        assert bench.recording is not None, "a recording's clock goes with a recording"
        assert listening is not None, "somebody listens to a recording"
        ears, sound = listening, OnTape(bench.recording, listening, clock)
    elif listening is None:
        ears, sound = NoEars(), Live(None)
    else:
        ears = LiveEars(listening, bench.inbox, bench.intake, clock, level, native_log())
        sound = Live(ears)
    hub = Hub(bench.state, clock, bench.store, voice, player, ears, bench.inbox, watch, live=live, handle=bench.handle)

    def began(_: Any) -> tuple[Event, ...]:
        return (Began(clock.now(), who(options.by), clock.boot, bench.changed, options.ambient),)

    return Sitting(
        hub=hub,
        intake=bench.intake,
        hands=bench.hands,
        grammars=bench.grammars,
        store=bench.store,
        voice=voice,
        sound=sound,
        began=began,
        notices=tuple(notices),
    )


def _listener(options: Options, grammars: Grammars, recording: bool, notices: list[str]) -> Listener | None:
    if not options.hears:
        return None
    whole = grammars.state("any")
    adapted, untaught = adaptation_of(options.by)
    recogniser, said = choose(options.ears, whole.words, lexicon=lexicon_of(LANGUAGE), adapted=adapted)
    notices.extend((*untaught, *said))
    prepare(recogniser, grammars)
    spotter = recogniser.spotter() if isinstance(recogniser, Phones) else None
    return Listener(recogniser, FrontEnd(), whole, spotter, recording)


def _player(options: Options, clock: LiveClock | TapeClock, tell: Tell, notices: list[str]) -> Player:
    if options.speaker == "off":
        # On a recording, silence keeps the rhythm of speech: the recording was made to leave room for it.
        return NullPlayer(tell, clock.mono(), rhythm=isinstance(clock, TapeClock))
    if options.speaker == "live":
        if isinstance(clock, TapeClock):
            notices.append(
                "A recording runs faster than time, so nothing is played; give --speaker FILE.wav to keep it."
            )
            return NullPlayer(tell, clock.mono(), rhythm=True)
        from bayvoice.voice.live import LivePlayer

        try:
            return LivePlayer(tell, clock.mono)
        except BayError as error:
            notices.append(f"{error} What is said is only shown.")
            return NullPlayer(tell, clock.mono(), rhythm=False)
    read = [Path(name) for name in (options.mic, options.procedure) if name and name not in ("live", "off")]
    must_not_harm(Path(options.speaker), options.store, "--speaker", read)
    return TapePlayer(Path(options.speaker), tell, clock.mono())


def writable(path: Path) -> Path | None:
    """`path` if something can be written there, else None: a missing log must not stop a job."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("ab"):
            return path
    except OSError:
        return None


def native_log() -> Path | None:
    """Where what native libraries print goes."""
    return writable(platformdirs.user_log_path("bayvoice") / "native.log")
