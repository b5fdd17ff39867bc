"""`bayvoice people`: who works and signs in this bay, and who does so with a code."""

from __future__ import annotations

import argparse
import getpass
import json
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from bayvoice.errors import BayError

if TYPE_CHECKING:
    from bayvoice.job.people import Person
    from bayvoice.record.sqlite.roster import Change, Roster
    from bayvoice.record.sqlite.store import Store


def add_command(commands: Any, common: Callable[..., None]) -> None:
    """Add the command to the command line's subparsers; `common` adds what every command takes."""
    people = commands.add_parser("people", help="who works and signs in this bay; codes for signing")
    what = people.add_mutually_exclusive_group()
    what.add_argument("--add", metavar="NAME", help="add a person, or change role, badge or code")
    what.add_argument("--remove", metavar="NAME", help="remove a person")
    people.add_argument("--role", default="", metavar="ROLE", help='with --add: as in a hold\'s who, say "foreman"')
    people.add_argument("--badge", default="", metavar="NUMBER", help="with --add: a badge number")
    people.add_argument("--code", action="store_true", help="with --add: ask for a code, four to twelve figures")
    people.add_argument(
        "--by", default="", metavar="NAME", help="whose code allows it, where several may (a foreman, or the old code)"
    )
    common(people, store=True)
    people.set_defaults(command=run)


def run(args: argparse.Namespace) -> int:
    """The command; the exit status."""
    from bayvoice.record.sqlite.store import Store, default_path

    if args.add is None and args.remove is None:
        path = args.store or default_path()
        if not path.exists():
            from bayvoice.record.sqlite import roster

            return _listed(roster.read_file()[0], args.json)
        return _listed(_looked_at(path), args.json)
    with Store(args.store) as store:
        _change(store, args)
        from bayvoice.record.sqlite import roster

        return _listed(roster.read(store), args.json)


def _looked_at(path: Any) -> Roster:
    """The people of a record that is only looked at; of the file before, where the record has none yet."""
    from bayvoice.record.sqlite import roster
    from bayvoice.record.sqlite.store import Store

    with Store(path, read_only=True) as store:
        if roster.history(store):
            return roster.read(store)
    before, digest = roster.read_file()
    if digest:
        tell(f"Still in {roster.path()}; the record takes them up when it is next written to.")
    return before


def _listed(roster: Roster, as_json: bool) -> int:
    rows = [
        {"name": one.name, "role": one.role, "badge": one.badge, "code": bool(one.code)} for one in roster.entries
    ]  # fmt: skip
    if as_json:
        print(json.dumps({"people": rows}, ensure_ascii=False, indent=2))
        return 0
    for row in rows:
        more = [str(row[key]) for key in ("role", "badge") if row[key]] + (["signs with a code"] if row["code"] else [])
        print(", ".join([str(row["name"]), *more]))
    if not rows:
        print("Nobody yet: bayvoice people --add NAME --role foreman --code")
    return 0


def _change(store: Store, args: argparse.Namespace) -> None:
    from bayvoice.record.sqlite import roster

    known = roster.take_up(store, tell)
    name = (args.add if args.add is not None else args.remove).strip()
    new = None if args.add is None else roster.Entry(name, args.role.strip(), args.badge.strip())
    wanted = roster.change(known, name, new)
    if args.code and new is not None:
        # Who may allow it depends on what is changed; that it is a new code is known before the code is.
        wanted = roster.change(known, name, roster.Entry(name, new.role, new.badge, "new"))
    by = _allowed(store, known, wanted, args.by.strip())
    if args.code and new is not None:
        code = asked_for("New code, four to twelve figures: ", twice=True)
        wanted = roster.change(known, name, roster.Entry(name, new.role, new.badge, roster.hashed(code)))
    roster.carry_out(store, wanted, by, roster.now())


def _allowed(store: Store, known: Roster, wanted: Change, by: str) -> str:
    """Whose code allows the change, "" where it takes none. BayError where the code is not right."""
    from bayvoice.job.people import same

    if not wanted.keepers or wanted.new == wanted.old:
        return ""
    if by:
        keeper = next((one for one in wanted.keepers if same(one.name, by)), None)
        if keeper is None:
            names = " or ".join(one.name for one in wanted.keepers)
            raise BayError(f"{by} cannot allow this", "--by", f"name {names}")
    elif wanted.old in wanted.keepers or len(wanted.keepers) == 1:
        keeper = wanted.old if wanted.old in wanted.keepers and wanted.old is not None else wanted.keepers[0]
    else:
        names = ", ".join(one.name for one in wanted.keepers)
        raise BayError("several may allow this", "people", f"say whose code you give with --by: {names}")
    person = next(one for one in known.roll if one.name == keeper.name)
    prove(store, person, "")
    return keeper.name


def prove(store: Store, person: Person, job: str) -> None:
    """Ask for the code of `person` and compare it; BayError where it is not right, or has to wait.

    It comes from the terminal without an echo, or is the next line of a pipe; never from the command line itself,
    which other users of the computer can see.
    """
    from bayvoice.language.wording import duration
    from bayvoice.record.sqlite import roster

    found = roster.tried(store, person.name, asked_for(f"Code of {person.name}: "), roster.now(), job)
    if found.verdict == "wait":
        raise BayError(
            "codes must wait after a wrong one", person.name, f"wait {duration(found.wait)}, then give the code again"
        )
    if found.verdict != "right":
        raise BayError("that code is wrong", person.name, f"wait {duration(found.wait)}, then give the right one")


def asked_for(prompt: str, twice: bool = False) -> str:
    """A code: asked for without an echo, `twice` if it is a new one; from a pipe, its next line. BayError: none."""
    if not sys.stdin.isatty():
        code = sys.stdin.readline().strip()
    else:
        code = getpass.getpass(prompt)
        if twice and getpass.getpass("Once more: ") != code:
            raise BayError("the two codes differ", "code", "try again")
    if not code:
        raise BayError("no code was given", "code", "give it when asked, or as a line of standard input")
    return code


def tell(text: str) -> None:
    """A sentence beside what the command prints."""
    print(f"bayvoice: {text}", file=sys.stderr)
