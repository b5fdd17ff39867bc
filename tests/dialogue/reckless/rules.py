"""What a procedure's own text demands of whoever works it. Read with the standard library and nothing of the product.

Written from the format's description: steps in the order in which they are worked, the way back laid out, and of each
step who may pass what it guards.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any

ALONE, SECOND, NOBODY = "alone", "second", "nobody"
_SECONDS = {"h": 3600, "min": 60, "s": 1}


@dataclass(frozen=True)
class Rule:
    """One step. `least`: the shortest minimum its wait can have, seconds, None where the text does not say one."""

    id: str
    place: int
    kind: str
    guard: str
    danger: bool
    aside: str
    gates: tuple[str, ...] = ()
    least: float | None = None
    starts: str = "go"
    want: bool = True
    role: str = "foreman"
    until: str = ""


@dataclass(frozen=True)
class Rules:
    """A procedure. `for_good`: the findings that stop their step and that nobody may pass."""

    steps: tuple[Rule, ...]
    for_good: frozenset[str]

    def of(self, step: str) -> Rule:
        """The step called `step`."""
        return next(rule for rule in self.steps if rule.id == step)

    @property
    def line(self) -> tuple[Rule, ...]:
        """The steps that are worked without anything going wrong, in order."""
        return tuple(rule for rule in self.steps if not rule.aside)


def read(text: str) -> Rules:
    """The rules in a procedure's text."""
    document = tomllib.loads(text)
    rows = _in_order(document["step"])
    ids = [row["id"] for row in rows]
    steps = tuple(_rule(place, row, rows, ids) for place, row in enumerate(rows))
    stops = [f for f in document.get("finding", ()) if f.get("stop")]
    for_good = frozenset(f["say"].lower() for f in stops if f.get("pass") == NOBODY)
    return Rules(steps, for_good)


def _in_order(raws: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The steps as they are worked: where "way_back" stands, what was taken off goes back, the last thing first."""
    made: list[dict[str, Any]] = []
    at: dict[str, int] = {}
    owing: list[tuple[int, dict[str, Any]]] = []
    for number, raw in enumerate(raws):
        if raw["kind"] != "way_back":
            made.append(raw)
            at[raw["id"]] = number
            if not raw.get("aside"):
                owing.append((number, raw))
            continue
        first, last = (at[name] for name in raw["of"]) if "of" in raw else (0, number)
        for strip in [pair for pair in reversed(owing) if first <= pair[0] <= last]:
            owing.remove(strip)
            made += _back(strip[1])
    return made


def _back(strip: dict[str, Any]) -> list[dict[str, Any]]:
    """The steps that put back what `strip` took off; what was dangerous then is dangerous now."""
    if isinstance(strip.get("back"), list):
        steps = [dict(each) for each in strip["back"]]
    elif "refit" in strip:
        left_out = ("id", "off", "undo", "because", "back", "aside", "uses", "puts_back")
        steps = [{key: value for key, value in strip.items() if key not in left_out}]
    else:
        return []
    for number, step in enumerate(steps, 1):
        stem = strip["id"][:33].rstrip("-")
        step.setdefault("id", f"{stem}-back" if number == 1 else f"{stem}-back-{number}")
    home = next((step for step in steps if "puts_back" in step), steps[-1])
    home["caution"] = [*_cautions(strip), *_cautions(home)]
    return steps


def _cautions(raw: dict[str, Any]) -> list[dict[str, Any]]:
    found = raw.get("caution", [])
    return found if isinstance(found, list) else [found]


def _rule(place: int, raw: dict[str, Any], rows: list[dict[str, Any]], ids: list[str]) -> Rule:
    kind, aside = raw["kind"], raw.get("aside", "")
    danger = any(caution["signal"] == "DANGER" for caution in _cautions(raw))
    careful = danger or kind == "hold" or (kind == "wait" and raw["wait"] == "settle")
    guard = raw.get("pass", SECOND if careful else ALONE)
    if kind == "hold" and guard == ALONE:
        guard = SECOND  # a hold is another person's look, whatever the file says
    gates = tuple(raw.get("gates", ()))
    if kind == "wait" and not gates and raw["wait"] != "open":
        gates = (_next(place, aside, rows, ids),)
    elif kind == "wait" and not gates and "at_least" in raw:
        gates = (raw["closes"],)
    return Rule(
        raw["id"],
        place,
        kind,
        guard,
        danger,
        aside,
        gates,
        _least(raw),
        raw.get("starts", "go"),
        raw.get("want", "yes") == "yes",
        raw.get("who", "foreman"),
        raw.get("until", ""),
    )


def _next(place: int, aside: str, rows: list[dict[str, Any]], ids: list[str]) -> str:
    """The step a wait holds back where it names none: the next one; at the end of an aside the step that led there."""
    after = next((n for n in range(place + 1, len(rows)) if rows[n].get("aside", "") == aside), None)
    if after is not None:
        return ids[after]
    return next((row["id"] for row in rows if aside and row.get("remedy") == aside and not row.get("aside")), "")


def _least(raw: dict[str, Any]) -> float | None:
    if "table" in raw:
        rows = [seconds(row["at_least"]) for row in raw["table"] if "at_least" in row]
        return min(rows, default=None)
    return seconds(raw["at_least"]) if "at_least" in raw and "model" not in raw else None


def seconds(text: str) -> float:
    """A length of time of the file ("2 min", "1 h 30 min") in seconds."""
    return sum(float(n) * _SECONDS[unit] for n, unit in re.findall(r"([\d.]+)\s*(h|min|s)\b", text))


def number(text: str) -> Decimal | None:
    """A figure of a fact, None where there is none."""
    try:
        return Decimal(text)
    except InvalidOperation:
        return None
