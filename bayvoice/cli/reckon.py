"""`bayvoice reckon SUBJECT …`: arithmetic of the trade."""

from __future__ import annotations

import argparse
from typing import Any

from bayvoice.cli.common import Parser


def add(commands: Any) -> None:
    """Its arguments; those of the subjects only when it is asked."""
    parser = commands.add_parser(
        "reckon",
        fill=_subjects,
        help="arithmetic of the trade: torque, bolts, shims, cure times …",
        description="Arithmetic of the trade. The maker's figures go before anything worked out here.",
    )
    parser.set_defaults(command=run)


def _subjects(parser: Parser) -> None:
    from bayvoice.reckon.command import add_subjects

    add_subjects(parser)


def run(args: argparse.Namespace) -> int:
    """Answer."""
    from bayvoice.reckon.command import run as answer

    return answer(args)
