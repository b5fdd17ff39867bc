"""What a recording was understood as, and why: as an object for programs and in words for people."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from bayvoice.ears.listener import Utterance
from bayvoice.language.risk import LEVELS, Verdict, risk_of, weigh


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
            {
                "word": word.text,
                "began_s": _rounded(found.first_s + word.began_s, 3),
                "ended_s": _rounded(found.first_s + word.ended_s, 3),
            }
            for word in hearing.timed
        ],
        "runner_up": " ".join(hearing.runner_up) or None,
        "runner_up_margin": _rounded(hearing.runner_up_margin, 3),
        "sure": _rounded(hearing.sure, 3),
        "level_db": _rounded(found.level_db, 1),
        "noise_db": _rounded(found.noise_db, 1),
        "clipped": _rounded(found.clipped, 3),
    }


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
