"""`bayvoice hear`: what would be understood of recordings."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

from bayvoice.cli.common import EARS, add_address, add_json, address_of, tell
from bayvoice.errors import BayError


def add(commands: Any) -> None:
    """Its arguments."""
    parser = commands.add_parser("hear", help="what would be understood of recordings")
    parser.add_argument("files", metavar="FILE.wav", nargs="+", help="one or more recordings")
    parser.add_argument(
        "--state", default="any", metavar="NAME", help="dialogue state (default: everything a running job could hear)"
    )
    parser.add_argument(
        "--procedure",
        default="",
        metavar="PROCEDURE",
        help="with the things and measurements of this procedure",
    )
    parser.add_argument("--people", default="", metavar="A,B,C", help="names that may be said (or BAYVOICE_PEOPLE)")
    parser.add_argument("--ears", choices=EARS, default="auto", help="who listens (default: the first that is usable)")
    parser.add_argument("--explain", action="store_true", help="also words with times, what competed, how sure, levels")
    add_address(parser)
    add_json(parser)
    parser.set_defaults(command=run)


def run(args: argparse.Namespace) -> int:
    """Print what is understood of each file; 2 if one of them cannot be read."""
    from bayvoice.ears.choose import choose, lexicon_of
    from bayvoice.ears.explain import as_line, explained, weighed
    from bayvoice.ears.front import FrontEnd
    from bayvoice.ears.listener import Listener, hear_file
    from bayvoice.host.datafiles import read_procedure
    from bayvoice.runtime.grammars import LANGUAGE, addressed_grammars
    from bayvoice.runtime.options import people_known

    lexicon = lexicon_of(LANGUAGE)
    job = read_procedure(args.procedure) if args.procedure else None
    grammar = addressed_grammars(job, people_known(args.people), address_of(args), lexicon).state(args.state)
    recogniser, notices = choose(args.ears, grammar.words, lexicon=lexicon)
    for notice in notices:
        tell(notice)
    listener = Listener(recogniser, FrontEnd(), grammar)
    status = 0
    for file in args.files:
        try:
            results = hear_file(Path(file), listener)
        except BayError as error:
            status = 2
            if args.json:
                print(json.dumps({"file": file, "error": {"what": error.what, "mend": error.mend}}), flush=True)
            tell(str(error))
            continue
        for found in results:
            line = as_line(file, recogniser.name, weighed(found, args.state))
            if args.json:
                print(json.dumps(line, ensure_ascii=False), flush=True)
                continue
            _print(line)
            if args.explain:
                print("".join(f"    {reason}\n" for reason in explained(found, args.state)), end="")
    listener.close()
    return status


def _print(line: dict[str, Any]) -> None:
    result = f"{line['intent']}" if line["intent"] else f"refused: {line['why']}"
    value = f" {line['value']} {line['unit'] or ''}".rstrip() if line["value"] else ""
    margin = "" if line["margin"] is None else f", margin {line['margin']:.1f}"
    times = f"{line['began_s']:.2f}-{line['ended_s']:.2f} s"
    print(f'{line["file"]} {times}: "{line["text"]}" {result}{value}{margin}')
