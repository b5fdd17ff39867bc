"""What answers and values add to a report."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.report.gathered import Body, Gathered, text, whole
from bayvoice.report.lines import Ambient, Average, Check, Earlier, GaugeUsed, Measurement, Reading, Reckoned


def _checked(gathered: Gathered, fact: Fact) -> None:
    step, number = gathered.at(fact)
    ask, answer, want = (text(fact.body, key) for key in ("ask", "answer", "want"))
    check = Check(step, number, ask, answer, want, gathered.by, fact.wall, fact.seq)
    gathered.checks.append(check)
    gathered.check_of[step, ask] = check


def _measured(gathered: Gathered, fact: Fact) -> None:
    (step, number), body = gathered.at(fact), fact.body
    reading = Reading(
        fact.seq, text(body, "value"), text(body, "unit"), text(body, "said_value"), text(body, "said_unit"),
        text(body, "verdict"), gathered.by, fact.wall, whole(body, "nth") or 1, whole(body, "of") or 1,
        text(body, "uncertainty"), body.get("trusted") is True,
    )  # fmt: skip
    before = gathered.measurements.get((step, text(body, "name")))
    readings, replaced = _standing(before, reading, whole(body, "corrects") or 0)
    earlier = before.earlier if before else ()
    gathered.measurements[step, text(body, "name")] = Measurement(
        step, number, text(body, "name"), reading.unit, text(body, "low"), text(body, "high"), _gauge(gathered, body),
        reading, (*earlier, *(Earlier(old, gathered.by, fact.wall) for old in replaced)), readings,
        limits_from=text(body, "limits_from"),
    )  # fmt: skip


def _gauge(gathered: Gathered, body: Body) -> str:
    """The gauge by its name: the fact may hold the procedure's own id of it."""
    named = text(body, "gauge")
    known = gathered.procedure.gauge(named) if gathered.procedure else None
    return known.title if known else named


def _standing(
    before: Measurement | None, reading: Reading, corrects: int
) -> tuple[tuple[Reading, ...], tuple[Reading, ...]]:
    """The readings that stand with the new one, and those that no longer do."""
    old = before.readings if before else ()
    if any(r.seq == corrects for r in old) and reading.of > 1:
        gone = tuple(r for r in old if r.seq == corrects)
    elif reading.of > 1:
        gone = tuple(r for r in old if r.nth >= reading.nth)
    else:
        gone = old
    kept = sorted((*(r for r in old if r not in gone), reading), key=lambda r: r.nth)
    return tuple(kept), gone


def _averaged(gathered: Gathered, fact: Fact) -> None:
    body = fact.body
    key = text(body, "step"), text(body, "name")
    average = Average(
        text(body, "value"), whole(body, "n") or 0, text(body, "spread"), text(body, "deviation"),
        text(body, "spread_limit"), text(body, "uncertainty"), text(body, "verdict"), gathered.by, fact.wall, fact.seq,
    )  # fmt: skip
    if before := gathered.measurements.get(key):
        gathered.measurements[key] = replace(before, average=average, low=text(body, "low"), high=text(body, "high"))


def _gauge_used(gathered: Gathered, fact: Fact) -> None:
    (step, number), body = gathered.at(fact), fact.body
    gauge = GaugeUsed(
        step, number, text(body, "gauge"), text(body, "number"), text(body, "due"), text(body, "uncertainty"),
        text(body, "unit"), text(body, "state"), gathered.by, fact.wall, fact.seq,
    )  # fmt: skip
    gathered.gauges.append(gauge)
    gathered.gauge_of[step] = gauge


def _reckoned(gathered: Gathered, fact: Fact) -> None:
    body = fact.body
    gathered.reckoned.append(
        Reckoned(*gathered.at(fact), text(body, "what"), text(body, "given"), text(body, "result"), gathered.by,
                 fact.wall, fact.seq)
    )  # fmt: skip


def _ambient(gathered: Gathered, fact: Fact) -> None:
    body = fact.body
    gathered.ambient.append(
        Ambient(*gathered.at(fact), text(body, "name"), text(body, "value"), text(body, "unit"), text(body, "source"),
                gathered.by, fact.wall, fact.seq)
    )  # fmt: skip


FOLDS: Final[dict[str, Callable[[Gathered, Fact], None]]] = {
    "checked": _checked,
    "measured": _measured,
    "averaged": _averaged,
    "gauge_used": _gauge_used,
    "reckoned": _reckoned,
    "ambient": _ambient,
}
