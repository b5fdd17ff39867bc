"""Who may allow a change to the people of the bay, and whether a code that was given is the right one."""

from __future__ import annotations

from bayvoice.errors import BayError
from bayvoice.job.people import same
from bayvoice.language.wording import duration
from bayvoice.record.sqlite import roster
from bayvoice.record.sqlite.roster import Change, Entry
from bayvoice.record.sqlite.store import Store


def keeper_of(wanted: Change, by: str) -> Entry | None:
    """Whose code allows the change, None where it takes none.

    Args:
        wanted: the change.
        by: whose code is offered, "" for whoever it must be.

    Raises:
        BayError: they may not allow it, or it is not clear who does.
    """
    if not wanted.keepers or wanted.new == wanted.old:
        return None
    if by:
        keeper = next((one for one in wanted.keepers if same(one.name, by)), None)
        if keeper is None:
            names = " or ".join(one.name for one in wanted.keepers)
            raise BayError(f"{by} cannot allow this", "--by", f"name {names}")
        return keeper
    if wanted.old is not None and wanted.old in wanted.keepers:
        return wanted.old
    if len(wanted.keepers) == 1:
        return wanted.keepers[0]
    names = ", ".join(one.name for one in wanted.keepers)
    raise BayError("several may allow this", "people", f"say whose code you give with --by: {names}")


def prove(store: Store, name: str, code: str, job: str = "") -> None:
    """BayError where `code` is not the one of `name`, or has to wait after a wrong one."""
    found = roster.tried(store, name, code, roster.now(), job)
    if found.verdict == "wait":
        raise BayError(
            "codes must wait after a wrong one", name, f"wait {duration(found.wait)}, then give the code again"
        )
    if found.verdict != "right":
        raise BayError("that code is wrong", name, f"wait {duration(found.wait)}, then give the right one")
