"""`bayvoice work` without a procedure: the jobs and procedures are read, and one is chosen by its number."""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

from bayvoice.dialogue.engine.effects import Effect, Say
from bayvoice.dialogue.flow import choosing
from bayvoice.dialogue.flow.choosing import Choice, Choosing
from bayvoice.dialogue.steps import KINDS
from bayvoice.ears.base import Samples
from bayvoice.ears.tape import Tape
from bayvoice.errors import BayError
from bayvoice.host.clock import TapeClock
from bayvoice.host.datafiles import procedure_names, read_grammars, read_procedure
from bayvoice.job.job import Job, fold_all
from bayvoice.language.grammar import Grammars
from bayvoice.procedure.load import load_kept
from bayvoice.procedure.mistakes import BadProcedure
from bayvoice.record.sqlite.store import Store
from bayvoice.runtime.sitting import Look, Recording, Sitting, run_live, run_tape, terminal_kept_clean, wire
from bayvoice.runtime.wiring import LANGUAGE, Options, wording

FOLDER = "BAYVOICE_PROCEDURES"
"""Environment variable that names a folder of procedures of one's own."""


class Onward:
    """A recording that goes on where it was left, so that choosing and the job share one."""

    def __init__(self, recording: Recording) -> None:
        self._blocks = iter(recording)

    def __iter__(self) -> Iterator[Samples]:
        return self._blocks


def choices(store: Store) -> tuple[Choice, ...]:
    """Open jobs, then the procedures of `BAYVOICE_PROCEDURES` and those that ship; what cannot be read is left out."""
    found: list[Choice] = []
    for name, body in store.open_jobs():
        try:
            facts = store.facts(name)
            job = fold_all(Job(name, load_kept(body["text"], str(body["procedure"])), KINDS), facts)
        except (BayError, KeyError):
            continue
        place = f"step {max(1, job.step + 1)} of {len(job.procedure.steps)}"
        title = f"{job.procedure.title}, {job.procedure.machine}"
        found.append(Choice(job.procedure.id, title, name, place, job.by))
    for source in (*_own(), *procedure_names()):
        try:
            procedure = read_procedure(source)
        except BadProcedure:
            continue
        found.append(Choice(source, f"{procedure.title}, {procedure.machine}"))
    return tuple(found)


def _own() -> list[str]:
    folder = os.environ.get(FOLDER, "")
    if folder and not Path(folder).is_dir():
        raise BayError("there is no such folder", f"{FOLDER}={folder}", "name a folder of procedure files")
    return sorted(str(path) for path in Path(folder).glob("*.toml")) if folder else []


def open_choosing(
    options: Options,
    watch: Callable[[tuple[Effect, ...], Choosing], None],
    recording: Recording | None,
    offered: tuple[Choice, ...],
) -> Sitting:
    """A sitting whose core chooses a job instead of working one. The caller closes it."""
    store = Store(options.store)
    try:
        return wire(
            options,
            lambda _event, effects, state: watch(effects, state),  # type: ignore[arg-type]
            store,
            None,
            recording,
            Grammars(read_grammars(LANGUAGE), states="choosing"),
            Choosing(offered, wording()),
            choosing.handle,
        )
    except BaseException:
        store.close()
        raise


def choose_job(
    options: Options,
    look: Look | None,
    recording: Recording | None,
    typing: Callable[[Sitting], None],
    said: Callable[[str], None],
) -> Options | None:
    """Let a job be chosen; `options` with the job that was, None where nobody chose.

    Args:
        options: as for the job.
        look: how the screen looks, None for lines.
        recording: sound to work on instead of the microphone; the job goes on in it.
        typing: lets typed lines reach the sitting, where there is no screen.
        said: given each sentence that is said, where there is no screen.
    """
    with Store(options.store) as store:
        offered = choices(store)
    state = (
        _on_screen(options, look, recording, offered) if look else _by_lines(options, recording, offered, typing, said)
    )
    taken = state.taken
    if taken is None:
        return None
    return replace(options, procedure=taken.procedure, job=taken.job)


def _by_lines(
    options: Options,
    recording: Recording | None,
    offered: tuple[Choice, ...],
    typing: Callable[[Sitting], None],
    said: Callable[[str], None],
) -> Choosing:
    def watch(effects: tuple[Effect, ...], _: Choosing) -> None:
        for effect in effects:
            if isinstance(effect, Say):
                said(effect.text)

    sitting = open_choosing(options, watch, recording, offered)
    try:
        typing(sitting)
        _run(sitting)
        return _state(sitting)
    finally:
        sitting.close()


def _run(sitting: Sitting, level: Callable[[float | None, str], None] | None = None) -> None:
    if isinstance(sitting.hub.clock, TapeClock):
        run_tape(sitting)
    else:
        run_live(sitting, level)


def _on_screen(options: Options, look: Look, recording: Recording | None, offered: tuple[Choice, ...]) -> Choosing:
    from bayvoice.screen.chooser import ChooserScreen

    shown: list[ChooserScreen] = []
    failed: list[BaseException] = []
    sitting = open_choosing(options, lambda _, state: shown[0].show(state), recording, offered)

    def run() -> None:
        try:
            _run(sitting, shown[0].show_level)
        except BaseException as error:
            failed.append(error)
        finally:
            shown[0].close()

    thread = threading.Thread(target=run, name="choosing")
    shown.append(
        ChooserScreen(sitting.type, lambda: sitting.leave("left by key"), lambda _: thread.start(), theme=look.theme)
    )
    try:
        with terminal_kept_clean():
            shown[0].run()
        if thread.ident is not None:
            sitting.leave("the screen was closed")
            thread.join(5.0)
    finally:
        sitting.close()
    for error in failed:
        raise error
    return _state(sitting)


def _state(sitting: Sitting) -> Choosing:
    state: object = sitting.hub.state
    assert isinstance(state, Choosing)
    return state


def recording_of(options: Options) -> Recording | None:
    """The recording that `options` name as microphone, to be shared by choosing and the job."""
    on_tape = options.mic not in ("live", "off") and options.ears != "typed"
    return Onward(Tape(options.mic)) if on_tape else None
