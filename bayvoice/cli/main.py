"""The command line. Exit status: 0 done, 1 the thing examined is not in order, 2 wrong use or not possible."""

from __future__ import annotations

import argparse
import io
import json
import os
import sys
from collections.abc import Sequence
from typing import Any, Final, Protocol

from bayvoice import __version__
from bayvoice.cli import audit, browser, hear, jobs, people, reckon, report, soundcheck, vet, work
from bayvoice.cli.common import Parser
from bayvoice.errors import BayError


class Command(Protocol):
    """A module of this room."""

    def add(self, commands: Any) -> None:
        """Add its parser to the subparsers; that parser sets `command` to `run`."""
        ...

    def run(self, args: argparse.Namespace) -> int:
        """Do it; the exit status. BayError is told by `main`."""
        ...


COMMANDS: Final[tuple[Command, ...]] = (
    work,
    jobs,
    report,
    audit,
    people,
    vet,
    hear,
    soundcheck,
    browser,
    reckon,
)
"""In the order of the help."""

ENVIRONMENT: Final = {
    "BAYVOICE_ASCII": "1: the screen does without symbols",
    "BAYVOICE_BROWSER": "the browser that prints the page for report --pdf",
    "BAYVOICE_PEOPLE": "names that may be said, as for --people",
    "BAYVOICE_PROCEDURES": "a folder of procedures of your own, offered by work without PROCEDURE",
    "BAYVOICE_VOSK_MODEL": "folder of the model for --ears vosk",
}
"""Environment variable -> what it says."""


def build() -> Parser:
    """The parser of the whole command line."""
    width = max(len(name) for name in ENVIRONMENT)
    parser = Parser(
        prog="bayvoice",
        description="A hands-free assistant for a long mechanical job in a workshop bay.",
        epilog="environment:\n" + "\n".join(f"  {name:{width}}  {what}" for name, what in ENVIRONMENT.items()),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"bayvoice {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True, parser_class=Parser)
    for command in COMMANDS:
        command.add(commands)
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command; the exit status."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # A terminal without Unicode gets question marks, not a traceback.
            stream.reconfigure(errors="replace")
    args = build().parse_args(argv)
    try:
        status: int = args.command(args)
        return status
    except BayError as error:
        if getattr(args, "json", False):
            print(json.dumps({"error": {"what": error.what, "where": error.where, "mend": error.mend}}))
        print(f"bayvoice: {error}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        return 130
    except BrokenPipeError:
        # The reader of our output has gone ("| head"); nothing is left to tell it.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
