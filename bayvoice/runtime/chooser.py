"""`bayvoice work` without a procedure: the jobs and procedures are read, and one is chosen by its number."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from bayvoice.dialogue.engine.effects import Effect, Say
from bayvoice.dialogue.engine.events import Event
from bayvoice.dialogue.flow.choosing import Choice, Choosing
from bayvoice.dialogue.steps import KINDS
from bayvoice.errors import BayError
from bayvoice.host.datafiles import procedure_names, read_procedure
from bayvoice.job.job import Job, fold_all
from bayvoice.procedure.load import load_kept
from bayvoice.procedure.mistakes import BadProcedure
from bayvoice.record.sqlite.store import Store
from bayvoice.runtime.intake import Hands
from bayvoice.runtime.onscreen import choice_on_screen
from bayvoice.runtime.options import Look, Options
from bayvoice.runtime.tape import Recording
from bayvoice.runtime.wiring import Bench, lay_out_choice, wire

FOLDER = "BAYVOICE_PROCEDURES"
"""Environment variable that names a folder of procedures of one's own."""


def choices(store: Store) -> tuple[Choice, ...]:
    """Open jobs, then the procedures of `BAYVOICE_PROCEDURES` and those that ship; what cannot be read is left out."""
    found: list[Choice] = []
    for name, body in store.open_jobs():
        try:
            facts = store.facts(name)
            job = fold_all(Job(name, load_kept(body["text"], str(body["procedure"]), KINDS), KINDS), facts)
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


def choose_job(
    options: Options,
    look: Look | None,
    recording: Recording | None,
    typing: Callable[[Hands], None],
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
    bench = lay_out_choice(options, offered, recording)
    state = choice_on_screen(bench, look).run() if look else _by_lines(bench, typing, said)
    taken = state.taken
    if taken is None:
        return None
    return replace(options, procedure=taken.procedure, job=taken.job)


def _by_lines(bench: Bench, typing: Callable[[Hands], None], said: Callable[[str], None]) -> Choosing:
    def watch(_: Event | None, effects: tuple[Effect, ...], __: Choosing) -> None:
        for effect in effects:
            if isinstance(effect, Say):
                said(effect.text)

    sitting = wire(bench, watch)
    try:
        typing(sitting.hands)
        sitting.run()
    finally:
        sitting.close()
    state: object = sitting.hub.state
    assert isinstance(state, Choosing)
    return state
