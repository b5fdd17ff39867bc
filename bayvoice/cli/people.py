"""`bayvoice people`: who works and signs in this bay, and who does so with a code."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bayvoice.cli.common import add_json, add_store, code_from_terminal, print_json, tell

if TYPE_CHECKING:
    from bayvoice.record.sqlite.roster import Roster
    from bayvoice.record.sqlite.store import Store


def add(commands: Any) -> None:
    """Its arguments."""
    parser = commands.add_parser("people", help="who works and signs in this bay; codes for signing")
    what = parser.add_mutually_exclusive_group()
    what.add_argument("--add", metavar="NAME", help="add a person, or change role, badge or code")
    what.add_argument("--remove", metavar="NAME", help="remove a person")
    parser.add_argument("--role", default="", metavar="ROLE", help='with --add: as in a hold\'s who, say "foreman"')
    parser.add_argument("--badge", default="", metavar="NUMBER", help="with --add: a badge number")
    parser.add_argument("--code", action="store_true", help="with --add: ask for a code, four to twelve figures")
    parser.add_argument(
        "--by", default="", metavar="NAME", help="whose code allows it, where several may (a foreman, or the old code)"
    )
    add_store(parser)
    add_json(parser)
    parser.set_defaults(command=run)


def run(args: argparse.Namespace) -> int:
    """Change somebody, then list everybody."""
    from bayvoice.record.sqlite import roster
    from bayvoice.record.sqlite.store import Store, default_path

    if args.add is None and args.remove is None:
        path = args.store or default_path()
        return _listed(_looked_at(path) if path.exists() else roster.read_file()[0], args.json)
    with Store(args.store) as store:
        _change(store, args)
        return _listed(roster.read(store), args.json)


def _looked_at(path: Path) -> Roster:
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
    rows = [{"name": one.name, "role": one.role, "badge": one.badge, "code": bool(one.code)} for one in roster.entries]
    if as_json:
        print_json({"people": rows})
        return 0
    for row in rows:
        more = [str(row[key]) for key in ("role", "badge") if row[key]] + (["signs with a code"] if row["code"] else [])
        print(", ".join([str(row["name"]), *more]))
    if not rows:
        print("Nobody yet: bayvoice people --add NAME --role foreman --code")
    return 0


def _change(store: Store, args: argparse.Namespace) -> None:
    from bayvoice.record.sqlite import roster
    from bayvoice.record.sqlite.allowing import keeper_of, prove

    known = roster.take_up(store, tell)
    name = (args.add if args.add is not None else args.remove).strip()
    new = None if args.add is None else roster.Entry(name, args.role.strip(), args.badge.strip())
    wanted = roster.change(known, name, new)
    if args.code and new is not None:
        # Who may allow it depends on what is changed; that it is a new code is known before the code is.
        wanted = roster.change(known, name, roster.Entry(name, new.role, new.badge, "new"))
    keeper = keeper_of(wanted, args.by.strip())
    if keeper is not None:
        prove(store, keeper.name, code_from_terminal(f"Code of {keeper.name}: "))
    if args.code and new is not None:
        code = code_from_terminal("New code, four to twelve figures: ", twice=True)
        wanted = roster.change(known, name, roster.Entry(name, new.role, new.badge, roster.hashed(code)))
    roster.carry_out(store, wanted, keeper.name if keeper is not None else "", roster.now())
