"""Subjects of values: conversions, judge, limit, stats, gauge."""

from __future__ import annotations

import argparse
import csv
from decimal import Decimal
from pathlib import Path
from typing import Any

from bayvoice.errors import BayError
from bayvoice.reckon.answer import Answer, figures, plain
from bayvoice.reckon.inputs import in_unit, number, unit_of
from bayvoice.reckon.subject import Subjects

# subject -> (what it measures, an example)
_CONVERSIONS = {
    "torque": ("torque", "59 lbf.ft N.m"),
    "pressure": ("pressure", "2.5 bar psi"),
    "length": ("length", "0.05 mm thou"),
    "temperature": ("temperature", "23 degC degF"),
    "convert": ("", "3.5 N.m/deg lbf.in/deg"),
}


def add(subjects: Subjects) -> None:
    """Declare the subjects."""
    for name, (what, example) in _CONVERSIONS.items():
        one = subjects.add(
            name,
            f"{what} in another unit" if what else "any value in another unit, also units put together with * and /",
            example,
            _convert,
            "Without a second unit, the customary one." if what else "",
        )
        one.add_argument("value", metavar="VALUE")
        one.add_argument("unit", metavar="UNIT")
        one.add_argument("into", metavar="INTO", nargs="?")

    judge = subjects.add(
        "judge",
        "is a reading inside its limits, and can the gauge prove it (ISO 14253-1)",
        "25.035 --low 24.97 --high 25.03 --uncertainty 0.01",
        _judge,
    )
    judge.add_argument("value", metavar="VALUE", help="with or without a unit; limits without one are in the same")
    judge.add_argument("--low", metavar="VALUE")
    judge.add_argument("--high", metavar="VALUE")
    judge.add_argument("--uncertainty", metavar="U", help="expanded uncertainty of the measurement")

    limit = subjects.add(
        "limit",
        "a limit that depends on other values",
        '"shim_thickness + 0.05 mm" --value "shim thickness=0.35 mm"',
        _limit,
        "Operators + - * / and brackets; functions min, max, abs, round(value, step).",
    )
    limit.add_argument("expression", metavar="EXPRESSION")
    limit.add_argument("--value", action="append", default=[], metavar="NAME=VALUE", help="one for each name")
    limit.add_argument("--unit", metavar="UNIT", help="of the result")

    stats = subjects.add(
        "stats",
        "mean, spread and standard deviation of repeated readings; with limits also capability",
        "32.501 32.502 32.499 --low 32.4 --high 32.6",
        _stats,
    )
    stats.add_argument("readings", nargs="+", metavar="READING")
    stats.add_argument("--low", metavar="VALUE")
    stats.add_argument("--high", metavar="VALUE")

    gauge = subjects.add(
        "gauge",
        "gauge study by averages and ranges",
        "STUDY.csv --low 9.50 --high 10.50",
        _gauge,
        "STUDY.csv has a line person,part,reading for each trial; 2 or 3 persons, 2 to 10 parts, 2 or 3 trials.",
    )
    gauge.add_argument("file", metavar="STUDY.csv")
    gauge.add_argument("--low", metavar="VALUE")
    gauge.add_argument("--high", metavar="VALUE")


def _convert(args: argparse.Namespace) -> Answer:
    from bayvoice.trade.conversion import converted, counterpart
    from bayvoice.trade.units import find
    from bayvoice.units import dimension_name

    value = number(args.value)
    wanted = _CONVERSIONS[args.subject][0]
    if not wanted and args.into is not None and (find(args.unit) is None or find(args.into) is None):
        return _free(value, args.unit, args.into)
    source = unit_of(args.unit, "first unit")
    if wanted and dimension_name(source.powers) != wanted:
        raise BayError(
            f"{source.code} measures {dimension_name(source.powers)}",
            args.subject,
            f"use a unit of {wanted}, or bayvoice reckon convert",
        )
    target = unit_of(args.into, "second unit").code if args.into is not None else counterpart(value, source.code)
    found = converted(value, source.code, target)
    line = f"{plain(value)} {source.code} = {plain(found.rounded)} {target}"
    if found.exact != found.rounded:
        line += f" ({figures(found.exact, 12)})"
    body = {
        "value": value, "unit": source.code, "into": target, "result": found.rounded, "exact": found.exact,
    }  # fmt: skip
    return Answer(body, [line], rounding="rounded to what the figures of the value are worth, three at least")


def _free(value: Decimal, source: str, target: str) -> Answer:
    from bayvoice.reckon.freeunits import convert_free

    found = convert_free(value, source, target)
    line = f"{plain(value)} {source} = {figures(found, 6)} {target}"
    return Answer(
        {"value": value, "unit": source, "into": target, "result": figures(found, 6), "exact": found},
        [line],
        rounding="rounded to six figures",
    )


def _judge(args: argparse.Namespace) -> Answer:
    from bayvoice.trade.verdict import guarded, judge

    value, unit = _read(args.value)

    def same(text: str | None, what: str) -> Decimal | None:
        if text is None:
            return None
        return in_unit(text, unit, what) if unit else number(text, what)

    low, high = same(args.low, "--low"), same(args.high, "--high")
    if low is None and high is None:
        raise BayError("there is no limit to judge by", "", "give --low, --high or both")
    uncertainty = _interval(args.uncertainty, unit)
    verdict = judge(value, low, high, uncertainty)
    bands = guarded(low, high, uncertainty or Decimal(0))
    words = {
        "within": "within the limits",
        "low": "below the lower limit",
        "high": "above the upper limit",
        "close": "too close to a limit to call",
    }
    shown = f"{plain(value)} {unit}".rstrip()
    proven = "proven " if uncertainty and verdict != "close" else ""
    lines = [f"{shown} is {proven}{words[verdict]}."]
    if uncertainty:
        ends = [f"from {plain(bands.low)}" if bands.low is not None else ""]
        ends.append(f"up to {plain(bands.high)}" if bands.high is not None else "")
        if bands.provable:
            lines.append(f"With an uncertainty of {plain(uncertainty)} only readings {' '.join(filter(None, ends))} "
                         "are proven within (ISO 14253-1).")  # fmt: skip
        else:
            lines.append("The limits are nearer than twice the uncertainty: this gauge can prove nothing within.")
    body = {
        "value": value, "unit": unit, "low": low, "high": high, "uncertainty": uncertainty, "verdict": verdict,
        "proven_low": bands.low, "proven_high": bands.high, "provable": bands.provable,
    }  # fmt: skip
    return Answer(body, lines, in_order=verdict == "within")


def _read(text: str) -> tuple[Decimal, str]:
    """A number with or without a unit of any kind."""
    head, _, tail = text.strip().partition(" ")
    if not tail:
        return number(text), ""
    return number(head), unit_of(tail).code


def _interval(text: str | None, unit: str) -> Decimal | None:
    """An uncertainty: a difference, so degrees of a scale are taken as they are."""
    if text is None:
        return None
    if unit in ("", "degC", "degF"):
        return number(text, "--uncertainty")
    return in_unit(text, unit, "--uncertainty")


def _limit(args: argparse.Namespace) -> Answer:
    from bayvoice.trade.expression import parse

    expression = parse(args.expression)
    values: dict[str, tuple[Decimal, str]] = {}
    for given in args.value:
        name, sign, amount = given.partition("=")
        if not sign or not name.strip():
            raise BayError(f'"{given}" is not a value', "--value", 'write it like "shim thickness=0.35 mm"')
        values[name.strip()] = _read(amount)
    value, unit = expression.evaluate(values, None if args.unit is None else unit_of(args.unit, "--unit").code)
    line = f"{args.expression} = {figures(value, 8)} {unit}".rstrip()
    return Answer({"value": value, "unit": unit, "names": list(expression.names)}, [line])


def _stats(args: argparse.Namespace) -> Answer:
    from bayvoice.trade.statistics import capability, summary

    readings = [number(reading, "reading") for reading in args.readings]
    found = summary(readings)
    lines = [
        f"{found.count} reading{'s' if found.count > 1 else ''}: mean {plain(found.mean_as_read)} "
        f"({figures(found.mean, 8)}), from {plain(found.least)} to {plain(found.most)}, spread {plain(found.spread)}."
    ]
    if found.sd is not None:
        lines.append(f"Standard deviation {figures(found.sd)} (denominator n - 1).")
    body: dict[str, Any] = {
        "count": found.count, "mean": found.mean, "mean_as_read": found.mean_as_read, "sd": found.sd,
        "least": found.least, "most": found.most, "spread": found.spread,
    }  # fmt: skip
    low, high = _limits(args)
    if low is not None or high is not None:
        cap = capability(readings, low, high)
        body["capability"] = {
            "cp": cap.cp, "cpk": cap.cpk, "cp_range": cap.cp_range, "cpk_range": cap.cpk_range,
            "confidence": cap.confidence, "conditions": list(cap.conditions),
        }  # fmt: skip
        both = f"Cp {cap.cp:.2f}, " if cap.cp is not None else ""
        lines.append(
            f"{both}Cpk {cap.cpk:.2f}; {100 * cap.confidence:g} percent interval of Cpk "
            f"{cap.cpk_range[0]:.2f} to {cap.cpk_range[1]:.2f}."
        )
        lines += [f"It {condition}." if condition.startswith("holds") else f"{condition[:1].upper()}{condition[1:]}."
                  for condition in cap.conditions]  # fmt: skip
    return Answer(body, lines, rounding="mean to the places of the readings, standard deviation to four figures")


def _limits(args: argparse.Namespace) -> tuple[Decimal | None, Decimal | None]:
    low = None if args.low is None else number(args.low, "--low")
    high = None if args.high is None else number(args.high, "--high")
    return low, high


def _gauge(args: argparse.Namespace) -> Answer:
    from bayvoice.trade.statistics import gauge_study

    study = gauge_study(_study(Path(args.file)), *_limits(args))
    lines = [
        f"The gauge takes {study.percent:.1f} percent of the variation seen.",
        f"Repeatability {figures(study.repeatability)}, between persons {figures(study.reproducibility)}, "
        f"both {figures(study.gauge)}, between parts {figures(study.parts)}.",
    ]
    if study.percent_of_tolerance is not None:
        lines.append(f"Six of its standard deviations are {study.percent_of_tolerance:.1f} percent of the tolerance.")
    if study.categories is not None:
        lines.append(f"It tells {study.categories} sorts of part apart.")
    lines += [f"Person {i}, part {j}: the trials spread suspiciously." for i, j in study.suspects]
    body = {
        "repeatability": study.repeatability, "reproducibility": study.reproducibility, "gauge": study.gauge,
        "parts": study.parts, "total": study.total, "percent": study.percent,
        "percent_of_tolerance": study.percent_of_tolerance, "categories": study.categories,
        "range_limit": study.range_limit, "suspects": study.suspects,
    }  # fmt: skip
    return Answer(body, lines, rounding="standard deviations to four figures")


def _study(path: Path) -> list[list[list[Decimal]]]:
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError):
        raise BayError("the study cannot be read", str(path), "name a CSV file in UTF-8") from None
    cells: dict[str, dict[str, list[Decimal]]] = {}
    for index, row in enumerate(csv.reader(text.splitlines()), start=1):
        if not row or (index == 1 and [word.strip().lower() for word in row] == ["person", "part", "reading"]):
            continue
        if len(row) != 3:
            raise BayError("a line is not person,part,reading", f"{path} line {index}", "write three fields")
        person, part, reading = (word.strip() for word in row)
        cells.setdefault(person, {}).setdefault(part, []).append(number(reading, f"{path} line {index}"))
    parts = list(dict.fromkeys(part for row in cells.values() for part in row))
    return [[row.get(part, []) for part in parts] for row in cells.values()]
