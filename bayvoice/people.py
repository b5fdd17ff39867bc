"""`bayvoice people`: who works and signs in this bay, and who does so with a code."""

from __future__ import annotations

import argparse
import getpass
import json
import sys
from collections.abc import Callable
from typing import Any

from bayvoice.errors import BayError


def add_command(commands: Any, common: Callable[..., None]) -> None:
    """Add the command to the command line's subparsers; `common` adds what every command takes."""
    people = commands.add_parser("people", help="who works and signs in this bay; codes for signing")
    what = people.add_mutually_exclusive_group()
    what.add_argument("--add", metavar="NAME", help="add a person, or change role, badge or code")
    what.add_argument("--remove", metavar="NAME", help="remove a person")
    people.add_argument("--role", default="", metavar="ROLE", help='with --add: as in a hold\'s who, say "foreman"')
    people.add_argument("--badge", default="", metavar="NUMBER", help="with --add: a badge number")
    people.add_argument("--code", action="store_true", help="with --add: ask for a code, four to twelve figures")
    common(people)
    people.set_defaults(command=run)


def run(args: argparse.Namespace) -> int:
    """The command; the exit status."""
    from bayvoice.edges import roster

    if args.add is not None:
        if not args.add.strip():
            raise BayError("a person needs a name", "--add", "give one")
        code = roster.hashed(_code()) if args.code else ""
        roster.add(roster.Entry(args.add.strip(), args.role.strip(), args.badge.strip(), code))
    elif args.remove is not None and not roster.remove(args.remove):
        raise BayError("there is nobody of that name", args.remove, "see bayvoice people")
    rows = [
        {"name": one.name, "role": one.role, "badge": one.badge, "code": bool(one.code)}
        for one in roster.read().entries
    ]
    if args.json:
        print(json.dumps({"people": rows}, ensure_ascii=False, indent=2))
        return 0
    for row in rows:
        more = [str(row[key]) for key in ("role", "badge") if row[key]] + (["signs with a code"] if row["code"] else [])
        print(", ".join([str(row["name"]), *more]))
    if not rows:
        print("Nobody yet: bayvoice people --add NAME --role foreman --code")
    return 0


def _code() -> str:
    """Asked for twice without an echo; from a pipe, its first line."""
    if not sys.stdin.isatty():
        return sys.stdin.readline().strip()
    code = getpass.getpass("Code, four to twelve figures: ")
    if getpass.getpass("Once more: ") != code:
        raise BayError("the two codes differ", "code", "try again")
    return code
