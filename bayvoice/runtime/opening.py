"""A job begun, or the open one taken up again."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from bayvoice.dialogue.steps import KINDS
from bayvoice.errors import BayError
from bayvoice.host.datafiles import read_procedure
from bayvoice.job.job import Job, fold_all
from bayvoice.procedure.load import load_kept
from bayvoice.procedure.mistakes import BadProcedure
from bayvoice.procedure.model import Procedure
from bayvoice.record.sqlite.store import Store
from bayvoice.runtime.options import Options, who


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
        return Opened(name, procedure, Job(name, procedure, KINDS), "", ())
    began = facts[0]
    # A procedure without an id of its own is called as its file was.
    own = load_kept(began.body["text"], str(began.body["procedure"]), KINDS)
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
    return Opened(name, own, fold_all(Job(name, own, KINDS), facts), changed, tuple(notices), facts[-1].wall)


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
