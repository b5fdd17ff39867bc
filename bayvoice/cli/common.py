"""What the commands share: the parser that speaks in sentences, options several of them take, and how they print."""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bayvoice.errors import BayError

if TYPE_CHECKING:
    from bayvoice.language.address import Address
    from bayvoice.record.sqlite.store import Store

EARS = ("auto", "vosk", "phones", "pocketsphinx")
"""Recognisers that can be asked for."""


class Parser(argparse.ArgumentParser):
    """Wrong use in one sentence with where to read more.

    Args:
        fill: adds to the parser what is only needed when it is asked: two dozen subjects would slow every start.
        options: as of `argparse.ArgumentParser`.
    """

    def __init__(self, *, fill: Callable[[Parser], None] | None = None, **options: Any) -> None:
        super().__init__(**options)
        self._fill = fill

    def filled(self) -> Parser:
        """The parser with everything it can hold."""
        fill, self._fill = self._fill, None
        if fill:
            fill(self)
        return self

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """As `argparse` has it, of the filled parser."""
        self.filled()
        return super().parse_known_args(args, namespace)

    def error(self, message: str) -> Any:
        """Leave with the sentence."""
        self.exit(2, f"bayvoice: {message}; see '{self.prog} --help'.\n")


def add_json(parser: argparse.ArgumentParser) -> None:
    """The option that every command takes."""
    parser.add_argument("--json", action="store_true", help="for programs: JSON on standard output")


def add_store(parser: argparse.ArgumentParser) -> None:
    """The option of every command on the record."""
    parser.add_argument("--store", type=Path, metavar="PATH", help="the bay's record (default: in the data directory)")


def add_address(parser: argparse.ArgumentParser) -> None:
    """The word that must be said first, and when."""
    parser.add_argument(
        "--address",
        choices=("always", "guarded", "never"),
        default="never",
        help="say the address word before everything; before what advances, logs or overrides; before nothing",
    )
    parser.add_argument("--address-word", default="bay", metavar="WORD", help="the address word (default: bay)")


def address_of(args: argparse.Namespace) -> Address:
    """The address word and when it is wanted. BayError where it is not one word."""
    from bayvoice.language.address import Address, AddressMode

    return Address(AddressMode(args.address), args.address_word.strip().lower())


def must_have(store: Store, job: str) -> None:
    """BayError where there is no such job, with those there are."""
    if not store.has(job):
        names = ", ".join(store.job_names()[-20:]) or "none"
        raise BayError("there is no such job", job, f"the jobs of this record are: {names}")


def print_json(value: Any) -> None:
    """An object, for programs."""
    print(json.dumps(value, ensure_ascii=False, indent=2))


def put(path: Path | None, text: str, store: Path | None = None) -> int:
    """Write `text` into the file, or to standard output as it is, line ends too; the exit status."""
    if path is not None:
        write(path, text.encode(), store)
        print(path)
        return 0
    sys.stdout.flush()
    if hasattr(sys.stdout, "buffer"):
        sys.stdout.buffer.write(text.encode())
        sys.stdout.buffer.flush()
    else:
        sys.stdout.write(text)
    return 0


def write(path: Path, data: bytes, store: Path | None, option: str = "--out") -> None:
    """Write a whole file, never over what belongs to a record. BayError where it cannot be."""
    from bayvoice.record.sqlite.outfile import write_whole

    write_whole(path, data, store, option)


def tell(text: str) -> None:
    """A sentence beside what the command prints."""
    print(f"bayvoice: {text}", file=sys.stderr)


def code_from_terminal(prompt: str, twice: bool = False) -> str:
    """A code: asked for without an echo, `twice` if it is a new one; from a pipe, its next line.

    Never from the command line itself, which other users of the computer can see. BayError where none is given.
    """
    if not sys.stdin.isatty():
        code = sys.stdin.readline().strip()
    else:
        import getpass

        code = getpass.getpass(prompt)
        if twice and getpass.getpass("Once more: ") != code:
            raise BayError("the two codes differ", "code", "try again")
    if not code:
        raise BayError("no code was given", "code", "give it when asked, or as a line of standard input")
    return code


def need_terminal(option: str, mend: str) -> None:
    """BayError where there is nothing to draw a screen on."""
    # TEXTUAL_DRIVER names another place to draw, such as a browser
    if not sys.stdout.isatty() and not os.environ.get("TEXTUAL_DRIVER"):
        raise BayError("there is no terminal to draw on", option, mend)
