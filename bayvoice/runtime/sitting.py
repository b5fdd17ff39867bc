"""`bayvoice work`: one sitting on one job, live or on a recording."""

from __future__ import annotations

import contextlib
import os
import sys
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Protocol

import platformdirs

from bayvoice.dialogue import session
from bayvoice.dialogue.engine.events import Began, Left, Trouble
from bayvoice.dialogue.engine.state import State
from bayvoice.ears.base import RATE, Samples
from bayvoice.ears.choose import choose, lexicon_of
from bayvoice.ears.front import FrontEnd
from bayvoice.ears.listener import Listener, Utterance
from bayvoice.ears.person import adaptation_of
from bayvoice.ears.phones import Phones
from bayvoice.ears.soundwatch import SoundMended, SoundTrouble
from bayvoice.ears.tape import Tape
from bayvoice.errors import BayError, sentence
from bayvoice.host.clock import LiveClock, TapeClock
from bayvoice.job.people import Person, settled
from bayvoice.language.grammar import Grammars
from bayvoice.record.sqlite import roster
from bayvoice.record.sqlite.outfile import must_not_harm
from bayvoice.record.sqlite.store import Store
from bayvoice.runtime.hub import Handle, Hub, Watch
from bayvoice.runtime.live import Level, LiveEars
from bayvoice.runtime.noting import Noting
from bayvoice.runtime.typed import read_lines
from bayvoice.runtime.wiring import (
    LANGUAGE,
    Opened,
    Options,
    addressed_grammars,
    heard_event,
    open_job,
    prepare,
    sound_event,
    typed_event,
    who,
    wording,
)
from bayvoice.screen.lines import Lines
from bayvoice.voice.player import Note, NullPlayer, Player, TapePlayer
from bayvoice.voice.render import SpokenVoice

QUIET_END_S = 30.0
"""How long a sitting on a recording goes on after its end, at most, so that what is being said is said."""


@dataclass(frozen=True, slots=True)
class Look:
    """How the screen looks. `theme`: "dark", "light" or "clear"; `blink`: alerts may blink."""

    theme: str = "dark"
    blink: bool = False


class Recording(Protocol):
    """Sound in place of a microphone: 16 kHz mono float32 blocks."""

    def __iter__(self) -> Iterator[Samples]: ...


@dataclass
class Sitting:
    """Everything a sitting holds; made by `open_sitting`, run by `run_tape` or `run_live`."""

    hub: Hub
    grammars: Grammars
    listener: Listener | None
    store: Store
    voice: SpokenVoice | None
    opened: Opened | None
    options: Options
    notices: tuple[str, ...]
    tape: Recording | None = None
    ears: LiveEars | None = None

    def listen(self, state: str) -> None:
        """Make a dialogue state's grammar the active one, from the next utterance on."""
        grammar = self.grammars.state(state)
        if self.ears is not None:
            self.ears.use(grammar)
        elif self.listener is not None:
            self.listener.use(grammar)

    def begin(self) -> None:
        """The first event."""
        changed = self.opened.changed if self.opened else ""
        now, boot = self.hub.clock.now(), self.hub.clock.boot
        self.hub.take(Began(now, who(self.options.by), boot, changed, self.options.ambient))

    def type(self, text: str) -> None:
        """Typed words, from any thread."""
        self.hub.put(lambda: typed_event(self.hub, self.grammars, text))

    def key(self, text: str) -> None:
        """What a key or a click stands for, from any thread."""
        self.hub.put(lambda: typed_event(self.hub, self.grammars, text, key=True))

    def leave(self, why: str) -> None:
        """End the sitting, from any thread."""
        self.hub.put(lambda: Left(self.hub.clock.now(), why))

    def close(self) -> None:
        """Give everything back."""
        self.hub.close()
        if self.voice is not None:
            self.voice.close()
        if self.listener is not None:
            self.listener.close()
        self.store.close()


def open_sitting(options: Options, watch: Watch, recording: Recording | None = None) -> Sitting:
    """Open the record, the job and every edge the options name. BayError where the sitting can't take place.

    `recording`: sound to work on instead of the one `options.mic` names; it may be made while it is listened to.
    """
    # The recording first: a job must not begin for a microphone that is not there.
    on_tape = options.mic not in ("live", "off") and options.ears != "typed"
    tape = recording or (Tape(options.mic) if on_tape else None)
    store = Store(options.store)
    try:
        return _wire(options, watch, store, open_job(store, options), tape)
    except BaseException:
        store.close()
        raise


def _wire(options: Options, watch: Watch, store: Store, opened: Opened, tape: Recording | None) -> Sitting:
    taken: list[str] = []
    people = roster.take_up(store, taken.append)
    options = replace(
        options, people=roster.with_names(people, options.people), by=_name_of(options, opened, people.roll)
    )
    opened = replace(opened, notices=(*opened.notices, *taken))
    grammars = addressed_grammars(opened.procedure, options.people, options.address, lexicon_of(LANGUAGE))
    mic = options.ears != "typed" and options.mic != "off"
    state = State(
        job=opened.job, wording=wording(), people=options.people, roll=people.roll, mic=mic, trust=options.trust
    )
    sitting = wire(options, watch, store, opened, tape, grammars, state, session.handle)
    sitting.hub.door = roster.Door(store, opened.name)
    if sitting.listener is not None:
        sitting.hub.notes = Noting(store.path, sitting.hub.put, sitting.hub.clock.now)
    return sitting


def _name_of(options: Options, opened: Opened, roll: tuple[Person, ...]) -> str:
    """The technician's name as it is written already, so that nobody works as two. BayError where that is not clear."""
    name, close = settled(roll, opened.job.hands, who(options.by))
    if close:
        raise BayError(
            f"this name is too like {close}, who is known here", f"--by {name}", f"give {close}, or both names in full"
        )
    return name


def wire(
    options: Options,
    watch: Watch,
    store: Store,
    opened: Opened | None,
    tape: Recording | None,
    grammars: Grammars,
    state: Any,
    handle: Handle,
) -> Sitting:
    """Join the edges that `options` name to a core, `handle`, that begins with `state`.

    `opened`: the job, None where there is none yet.
    """
    last = opened.last if opened else 0.0
    clock: LiveClock | TapeClock = TapeClock(_wall_of(tape, last)) if tape else LiveClock()
    lexicon = lexicon_of(LANGUAGE)
    notices = list(opened.notices) if opened else []
    try:
        store.bay_key()
    except BayError as error:
        notices.append(f"{error} What is recorded is kept, and not signed.")
    listener: Listener | None = None
    if options.ears != "typed" and options.mic != "off":
        adapted, untaught = adaptation_of(options.by)
        recogniser, said = choose(options.ears, grammars.state("any").words, lexicon=lexicon, adapted=adapted)
        notices.extend((*untaught, *said))
        prepare(recogniser, grammars)
        listener = Listener(recogniser, FrontEnd(), grammars.state("any"))
        listener.watch.recording = tape is not None
        listener.spotter = recogniser.spotter() if isinstance(recogniser, Phones) else None
    log = platformdirs.user_log_path("bayvoice") / "voice.log"
    voice = None if options.speaker == "off" and tape is None else SpokenVoice(log=_writable(log))

    def player_for(tell: Callable[[Note], None]) -> Player:
        return _player(options, clock, tell, notices)

    made: list[Sitting] = []
    hub = Hub(
        state, clock, store, voice, player_for, lambda name: made[0].listen(name), watch, live=tape is None,
        handle=handle,
    )  # fmt: skip
    made.append(Sitting(hub, grammars, listener, store, voice, opened, options, tuple(notices), tape))
    return made[0]


def _wall_of(tape: Recording, last: float) -> float:
    """When a recording began: it ended when its file was last written. Never before the job's last fact."""
    began = tape.path.stat().st_mtime - tape.duration_s if isinstance(tape, Tape) else time.time()
    return max(last, began)


def _player(options: Options, clock: LiveClock | TapeClock, tell: Callable[[Note], None], notices: list[str]) -> Player:
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


def _writable(path: Path) -> Path | None:
    """`path` if something can be written there, else None: a missing log must not stop a job."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("ab"):
            return path
    except OSError:
        return None


def _native_log() -> Path | None:
    return _writable(platformdirs.user_log_path("bayvoice") / "native.log")


def run_tape(sitting: Sitting) -> None:
    """Work through the recording on its own clock, then end the sitting."""
    hub, listener, clock = sitting.hub, sitting.listener, sitting.hub.clock
    assert isinstance(clock, TapeClock)
    assert listener is not None
    assert sitting.tape is not None
    sitting.begin()
    at = 0.0
    for block in sitting.tape:
        at += len(block) / RATE
        clock.move(at)
        hub.advance(at)
        listener.own_voice(hub.saying)
        for found in listener.feed(block, at - len(block) / RATE):
            _found(sitting, found)
        if hub.notes is not None:
            hub.notes.feed(block, listener.front.speaking)
        if hub.finished:
            return
    for found in listener.end():
        _found(sitting, found)
    if hub.notes is not None:
        hub.notes.flush()
        hub.drain()
    end = at + QUIET_END_S
    while at < end and (hub.player.sounding or hub.state.talk.queued):
        at += 0.02
        clock.move(at)
        hub.advance(at)
    hub.take(Left(clock.now(), "the recording has ended"))


def _found(sitting: Sitting, found: object) -> None:
    if isinstance(found, Utterance):
        sitting.hub.take(heard_event(sitting.hub, found))
    elif isinstance(found, SoundTrouble | SoundMended):
        sitting.hub.take(sound_event(sitting.hub, found))


def run_live(sitting: Sitting, level: Level | None = None, deaf_is_fatal: bool = False) -> None:
    """Work until the technician leaves. BayError without a microphone if nothing but it could be heard."""
    trouble: BayError | None = None
    if sitting.listener is not None:
        try:
            sitting.ears = LiveEars(sitting.hub, sitting.listener, level, _native_log())
        except BayError as error:
            if deaf_is_fatal:
                raise
            trouble = error
    sitting.begin()
    if trouble is not None:
        sitting.hub.take(
            Trouble(sitting.hub.clock.now(), "microphone", sentence(trouble.what), "The job can be worked with keys")
        )
    if sitting.ears is not None:
        sitting.ears.start()
    try:
        sitting.hub.run_live()
    finally:
        if sitting.ears is not None:
            sitting.ears.stop()


def need_terminal(option: str, without: str) -> None:
    """BayError where there is nothing to draw on."""
    # TEXTUAL_DRIVER names another place to draw, such as a browser
    if not sys.stdout.isatty() and not os.environ.get("TEXTUAL_DRIVER"):
        raise BayError("there is no terminal to draw on", option, f"run it in a terminal, or with {without}")


def work(options: Options, screen: Look | None, as_json: bool) -> int:
    """`bayvoice work`; the exit status. `screen`: None for one line an event. Without a procedure, one is chosen."""
    if screen:
        need_terminal("--screen on", "--screen off")
    lines = Lines(as_json)
    current: list[Sitting] = []

    def typing(sitting: Sitting) -> None:
        # One reader for choosing and the job: two would take each other's lines.
        current.append(sitting)
        if len(current) == 1 and (options.ears == "typed" or options.mic == "off" or sys.stdin.isatty()):
            read_lines(lambda text: current[-1].type(text), lambda: current[-1].leave("the typed words have ended"))

    recording: Recording | None = None
    if not options.procedure:
        from bayvoice.runtime.chooser import choose_job, recording_of

        recording = recording_of(options)
        chosen = choose_job(options, screen, recording, typing, lines.notice)
        if chosen is None:
            return 0
        options = chosen
    if screen:
        return _work_on_screen(options, screen, recording)
    return _work_by_lines(options, lines, recording, typing)


def _work_by_lines(
    options: Options, lines: Lines, recording: Recording | None, typing: Callable[[Sitting], None]
) -> int:
    sitting = open_sitting(options, lines.watch, recording)
    try:
        for notice in sitting.notices:
            lines.notice(notice)
        if isinstance(sitting.hub.clock, TapeClock):
            run_tape(sitting)
            return 0
        typing(sitting)
        with contextlib.suppress(KeyboardInterrupt):
            run_live(sitting, deaf_is_fatal=not sys.stdin.isatty())
            return 0
        sitting.hub.take(Left(sitting.hub.clock.now(), "interrupted"))
        return 130
    finally:
        sitting.close()


@contextlib.contextmanager
def terminal_kept_clean() -> Iterator[None]:
    """What native libraries print goes to a log; Textual draws on standard error, which keeps the terminal."""
    terminal = os.dup(2)
    log = os.open(
        _writable(platformdirs.user_log_path("bayvoice") / "native.log") or os.devnull, os.O_WRONLY | os.O_APPEND
    )
    kept = sys.__stderr__
    try:
        sys.__stderr__ = os.fdopen(terminal, "w", encoding="utf-8", errors="replace", closefd=False)  # type: ignore[misc]
        os.dup2(log, 2)
        yield
    finally:
        os.dup2(terminal, 2)
        sys.__stderr__ = kept  # type: ignore[misc]
        os.close(terminal)
        os.close(log)


def _work_on_screen(options: Options, look: Look, recording: Recording | None = None) -> int:
    from bayvoice.screen.app import BayScreen

    shown: list[BayScreen] = []
    failed: list[BaseException] = []
    sitting = open_sitting(options, lambda _event, _effects, state: shown[0].show(state), recording)

    def run() -> None:
        try:
            if isinstance(sitting.hub.clock, TapeClock):
                run_tape(sitting)
            else:
                for notice in sitting.notices:
                    now = sitting.hub.clock.now()
                    sitting.hub.put(Trouble(now, "start", notice.rstrip("."), "See bayvoice soundcheck"))
                run_live(sitting, shown[0].show_level)
        except BaseException as error:
            failed.append(error)
        finally:
            shown[0].close()

    thread = threading.Thread(target=run, name="hub")
    app = BayScreen(
        sitting.type, lambda: sitting.leave("left by key"), lambda _: thread.start(), clock=sitting.hub.clock.mono,
        sayable=lambda mode: sitting.grammars.state(mode).sayable(), theme=look.theme, blink=look.blink,
        on_key=sitting.key,
    )  # fmt: skip
    shown.append(app)
    try:
        with terminal_kept_clean():
            app.run()
        if thread.ident is not None:
            sitting.leave("the screen was closed")
            thread.join(5.0)
    finally:
        sitting.close()
    for error in failed:
        raise error
    return 0
