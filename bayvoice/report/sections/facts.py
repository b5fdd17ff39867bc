"""All facts of the job, as they were written."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from bayvoice.job.facts import Fact
from bayvoice.record.chain import wall_text
from bayvoice.report.base.blocks import Block, Head, Table
from bayvoice.report.base.section import JobReport, View
from bayvoice.report.base.words import Clock, one_line, utc

LONGEST: Final = 200
"""Characters of one string that the list of all facts shows; the JSON report has them all."""

_TEXTS: Final = ("text", "ask", "say", "remark", "why")
_PLAIN: Final = ("step", "name", "value", "unit", "low", "high", "verdict", "reason", "who")


class Facts(View):
    """The record itself."""

    key = "facts"
    title = "Every fact"

    def rows(self, report: JobReport, clock: Clock) -> Sequence[Block]:
        """A row a fact."""
        rows = tuple((str(f.seq), utc(f.wall), one_line(f.kind), body_text(f)) for f in report.facts)
        caption = "All facts in the order they were written, times in UTC"
        return (Table(caption, ("No.", Head("When"), "Kind", "What"), rows, look="facts"),)

    def data(self, report: JobReport) -> Mapping[str, object]:
        """Every fact with its whole body."""
        return {self.key: report.facts}

    def records(self, report: JobReport) -> Iterator[Mapping[str, str]]:
        """A row a fact, what no column is for under ``rest``."""
        by, number = "", report.found.common.number
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
            yield plain | {
                "seq": str(fact.seq),
                "time_utc": wall_text(fact.wall),
                "kind": fact.kind,
                "by": by,
                "step_number": str(number(plain["step"]) or ""),
                "text": " ".join(filter(None, (_text(body.pop(key, "")) for key in _TEXTS))),
                "rest": json.dumps(body, ensure_ascii=False, sort_keys=True) if body else "",
            }


def body_text(fact: Fact) -> str:
    """A fact's body on one line, long strings shortened."""
    return " · ".join(f"{one_line(key)}: {_short(value)}" for key, value in fact.body.items())


def _short(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        value = ", ".join(str(item) for item in value)
    # Cut first: a text of a megabyte need not be cleaned to show its beginning.
    raw = "none" if value is None else str(value)
    cut = one_line(raw[:LONGEST])
    return f"{cut} … ({len(raw)} characters)" if len(raw) > LONGEST else cut or "–"


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict | list):
        return json.dumps(value, ensure_ascii=False)
    return "" if value is None else str(value)


FACTS: Final = Facts()
