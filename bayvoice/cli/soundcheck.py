"""`bayvoice soundcheck`: what works in this bay; and `--teach`, ears that know one person."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bayvoice.cli.common import add_json, add_store, print_json
from bayvoice.errors import BayError

if TYPE_CHECKING:
    from bayvoice.ears.person import Adaptation
    from bayvoice.ears.person_learn import Score


def add(commands: Any) -> None:
    """Its arguments."""
    parser = commands.add_parser(
        "soundcheck", help="what works in this bay: microphone, loudspeaker, ears, voice, disk"
    )
    parser.add_argument(
        "--mic",
        default="live",
        metavar="live|FILE.wav",
        help="a recording instead of the microphone: of the bay, or with --teach the takes in the order of the prompts",
    )
    parser.add_argument("--prompts", action="store_true", help="with --teach: only print what is to be said")
    taught = parser.add_mutually_exclusive_group()
    taught.add_argument(
        "--teach", metavar="NAME", help="two minutes of saying commands and digits, for ears that know this person"
    )
    taught.add_argument("--forget", metavar="NAME", help="remove what was learned of this person")
    add_store(parser)
    add_json(parser)
    parser.set_defaults(command=run)


def run(args: argparse.Namespace) -> int:
    """Try every part; 1 if one of them does not work."""
    if args.teach is not None:
        return _teach(args.teach, args.mic, args.prompts, args.json)
    if args.forget is not None:
        return _forget(args.forget, args.json)
    from bayvoice.runtime.parts import look_at_all

    findings = look_at_all(args.store, args.mic)
    if args.json:
        print_json({"parts": [{"part": f.part, "works": f.works, "what": f.what} for f in findings]})
    else:
        for f in findings:
            print(f"{f.part:<12} {'works' if f.works else 'DOES NOT WORK'}: {f.what}")
    return 0 if all(f.works for f in findings) else 1


def _teach(name: str, mic: str, only_prompts: bool, as_json: bool) -> int:
    """Prompt, learn, tell and keep; 0 whether or not it helped."""
    from bayvoice.ears.person import path_of, store, tidy_name
    from bayvoice.runtime.teaching import PROMPTS, learn, live_takes, takes_of, told

    name = tidy_name(name)
    if only_prompts:
        if as_json:
            print_json({"name": name, "prompts": PROMPTS})
        else:
            print("\n".join(PROMPTS))
        return 0
    show: Callable[[str], None] = (lambda _: None) if as_json else lambda line: print(line, flush=True)
    takes = live_takes(show) if mic == "live" else takes_of(Path(mic))
    show(f"{len(takes)} takes. Learning, about a minute …")
    adaptation, before, after = learn(name, takes)
    kept = store(adaptation) if after.better_than(before) else None
    if as_json:
        print_json(_as_json(PROMPTS, adaptation, before, after, kept))
        return 0
    show(f"before: {told(before)}")
    show(f"after:  {told(after)}")
    if kept is not None:
        show(f"It helps, and is kept for {name} in {kept}; 'bayvoice work --by' with this name uses it.")
        return 0
    earlier = " What was kept earlier stays." if path_of(name).exists() else ""
    as_before = f"bayvoice hears {name} as before; work goes on without this"
    show(f"It does not help, and is not kept: {as_before}.{earlier}")
    return 0


def _forget(name: str, as_json: bool) -> int:
    from bayvoice.ears.person import forget, tidy_name

    name = tidy_name(name)
    if not forget(name):
        raise BayError("nothing is kept of this person", name, "check the name")
    if as_json:
        print_json({"name": name, "forgotten": True})
    else:
        print(f"What was learned of {name} is removed.")
    return 0


def _as_json(
    prompts: tuple[str, ...], adaptation: Adaptation, before: Score, after: Score, kept: Path | None
) -> dict[str, Any]:
    from dataclasses import asdict

    import numpy as np

    from bayvoice.ears.pronounce import PHONES

    return {
        "name": adaptation.name,
        "prompts": prompts,
        "before": asdict(before),
        "after": asdict(after),
        "bias": round(adaptation.bias, 2),
        "phones_corrected": [PHONES[row] for row in np.flatnonzero(np.diag(adaptation.mixing) < 1.0)],
        "own_pronunciations": {
            word: [" ".join(PHONES[phone] for phone in one) for one in own] for word, own in adaptation.said.items()
        },
        "helps": kept is not None,
        "kept": None if kept is None else str(kept),
    }
