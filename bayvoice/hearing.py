"""`bayvoice hear`: what would be understood of recordings."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from bayvoice.assemble import grammars_for, people_of_bay
from bayvoice.edges.datafiles import read_procedure
from bayvoice.edges.ears.choose import choose
from bayvoice.edges.ears.front import FrontEnd
from bayvoice.edges.ears.listener import Listener, Utterance, hear_file
from bayvoice.errors import BayError


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


def hear(files: list[str], state: str, procedure: str, people: str, ears: str, as_json: bool) -> int:
    """Print what is understood of each file; exit status 2 if one of them cannot be read."""
    grammars = grammars_for(read_procedure(procedure) if procedure else None, people_of_bay(people))
    grammar = grammars.state(state)
    recogniser, notices = choose(ears, grammar.words)
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
            line = as_line(file, recogniser.name, found)
            if as_json:
                print(json.dumps(line, ensure_ascii=False), flush=True)
            else:
                result = f"{line['intent']}" if line["intent"] else f"refused: {line['why']}"
                value = f" {line['value']} {line['unit'] or ''}".rstrip() if line["value"] else ""
                margin = "" if line["margin"] is None else f", margin {line['margin']:.1f}"
                print(f'{file} {line["began_s"]:.2f}-{line["ended_s"]:.2f} s: "{line["text"]}" {result}{value}{margin}')
    listener.close()
    return status
