"""`bayvoice vet`: procedure files looked through with what the ears know, and the file a new one begins with."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from bayvoice.cli.common import add_json, print_json
from bayvoice.errors import BayError

_KEYS = ("line", "step", "key", "what", "mend")
"""What is told of a mistake, for programs."""


def add(commands: Any) -> None:
    """Its arguments."""
    parser = commands.add_parser("vet", help="check procedure files")
    parser.add_argument("procedures", metavar="PROCEDURE", nargs="*", help="files, or names of procedures that ship")
    parser.add_argument("--new", metavar="NAME", help="begin a procedure of that name: a commented file to write over")
    add_json(parser)
    parser.set_defaults(command=run)


def run(args: argparse.Namespace) -> int:
    """Vet each file and print what was found; 1 where one is not in order."""
    if args.new:
        return _begin(args.new, args.json)
    if not args.procedures:
        raise BayError("no procedure is named", "vet", "give one or more files, or --new NAME to begin one")
    from bayvoice.ears.dictionary import sounds
    from bayvoice.host.datafiles import read_procedure
    from bayvoice.procedure.mistakes import BadProcedure
    from bayvoice.procedure.vet import vet

    ears = sounds()
    results: list[dict[str, Any]] = []
    for name in args.procedures:
        try:
            vetting = vet(read_procedure(name), name, ears)
        except BadProcedure as error:
            mistakes = [{key: getattr(one, key) for key in _KEYS} for one in error.mistakes]
            results.append({"file": name, "in_order": False, "mistakes": mistakes})
            if not args.json:
                print(*error.mistakes, sep="\n")
            continue
        results.append({"file": name, "in_order": True, **vetting.as_dict()})
        if not args.json:
            print("\n".join(vetting.lines()))
    if args.json:
        print_json({"procedures": results})
    return 0 if all(result["in_order"] for result in results) else 1


def _begin(name: str, as_json: bool) -> int:
    """Write the file a new procedure begins with, in the folder `name` names or in this one."""
    from bayvoice.procedure.starting import starting_text

    file, text = starting_text(Path(name).name)
    path = Path(name).parent / file
    try:
        with path.open("x", encoding="utf-8") as out:
            out.write(text)
    except FileExistsError:
        mend = "choose another name, or vet the one that is there"
        raise BayError("the file is there already", str(path), mend) from None
    except OSError as why:
        raise BayError(f"the file cannot be written ({why.strerror})", str(path), "name another folder") from None
    if as_json:
        print_json({"written": str(path)})
    else:
        print(f"{path}: write your job over it, then: bayvoice vet {path}")
    return 0
