"""`bayvoice hear`: what would be understood of recordings."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

from bayvoice.assemble import LANGUAGE, addressed_grammars, people_of_bay
from bayvoice.edges.datafiles import read_procedure
from bayvoice.edges.ears.choose import choose, lexicon_of
from bayvoice.edges.ears.front import FrontEnd
from bayvoice.edges.ears.listener import Listener, Utterance, hear_file
from bayvoice.errors import BayError
from bayvoice.speech.address import Address
from bayvoice.speech.risk import Verdict, weigh


def as_line(file: str, engine: str, found: Utterance) -> dict[str, Any]:
    """One utterance as the object that is printed for it."""
    hearing, intent = found.hearing, found.intent
    return {
        "file": file,
        "engine": engine,
        "text": " ".join(hearing.words),
        "intent": intent.name if intent else None,
        "value": None if intent is None or intent.value is None else f"{intent.value:f}",
        "unit": intent.unit if intent else None,
        "slots": dict(intent.slots) if intent else {},
        "margin": None if hearing.margin is None else round(float(hearing.margin), 3),
        "began_s": round(found.began_s, 3),
        "ended_s": round(found.ended_s, 3),
        "why": found.why or None,
    }


def weighed(found: Utterance, state: str) -> Utterance:
    """`found` with its intent only where a job in dialogue state `state` would act on it."""
    verdict = Verdict.ACT if found.intent is None else weigh(state, found.intent.name, found.hearing.sure)
    if verdict is Verdict.ACT:
        return found
    return replace(found, intent=None, why="in doubt: asks again" if verdict is Verdict.DOUBTFUL else "too unsure")


def hear(files: list[str], state: str, procedure: str, people: str, ears: str, address: Address, as_json: bool) -> int:
    """Print what is understood of each file; exit status 2 if one of them cannot be read."""
    lexicon = lexicon_of(LANGUAGE)
    job = read_procedure(procedure) if procedure else None
    grammar = addressed_grammars(job, people_of_bay(people), address, lexicon).state(state)
    recogniser, notices = choose(ears, grammar.words, lexicon=lexicon)
    for notice in notices:
        print(f"bayvoice: {notice}", file=sys.stderr)
    listener = Listener(recogniser, FrontEnd(), grammar)
    status = 0
    for file in files:
        try:
            results = hear_file(Path(file), listener)
        except BayError as error:
            status = 2
            if as_json:
                print(json.dumps({"file": file, "error": {"what": error.what, "mend": error.mend}}), flush=True)
            print(f"bayvoice: {error}", file=sys.stderr)
            continue
        for found in results:
            line = as_line(file, recogniser.name, weighed(found, state))
            if as_json:
                print(json.dumps(line, ensure_ascii=False), flush=True)
            else:
                result = f"{line['intent']}" if line["intent"] else f"refused: {line['why']}"
                value = f" {line['value']} {line['unit'] or ''}".rstrip() if line["value"] else ""
                margin = "" if line["margin"] is None else f", margin {line['margin']:.1f}"
                print(f'{file} {line["began_s"]:.2f}-{line["ended_s"]:.2f} s: "{line["text"]}" {result}{value}{margin}')
    listener.close()
    return status
