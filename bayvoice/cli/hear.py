"""`bayvoice hear`: what would be understood of recordings."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

from bayvoice.ears.choose import choose, lexicon_of
from bayvoice.ears.front import FrontEnd
from bayvoice.ears.listener import Listener, Utterance, hear_file
from bayvoice.errors import BayError
from bayvoice.host.datafiles import read_procedure
from bayvoice.language.address import Address
from bayvoice.language.risk import LEVELS, Verdict, risk_of, weigh
from bayvoice.runtime.wiring import LANGUAGE, addressed_grammars, people_known


def as_line(file: str, engine: str, found: Utterance) -> dict[str, Any]:
    """One utterance as the object that is printed for it."""
    hearing, intent = found.hearing, found.intent
    return {
        "file": file,
        "engine": engine,
        "text": " ".join(hearing.words),
        "intent": intent.name if intent else None,
        "value": None if intent is None or intent.value is None else f"{intent.value:f}",
        "readings": [f"{reading:f}" for reading in intent.readings] if intent else [],
        "unit": intent.unit if intent else None,
        "slots": dict(intent.slots) if intent else {},
        "margin": None if hearing.margin is None else round(float(hearing.margin), 3),
        "began_s": round(found.began_s, 3),
        "ended_s": round(found.ended_s, 3),
        "why": found.why or None,
        "words": [
            {"word": word.text, "began_s": _rounded(found.first_s + word.began_s, 3),
             "ended_s": _rounded(found.first_s + word.ended_s, 3)}
            for word in hearing.timed
        ],
        "runner_up": " ".join(hearing.runner_up) or None,
        "runner_up_margin": _rounded(hearing.runner_up_margin, 3),
        "sure": _rounded(hearing.sure, 3),
        "level_db": _rounded(found.level_db, 1),
        "noise_db": _rounded(found.noise_db, 1),
        "clipped": _rounded(found.clipped, 3),
    }  # fmt: skip


def _rounded(value: float | None, places: int) -> float | None:
    return None if value is None else round(float(value), places)


def explained(found: Utterance, state: str) -> list[str]:
    """What led to a result, a line for each reason.

    Args:
        found: the result as the listener gave it.
        state: the dialogue state, whose levels of certainty count.
    """
    hearing = found.hearing
    lines = [
        f"voice at {found.level_db:.0f} dB of full scale, bay at {found.noise_db:.0f} dB"
        + (f", {100 * found.clipped:.0f} % of it overdriven" if found.clipped >= 0.005 else "")
    ]
    if hearing.timed:
        first = found.first_s
        lines.append(
            "words: "
            + ", ".join(
                f"{word.text} {max(0.0, first + word.began_s):.2f}-{first + word.ended_s:.2f} s"
                for word in hearing.timed
            )
        )
    if hearing.margin is not None:
        lines.append(f"any sounds at all would fit better by {-hearing.margin:.1f} nats a second")
    if hearing.runner_up:
        lines.append(f'next best meaning: "{" ".join(hearing.runner_up)}", {hearing.runner_up_margin:.1f} nats behind')
    elif hearing.words and hearing.margin is not None:
        lines.append("no other meaning came near")
    if hearing.sure is not None:
        lines.append(f"certainty {hearing.sure:+.1f} nats of odds" + _needed(found, state))
    if found.why:
        lines.append(f"refused: {found.why}")
    return lines


def _needed(found: Utterance, state: str) -> str:
    if found.intent is None:
        return ""
    risk = risk_of(state, found.intent.name)
    levels = LEVELS[risk]
    return f"; {found.intent.name} is {risk.value}: done from {levels.act:+.1f}, asked about from {levels.doubt:+.1f}"


def weighed(found: Utterance, state: str) -> Utterance:
    """`found` with its intent only where a job in dialogue state `state` would act on it."""
    verdict = Verdict.ACT if found.intent is None else weigh(state, found.intent.name, found.hearing.sure)
    if verdict is Verdict.ACT:
        return found
    return replace(found, intent=None, why="in doubt: asks again" if verdict is Verdict.DOUBTFUL else "too unsure")


def hear(files: list[str], state: str, procedure: str, people: str, ears: str, address: Address, as_json: bool,
         explain: bool = False) -> int:  # fmt: skip
    """Print what is understood of each file; exit status 2 if one of them cannot be read."""
    lexicon = lexicon_of(LANGUAGE)
    job = read_procedure(procedure) if procedure else None
    grammar = addressed_grammars(job, people_known(people), address, lexicon).state(state)
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
                if explain:
                    print("".join(f"    {reason}\n" for reason in explained(found, state)), end="")
    listener.close()
    return status
