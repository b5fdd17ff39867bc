"""Declaring a subject of `bayvoice reckon`."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import Any

from bayvoice.errors import sentence
from bayvoice.language.texts import tell
from bayvoice.reckon.answer import Answer


class Subjects:
    """The subparsers of `reckon`; each subject gets --json, an example and its function."""

    def __init__(self, commands: Any) -> None:
        self._commands = commands

    def add(
        self,
        name: str,
        what: str,
        example: str,
        reckon: Callable[[argparse.Namespace], Answer],
        more: str = "",
    ) -> argparse.ArgumentParser:
        """A subject: its name, one line of help, an example without "bayvoice reckon NAME", its function."""
        parser: argparse.ArgumentParser = self._commands.add_parser(
            name,
            help=what,
            description=f"{sentence(what)}. {more}".strip(),
            epilog=f"{tell('reckon-example')}\n  bayvoice reckon {name} {example}",
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        parser.add_argument("--json", action="store_true", help=tell("reckon-for-programs-json-on-standard"))
        parser.set_defaults(reckon=reckon, subject=name)
        return parser
