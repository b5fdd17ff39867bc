"""The report for programs."""

from __future__ import annotations

import dataclasses
from typing import Any, Final

from bayvoice.job.facts import Fact
from bayvoice.record.chain import wall_text
from bayvoice.report.model import JobReport

FORMAT: Final = 1
"""Version of the dict below; keys are only added within one version."""


def to_json(report: JobReport) -> dict[str, Any]:
    """`report` as a JSON object: the fields of `JobReport` in their order, after ``format``.

    Moments are ISO 8601 UTC text, durations whole seconds, readings and limits the strings of the record.
    """
    return {"format": FORMAT} | {
        field.name: _plain(getattr(report, field.name)) for field in dataclasses.fields(report)
    }


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
