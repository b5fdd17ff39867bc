"""The table of README's chapter "Commands", made from the parsers: ``python -m tests.cli.commands_table`` prints it."""

from __future__ import annotations

import argparse
from collections.abc import Iterator

from bayvoice.cli.common import Parser
from bayvoice.cli.main import ENVIRONMENT, build

COMMON = frozenset({"--help", "--json"})
"""What every command takes, told once beneath the table."""


def parsers() -> dict[str, Parser]:
    """Name of each command -> its parser; those of the subjects of `reckon` are not among them."""
    actions = build()._actions
    return dict(next(action.choices for action in actions if isinstance(action, argparse._SubParsersAction)))


def options(parser: argparse.ArgumentParser) -> Iterator[argparse.Action]:
    """The options of a command that are its own."""
    for action in parser._actions:
        if action.option_strings and not COMMON & set(action.option_strings):
            yield action


def value(action: argparse.Action) -> str:
    """What an option or argument is given, as README writes it: ``on/off``, ``FILE.wav``, "" for a switch."""
    if action.nargs == 0:
        return ""
    shown = "/".join(action.choices) if action.choices else str(action.metavar or action.dest.upper())
    shown = shown.replace("|", "/")
    return f"[{shown}]" if action.nargs == "?" else shown


def row(name: str, parser: argparse.ArgumentParser) -> str:
    """One line of the table."""
    given = []
    for action in parser._actions:
        if not action.option_strings and not isinstance(action, argparse._SubParsersAction):
            shown = value(action)
            given.append({"+": f"{shown}…", "*": f"[{shown}…]"}.get(str(action.nargs), shown))
        elif isinstance(action, argparse._SubParsersAction):
            given.append(f"{action.metavar} …")
    taken = ", ".join(f"`{' '.join(filter(None, (one.option_strings[0], value(one))))}`" for one in options(parser))
    whole = " ".join(("bayvoice", name, *given))
    return f"| `{whole}` | {what(name)} | {taken} |"


def what(name: str) -> str:
    """The one line of help of a command."""
    actions = build()._actions
    commands = next(action for action in actions if isinstance(action, argparse._SubParsersAction))
    return str(next(one.help for one in commands._choices_actions if one.dest == name))


def table() -> str:
    """Both tables, of the commands and of the environment, and what holds for all."""
    rows = [row(name, parser.filled()) for name, parser in parsers().items()]
    lines = [
        "| command | what it does | options |",
        "|---|---|---|",
        *rows,
        "",
        "Every command but `browser` takes `--json`; `bayvoice COMMAND --help` says what each option does.",
        "Exit status: 0 done, 1 the thing examined is not in order, 2 wrong use or not possible.",
        "",
        "| environment variable | what it says |",
        "|---|---|",
        *(f"| `{name}` | {says} |" for name, says in ENVIRONMENT.items()),
    ]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    print(table(), end="")
