"""The one line a job is headed with, wherever it is shown: report, list of jobs, live look."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bayvoice.report.base.model import Chain
from bayvoice.report.base.words import count

DISTRUST: Final = "Do not rely on this record"
"""Heads a job whose audit fails, whatever its facts say."""


@dataclass(frozen=True, slots=True)
class Heading:
    """`text`: the line; `good`: nothing in the job needs anybody's eye."""

    text: str
    good: bool


def heading(chain: Chain, deviations: int, still_open: bool) -> Heading:
    """What a job is headed with: first whether the record holds, then whether the work is in order."""
    so_far = " so far" if still_open else ""
    found = f"{count(deviations, 'deviation')}{so_far}" if deviations else ""
    if chain.ok is False:
        return Heading(f"{DISTRUST}{f'; {found}' if found else ''}", False)
    if found:
        return Heading(found, False)
    if chain.ok is None:
        return Heading(f"No deviations{so_far}, record not checked", False)
    return Heading(f"In order{so_far}", True)
