"""`bayvoice browser`: the screen of a command in a browser, for a tablet on the bench."""

from __future__ import annotations

import argparse
from typing import Any

from bayvoice.errors import BayError


def add(commands: Any) -> None:
    """Its arguments."""
    parser = commands.add_parser("browser", help="show the screen of a command in a browser, for a tablet on the bench")
    parser.add_argument(
        "--at", default="", metavar="HOST:PORT", help="where to serve (default: on this computer only, port 8321)"
    )
    parser.add_argument(
        "arguments", nargs=argparse.REMAINDER, metavar="COMMAND …", help="as in: browser work lift-chain --by Imre"
    )
    parser.set_defaults(command=run, parsers=commands.choices)


def run(args: argparse.Namespace) -> int:
    """Serve until Ctrl+C."""
    from bayvoice.screen.browser import address_of, serve

    # Read once here, so that a mistake is told in the terminal and not in the browser.
    name = args.arguments[0] if args.arguments else "browser"
    parser = args.parsers.get(name)
    wanted = parser.parse_args(args.arguments[1:]) if parser is not None else None
    if getattr(wanted, "screen", "off") in ("off", False):
        raise BayError(
            "this command has no screen", " ".join(args.arguments) or "browser", "serve work or jobs --screen"
        )
    return serve(args.arguments, *address_of(args.at))
