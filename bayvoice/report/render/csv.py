"""A job as CSV (RFC 4180) for a spreadsheet: its result, then the records of its sections, the facts last.

Harmless there whatever the record holds.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from bayvoice.report.base.section import JobReport
from bayvoice.report.base.words import clean
from bayvoice.report.joblines import broken_text

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

_STARTS: Final = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""What a spreadsheet may take for the beginning of a formula, the wide forms of East Asian input too (OWASP,
"CSV Injection")."""


def to_csv(report: JobReport) -> str:
    """Result, then the records of all sections, RFC 4180: CRLF, a header line, fields quoted where they must be."""
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
    """First of all whether the job is in order; then what each section has to say in rows."""
    why = broken_text(report.chain) if report.chain.ok is False else ""
    result = {"kind": "result", "text": report.heading, "reason": why, "seq": str(report.chain.seq or "")}
    records = (record for section in report.sections for record in section.records(report))
    for record in (result, *records):
        cells = {"job": report.header.job, **record}
        assert cells.keys() <= set(HEADS), "a record has a column that is none of HEADS"
        yield [cells.get(head, "") for head in HEADS]
