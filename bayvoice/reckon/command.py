"""`bayvoice reckon SUBJECT …`: wiring of the subjects.

A subject is a function from the parsed arguments to an `Answer`; its arguments are declared beside it. Everything
heavy is imported when a subject is asked, so that other commands do not pay for it.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable

from bayvoice.language.texts import tell
from bayvoice.reckon import engines, fluid, joints, readings
from bayvoice.reckon.answer import Answer, for_json
from bayvoice.reckon.subject import Subjects


def add_subjects(parser: argparse.ArgumentParser) -> None:
    """Add the subjects to the parser of the command."""
    subjects = Subjects(parser.add_subparsers(title=tell("reckon-subjects"), metavar="SUBJECT", required=True))
    for part in (joints, engines, fluid, readings):
        part.add(subjects)


def run(args: argparse.Namespace) -> int:
    """Answer; 0 done, 1 what was examined is not in order."""
    reckon: Callable[[argparse.Namespace], Answer] = args.reckon
    answer = reckon(args)
    if args.json:
        body = {"subject": args.subject, "in_order": answer.in_order, **for_json(answer.figures)}
        if answer.rounding:
            body["rounding"] = answer.rounding
        print(json.dumps({**body, "said": list(answer.lines)}, ensure_ascii=False, indent=2))
    else:
        print("\n".join(answer.lines))
        if answer.rounding:
            print(f"({answer.rounding})")
    return 0 if answer.in_order else 1
