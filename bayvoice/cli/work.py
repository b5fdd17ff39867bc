"""`bayvoice work`: begin a job or take it up again."""

from __future__ import annotations

import argparse
from typing import Any

from bayvoice.cli.common import EARS, add_address, add_json, add_store, address_of, need_terminal


def add(commands: Any) -> None:
    """Its arguments."""
    parser = commands.add_parser("work", help="begin a job or take it up again")
    parser.add_argument(
        "procedure",
        metavar="PROCEDURE",
        nargs="?",
        default="",
        help="a procedure file, or the name of one that ships (default: choose by voice, from the open jobs too)",
    )
    parser.add_argument(
        "--mic", default="live", metavar="live|off|FILE.wav", help="microphone; a file is worked on its own clock"
    )
    parser.add_argument("--speaker", default="live", metavar="live|off|FILE.wav", help="loudspeaker; a file is written")
    parser.add_argument("--screen", choices=("on", "off"), default="on", help="off: one line for each event")
    parser.add_argument("--theme", choices=("dark", "light", "clear"), default="dark", help="clear: for any eye")
    parser.add_argument("--blink", action="store_true", help="alerts blink, for a place too loud to hear them")
    parser.add_argument(
        "--job", default="", metavar="NAME", help="name of the job (default: the open one, or a new one)"
    )
    parser.add_argument("--by", default="", metavar="NAME", help="the technician")
    parser.add_argument(
        "--people",
        default="",
        metavar="A,B,C",
        help="names that may be said (or BAYVOICE_PEOPLE); where bayvoice people keeps any, only those sign",
    )
    parser.add_argument(
        "--trust", action="store_true", help="log plain values without asking for a yes; marked so in the record"
    )
    parser.add_argument(
        "--ears",
        choices=(*EARS, "typed"),
        default="auto",
        help="who listens (default: the first that is usable); typed: words from standard input",
    )
    parser.add_argument("--ambient", default="", metavar="TEMPERATURE", help='of the bay, for waits, like "23 degC"')
    parser.add_argument("--humidity", default="", metavar="PERCENT", help='of the bay, for waits, like "50 %%"')
    add_address(parser)
    add_store(parser)
    add_json(parser)
    parser.set_defaults(command=run)


def run(args: argparse.Namespace) -> int:
    """Work until the sitting ends."""
    from bayvoice.runtime.options import Look, Options, people_of_bay, surroundings
    from bayvoice.runtime.work import work

    options = Options(
        procedure=args.procedure,
        mic=args.mic,
        speaker=args.speaker,
        store=args.store,
        job=args.job,
        by=args.by,
        people=people_of_bay(args.people),
        ears=args.ears,
        address=address_of(args),
        ambient=surroundings(args.ambient, args.humidity),
        trust=args.trust,
    )
    if args.screen == "on":
        need_terminal("--screen on", "run it in a terminal, or with --screen off")
    return work(options, screen=Look(args.theme, args.blink) if args.screen == "on" else None, as_json=args.json)
