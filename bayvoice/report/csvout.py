"""A job as CSV (RFC 4180) for a spreadsheet: its result, its deviations, then one row a fact.

Harmless there whatever the record holds.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Final

from bayvoice.record.chain import wall_text
from bayvoice.report.joblines import broken_text
from bayvoice.report.model import JobReport
from bayvoice.report.words import clean

HEADS: Final = (
    "job",
    "seq",
    "time_utc",
    "kind",
    "by",
    "step",
    "step_number",
    "name",
    "value",
    "unit",
    "low",
    "high",
    "verdict",
    "text",
    "reason",
    "who",
    "rest",
)
"""Columns of the file. `rest`: every other key of the fact, as JSON."""

_TEXTS: Final = ("text", "ask", "say", "remark", "why")
_PLAIN: Final = ("step", "name", "value", "unit", "low", "high", "verdict", "reason", "who")

_STARTS: Final = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""What a spreadsheet may take for the beginning of a formula, the wide forms of East Asian input too (OWASP,
"CSV Injection")."""


def to_csv(report: JobReport) -> str:
    """Result, deviations and facts of a job, RFC 4180: CRLF, a header line, fields quoted where they must be."""
    return rows_csv(HEADS, _rows(report))


def rows_csv(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Any table as such a file."""
    out = io.StringIO()
    writer = csv.writer(out, dialect="excel", lineterminator="\r\n", quoting=csv.QUOTE_MINIMAL)
    writer.writerow(heads)
    for row in rows:
        writer.writerow([harmless(field) for field in row])
    return out.getvalue()


def harmless(field: str) -> str:
    """`field` so that no spreadsheet computes it: a formula's first sign gets an apostrophe before it.

    Numbers stay as they are, negative ones too. Control characters are shown, line ends stay.
    """
    shown = clean(field)
    if shown.startswith(_STARTS) and not _is_number(shown):
        return f"'{shown}"
    return shown


def _is_number(text: str) -> bool:
    digits = text[1:] if text[:1] in "+-" else text
    whole, _, rest = digits.partition(".")
    return whole.isascii() and whole.isdigit() and (not rest or (rest.isascii() and rest.isdigit()))


def _rows(report: JobReport) -> Iterator[list[str]]:
    job, by, numbers = report.header.job, "", {line.step: line.number for line in report.steps}
    yield from _result(report)
    for fact in report.facts:
        body = dict(fact.body)
        if fact.kind == "sitting_began":
            by = _text(body.get("by"))
        elif fact.kind == "handed_over":
            by = _text(body.get("takes")) or by
        if fact.kind == "job_began":
            # The procedure's own text is no row of a table.
            body.pop("text", None)
        plain = {key: _text(body.pop(key, "")) for key in _PLAIN}
        words = " ".join(filter(None, (_text(body.pop(key, "")) for key in _TEXTS)))
        rest = json.dumps(body, ensure_ascii=False, sort_keys=True) if body else ""
        number = numbers.get(plain["step"], 0)
        yield [
            job,
            str(fact.seq),
            wall_text(fact.wall),
            fact.kind,
            by,
            plain["step"],
            str(number) if number else "",
            *(plain[key] for key in ("name", "value", "unit", "low", "high", "verdict")),
            words,
            plain["reason"],
            plain["who"],
            rest,
        ]


def _result(report: JobReport) -> Iterator[list[str]]:
    """First of all whether the job is in order, and what is not, the worst first; `seq` is the fact that shows it."""

    def row(kind: str, **cells: str) -> list[str]:
        return [{"job": report.header.job, "kind": kind, **cells}.get(head, "") for head in HEADS]

    why = broken_text(report.chain) if report.chain.ok is False else ""
    yield row("result", text=report.heading, reason=why, seq=str(report.chain.seq or ""))
    for d in report.deviations:
        number = str(d.number) if d.number else ""
        yield row(
            "deviation",
            seq=str(d.seq),
            time_utc=wall_text(d.wall),
            by=d.by,
            step=d.step,
            step_number=number,
            verdict=d.level,
            text=d.text,
            reason=d.reason,
        )


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict | list):
        return json.dumps(value, ensure_ascii=False)
    return "" if value is None else str(value)
