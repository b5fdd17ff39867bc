"""Subjects of values: conversions, judge, limit, stats, gauge."""

from __future__ import annotations

import argparse
import csv
from decimal import Decimal
from pathlib import Path
from typing import Any

from bayvoice.errors import BayError, sentence
from bayvoice.language.texts import tell
from bayvoice.reckon.answer import Answer, figures, plain
from bayvoice.reckon.inputs import in_unit, number, unit_of
from bayvoice.reckon.subject import Subjects
from bayvoice.units import POWERS, dimension_name

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
            tell("reckon-what-in-another-unit", what=dimension_name(POWERS[what]))
            if what
            else tell("reckon-any-value-in-another-unit"),
            example,
            _convert,
            tell("reckon-without-second-unit-customary-one") if what else "",
        )
        one.add_argument("value", metavar="VALUE")
        one.add_argument("unit", metavar="UNIT")
        one.add_argument("into", metavar="INTO", nargs="?")

    judge = subjects.add(
        "judge",
        tell("reckon-is-reading-inside-limits-and-can"),
        "25.035 --low 24.97 --high 25.03 --uncertainty 0.01",
        _judge,
    )
    judge.add_argument("value", metavar="VALUE", help=tell("reckon-with-or-without-unit-limits"))
    judge.add_argument("--low", metavar="VALUE")
    judge.add_argument("--high", metavar="VALUE")
    judge.add_argument("--uncertainty", metavar="U", help=tell("reckon-expanded-uncertainty-of-measurement"))

    limit = subjects.add(
        "limit",
        tell("reckon-limit-depends-on-other-values"),
        '"shim_thickness + 0.05 mm" --value "shim thickness=0.35 mm"',
        _limit,
        tell("reckon-operators-and-brackets-functions-min"),
    )
    limit.add_argument("expression", metavar="EXPRESSION")
    limit.add_argument(
        "--value", action="append", default=[], metavar="NAME=VALUE", help=tell("reckon-one-for-each-name")
    )
    limit.add_argument("--unit", metavar="UNIT", help=tell("reckon-of-result"))

    stats = subjects.add(
        "stats",
        tell("reckon-mean-spread-and-standard-deviation"),
        "32.501 32.502 32.499 --low 32.4 --high 32.6",
        _stats,
    )
    stats.add_argument("readings", nargs="+", metavar="READING")
    stats.add_argument("--low", metavar="VALUE")
    stats.add_argument("--high", metavar="VALUE")

    gauge = subjects.add(
        "gauge",
        tell("reckon-gauge-study-by-averages-and-ranges"),
        "STUDY.csv --low 9.50 --high 10.50",
        _gauge,
        tell("reckon-study-csv-has-line-person"),
    )
    gauge.add_argument("file", metavar="STUDY.csv")
    gauge.add_argument("--low", metavar="VALUE")
    gauge.add_argument("--high", metavar="VALUE")


def _convert(args: argparse.Namespace) -> Answer:
    from bayvoice.trade.conversion import converted, counterpart
    from bayvoice.trade.units import find

    value = number(args.value)
    wanted = _CONVERSIONS[args.subject][0]
    if not wanted and args.into is not None and (find(args.unit) is None or find(args.into) is None):
        return _free(value, args.unit, args.into)
    source = unit_of(args.unit, tell("reckon-first-unit"))
    if wanted and source.dimension != wanted:
        raise BayError(
            tell("reckon-measures", code=source.code, measured=dimension_name(source.powers)),
            args.subject,
            tell("reckon-use-unit-of-wanted-or-bayvoice", wanted=dimension_name(POWERS[wanted])),
        )
    target = (
        unit_of(args.into, tell("reckon-second-unit")).code
        if args.into is not None
        else counterpart(value, source.code)
    )
    found = converted(value, source.code, target)
    line = f"{plain(value)} {source.code} = {plain(found.rounded)} {target}"
    if found.exact != found.rounded:
        line += f" ({figures(found.exact, 12)})"
    body = {"value": value, "unit": source.code, "into": target, "result": found.rounded, "exact": found.exact}
    return Answer(body, [line], rounding=tell("reckon-rounded-to-what-figures-of-value"))


def _free(value: Decimal, source: str, target: str) -> Answer:
    from bayvoice.reckon.freeunits import convert_free

    found = convert_free(value, source, target)
    line = f"{plain(value)} {source} = {figures(found, 6)} {target}"
    return Answer(
        {"value": value, "unit": source, "into": target, "result": figures(found, 6), "exact": found},
        [line],
        rounding=tell("reckon-rounded-to-six-figures"),
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
        raise BayError(tell("reckon-no-limit-to-judge-by"), "", tell("reckon-give-low-high-or-both"))
    uncertainty = _interval(args.uncertainty, unit)
    verdict = judge(value, low, high, uncertainty)
    bands = guarded(low, high, uncertainty or Decimal(0))
    shown = f"{plain(value)} {unit}".rstrip()
    proven = "proven-" if uncertainty and verdict != "close" else ""
    lines: list[str] = [tell(f"reckon-judged-{proven}{verdict}", value=shown)]
    if uncertainty:
        ends = {"low": bands.low, "high": bands.high}
        given = {name: plain(end) for name, end in ends.items() if end is not None}
        if bands.provable:
            lines.append(tell(f"reckon-proven-{'-'.join(given)}", uncertainty=plain(uncertainty), **given))
        else:
            lines.append(tell("reckon-limits-are-nearer-than-twice"))
    body = {
        "value": value,
        "unit": unit,
        "low": low,
        "high": high,
        "uncertainty": uncertainty,
        "verdict": verdict,
        "proven_low": bands.low,
        "proven_high": bands.high,
        "provable": bands.provable,
    }
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
            raise BayError(
                tell("reckon-no-named-value", given=given), "--value", tell("reckon-write-like-shim-thickness-0")
            )
        values[name.strip()] = _read(amount)
    value, unit = expression.evaluate(values, None if args.unit is None else unit_of(args.unit, "--unit").code)
    line = f"{args.expression} = {figures(value, 8)} {unit}".rstrip()
    return Answer({"value": value, "unit": unit, "names": list(expression.names)}, [line])


def _stats(args: argparse.Namespace) -> Answer:
    from bayvoice.trade.statistics import capability, summary

    readings = [number(reading, tell("reckon-reading")) for reading in args.readings]
    found = summary(readings)
    lines = [
        tell(
            "reckon-readings-and-their-mean",
            count=found.count,
            mean_as_read=plain(found.mean_as_read),
            mean=figures(found.mean, 8),
            least=plain(found.least),
            most=plain(found.most),
            spread=plain(found.spread),
        )
    ]
    if found.sd is not None:
        lines.append(tell("reckon-standard-deviation-sd-denominator-n", sd=figures(found.sd)))
    body: dict[str, Any] = {
        "count": found.count,
        "mean": found.mean,
        "mean_as_read": found.mean_as_read,
        "sd": found.sd,
        "least": found.least,
        "most": found.most,
        "spread": found.spread,
    }
    low, high = _limits(args)
    if low is not None or high is not None:
        cap = capability(readings, low, high)
        body["capability"] = {
            "cp": cap.cp,
            "cpk": cap.cpk,
            "cp_range": cap.cp_range,
            "cpk_range": cap.cpk_range,
            "confidence": cap.confidence,
            "conditions": list(cap.conditions),
        }
        shown = {
            "cpk": f"{cap.cpk:.2f}",
            "confidence": f"{100 * cap.confidence:g}",
            "least": f"{cap.cpk_range[0]:.2f}",
            "most": f"{cap.cpk_range[1]:.2f}",
        }
        lines.append(
            tell("reckon-capability-one-sided", **shown)
            if cap.cp is None
            else tell("reckon-capability", cp=f"{cap.cp:.2f}", **shown)
        )
        lines += [
            tell("reckon-capability-holds")
            if condition == tell("trade-holds-for-steady-process-whose")
            else tell("reckon-condition", condition=sentence(condition))
            for condition in cap.conditions
        ]
    return Answer(body, lines, rounding=tell("reckon-mean-to-places-of-readings"))


def _limits(args: argparse.Namespace) -> tuple[Decimal | None, Decimal | None]:
    low = None if args.low is None else number(args.low, "--low")
    high = None if args.high is None else number(args.high, "--high")
    return low, high


def _gauge(args: argparse.Namespace) -> Answer:
    from bayvoice.trade.statistics import gauge_study

    study = gauge_study(_study(Path(args.file)), *_limits(args))
    lines = [
        tell("reckon-gauge-takes-percent-of-variation", percent=f"{study.percent:.1f}"),
        tell(
            "reckon-repeatability-between-persons-reproducibility-both",
            repeatability=figures(study.repeatability),
            reproducibility=figures(study.reproducibility),
            gauge=figures(study.gauge),
            parts=figures(study.parts),
        ),
    ]
    if study.percent_of_tolerance is not None:
        lines.append(
            tell(
                "reckon-six-of-standard-deviations-are-percent",
                percent_of_tolerance=f"{study.percent_of_tolerance:.1f}",
            )
        )
    if study.categories is not None:
        lines.append(tell("reckon-tells-categories-sorts-of-part", categories=study.categories))
    lines += [tell("reckon-trials-spread", person=i, part=j) for i, j in study.suspects]
    body = {
        "repeatability": study.repeatability,
        "reproducibility": study.reproducibility,
        "gauge": study.gauge,
        "parts": study.parts,
        "total": study.total,
        "percent": study.percent,
        "percent_of_tolerance": study.percent_of_tolerance,
        "categories": study.categories,
        "range_limit": study.range_limit,
        "suspects": study.suspects,
    }
    return Answer(body, lines, rounding=tell("reckon-standard-deviations-to-four-figures"))


def _study(path: Path) -> list[list[list[Decimal]]]:
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError):
        raise BayError(tell("reckon-study-cannot-be-read"), str(path), tell("reckon-name-csv-file-in-utf")) from None
    cells: dict[str, dict[str, list[Decimal]]] = {}
    for index, row in enumerate(csv.reader(text.splitlines()), start=1):
        if not row or (index == 1 and [word.strip().lower() for word in row] == ["person", "part", "reading"]):
            continue
        if len(row) != 3:
            raise BayError(
                tell("reckon-line-is-not-person-part"),
                tell("reckon-path-line-index", path=path, index=index),
                tell("reckon-write-three-fields"),
            )
        person, part, reading = (word.strip() for word in row)
        cells.setdefault(person, {}).setdefault(part, []).append(
            number(reading, tell("reckon-path-line-index", path=path, index=index))
        )
    parts = list(dict.fromkeys(part for row in cells.values() for part in row))
    return [[row.get(part, []) for part in parts] for row in cells.values()]
