"""The command line. Exit status: 0 done, 1 the thing examined is not in order, 2 wrong use or not possible."""

from __future__ import annotations

import argparse
import io
import json
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bayvoice import __version__
from bayvoice.cli import people, records
from bayvoice.errors import BayError

if TYPE_CHECKING:
    from bayvoice.language.address import Address

Command = Callable[[argparse.Namespace], int]


class _Parser(argparse.ArgumentParser):
    """Wrong use in one sentence with where to read more."""

    fill: Callable[[argparse.ArgumentParser], None] | None = None
    """Adds what is only needed when this parser is asked: two dozen subjects would slow every start."""

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        fill, self.fill = self.fill, None
        if fill:
            fill(self)
        return super().parse_known_args(args, namespace)

    def error(self, message: str) -> Any:
        self.exit(2, f"bayvoice: {message}; see '{self.prog} --help'.\n")


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command; the exit status."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # A terminal without Unicode gets question marks, not a traceback.
            stream.reconfigure(errors="replace")
    args = _parser().parse_args(argv)
    command: Command = args.command
    try:
        return command(args)
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


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(prog="bayvoice", description="A hands-free assistant for a long mechanical job in a workshop bay.")
    parser.add_argument("--version", action="version", version=f"bayvoice {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True, parser_class=_Parser)

    work = commands.add_parser("work", help="begin a job or take it up again")
    work.add_argument(
        "procedure", metavar="PROCEDURE", nargs="?", default="",
        help="a procedure file, or the name of one that ships (default: choose by voice, from the open jobs too)",
    )  # fmt: skip
    work.add_argument(
        "--mic", default="live", metavar="live|off|FILE.wav", help="microphone; a file is worked on its own clock"
    )
    work.add_argument("--speaker", default="live", metavar="live|off|FILE.wav", help="loudspeaker; a file is written")
    work.add_argument("--screen", choices=("on", "off"), default="on", help="off: one line for each event")
    work.add_argument("--theme", choices=("dark", "light", "clear"), default="dark", help="clear: for any eye")
    work.add_argument("--blink", action="store_true", help="alerts blink, for a place too loud to hear them")
    work.add_argument("--job", default="", metavar="NAME", help="name of the job (default: the open one, or a new one)")
    work.add_argument("--by", default="", metavar="NAME", help="the technician")
    work.add_argument(
        "--people",
        default="",
        metavar="A,B,C",
        help="names that may be said (or BAYVOICE_PEOPLE); where bayvoice people keeps any, only those sign",
    )
    work.add_argument(
        "--trust", action="store_true", help="log plain values without asking for a yes; marked so in the record"
    )
    work.add_argument("--ears", choices=("auto", "vosk", "phones", "pocketsphinx", "typed"), default="auto")
    work.add_argument("--ambient", default="", metavar="TEMPERATURE", help='of the bay, for waits, like "23 degC"')
    work.add_argument("--humidity", default="", metavar="PERCENT", help='of the bay, for waits, like "50 %%"')
    _address(work)
    _common(work, store=True)
    work.set_defaults(command=_work)

    records.add_commands(commands, _common)
    people.add_command(commands, _common)

    browser = commands.add_parser(
        "browser", help="show the screen of a command in a browser, for a tablet on the bench"
    )
    browser.add_argument(
        "--at", default="", metavar="HOST:PORT", help="where to serve (default: on this computer only, port 8321)"
    )
    browser.add_argument(
        "arguments", nargs=argparse.REMAINDER, metavar="COMMAND …", help="as in: browser work lift-chain --by Imre"
    )
    browser.set_defaults(command=_browser)

    vet = commands.add_parser("vet", help="check procedure files")
    vet.add_argument("procedures", metavar="PROCEDURE", nargs="*", help="files, or names of procedures that ship")
    vet.add_argument("--new", metavar="NAME", help="begin a procedure of that name: a commented file to write over")
    _common(vet)
    vet.set_defaults(command=_vet)

    hear = commands.add_parser("hear", help="what would be understood of recordings")
    hear.add_argument("files", metavar="FILE.wav", nargs="+")
    hear.add_argument("--state", default="any", help="dialogue state (default: everything a running job could hear)")
    hear.add_argument("--procedure", default="", help="with the things, measurements of this procedure")
    hear.add_argument("--people", default="", metavar="A,B,C", help="names that may be said")
    hear.add_argument("--ears", choices=("auto", "vosk", "phones", "pocketsphinx"), default="auto")
    hear.add_argument("--explain", action="store_true", help="also words with times, what competed, how sure, levels")
    _address(hear)
    _common(hear)
    hear.set_defaults(command=_hear)

    check = commands.add_parser("soundcheck", help="what works in this bay: microphone, loudspeaker, ears, voice, disk")
    check.add_argument(
        "--mic",
        default="live",
        metavar="live|FILE.wav",
        help="a recording instead of the microphone: of the bay, or with --teach the takes in the order of the prompts",
    )
    check.add_argument("--prompts", action="store_true", help="with --teach: only print what is to be said")
    taught = check.add_mutually_exclusive_group()
    taught.add_argument(
        "--teach", metavar="NAME", help="two minutes of saying commands and digits, for ears that know this person"
    )
    taught.add_argument("--forget", metavar="NAME", help="remove what was learned of this person")
    _common(check, store=True)
    check.set_defaults(command=_soundcheck)

    reckon = commands.add_parser(
        "reckon",
        help="arithmetic of the trade: torque, bolts, shims, cure times …",
        description="Arithmetic of the trade. The maker's figures go before anything worked out here.",
    )
    reckon.fill = _reckon_subjects
    return parser


def _address(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--address",
        choices=("always", "guarded", "never"),
        default="never",
        help="say the address word before everything; before what advances, logs or overrides; before nothing",
    )
    parser.add_argument("--address-word", default="bay", metavar="WORD", help="the address word (default: bay)")


def _common(parser: argparse.ArgumentParser, store: bool = False) -> None:
    parser.add_argument("--json", action="store_true", help="for programs: JSON on standard output")
    if store:
        parser.add_argument(
            "--store", type=Path, metavar="PATH", help="the bay's record (default: in the data directory)"
        )


def _work(args: argparse.Namespace) -> int:
    from bayvoice.runtime.sitting import Look, work
    from bayvoice.runtime.wiring import Options, people_of_bay, surroundings

    options = Options(
        args.procedure, args.mic, args.speaker, args.store, args.job, args.by, people_of_bay(args.people), args.ears,
        address_of(args), surroundings(args.ambient, args.humidity), args.trust,
    )  # fmt: skip
    return work(options, screen=Look(args.theme, args.blink) if args.screen == "on" else None, as_json=args.json)


def address_of(args: argparse.Namespace) -> Address:
    """The address word and when it is wanted. BayError where it is not one word."""
    from bayvoice.language.address import Address, AddressMode

    return Address(AddressMode(args.address), args.address_word.strip().lower())


def _browser(args: argparse.Namespace) -> int:
    from bayvoice.screen.browser import address_of as place_of
    from bayvoice.screen.browser import serve

    # Read once here, so that a mistake is told in the terminal and not in the browser.
    wanted = _parser().parse_args(args.arguments)
    if getattr(wanted, "screen", "off") in ("off", False):
        raise BayError(
            "this command has no screen", " ".join(args.arguments) or "browser", "serve work or jobs --screen"
        )
    return serve(args.arguments, *place_of(args.at))


def _vet(args: argparse.Namespace) -> int:
    from bayvoice.cli.vet import new_file, vet_files

    if args.new:
        return new_file(args.new, args.json)
    if not args.procedures:
        raise BayError("no procedure is named", "vet", "give one or more files, or --new NAME to begin one")
    return vet_files(args.procedures, args.json)


def _hear(args: argparse.Namespace) -> int:
    from bayvoice.cli.hear import hear

    return hear(
        args.files, args.state, args.procedure, args.people, args.ears, address_of(args), args.json, args.explain
    )


def _soundcheck(args: argparse.Namespace) -> int:
    if args.teach is not None:
        from bayvoice.cli.teach import teach

        return teach(args.teach, args.mic, args.prompts, args.json)
    if args.forget is not None:
        from bayvoice.cli.teach import forget_person

        return forget_person(args.forget, args.json)
    from bayvoice.cli.soundcheck import soundcheck

    return soundcheck(args.store, args.json, args.mic)


def _reckon_subjects(parser: argparse.ArgumentParser) -> None:
    from bayvoice.reckon.command import add_subjects

    add_subjects(parser)
