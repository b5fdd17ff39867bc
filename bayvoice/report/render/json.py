"""The report for programs."""

from __future__ import annotations

import dataclasses
from typing import Any, Final

from bayvoice.job.facts import Fact
from bayvoice.record.chain import wall_text
from bayvoice.report.base.section import JobReport

FORMAT: Final = 1
"""Version of the dict below; keys are only added within one version."""


def to_json(report: JobReport) -> dict[str, Any]:
    """`report` as a JSON object: ``format``, ``header``, ``result``, ``in_order``, ``chain``, what each section has to
    say in their order, ``heading``. The order of keys means nothing (RFC 8259, 4).

    Moments are ISO 8601 UTC text, durations whole seconds, readings and limits the strings of the record.
    """
    whole: dict[str, Any] = {"format": FORMAT}
    for key in ("header", "result", "in_order", "chain"):
        whole[key] = _plain(getattr(report, key))
    for section in report.sections:
        whole |= {key: _plain(lines) for key, lines in section.data(report).items()}
    return whole | {"heading": report.heading}


def _plain(value: Any) -> Any:
    if isinstance(value, Fact):
        return {"seq": value.seq, "wall": wall_text(value.wall), "kind": value.kind, "body": value.body}
    if dataclasses.is_dataclass(value):
        return {field.name: _plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    if isinstance(value, float):
        return wall_text(value)
    return value
