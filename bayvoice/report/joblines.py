"""The list of jobs of a bay."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bayvoice.core.effects import Fact
from bayvoice.errors import BayError


@dataclass(frozen=True, slots=True)
class JobLine:
    """One job in a list.

    Attributes:
        name: the job's name.
        title, machine: of the procedure.
        by: who began the last sitting.
        began, last: seconds since 1970 UTC of the first and the last fact.
        state: "open", "done", or "damaged" where the record of this job cannot be read.
        done, total: steps done or skipped, steps of the procedure.
        deviations: how many the report lists.
    """

    name: str
    title: str
    machine: str
    by: str
    began: float
    last: float
    state: str
    done: int
    total: int
    deviations: int


def job_line(name: str, facts: Sequence[Fact]) -> JobLine:
    """Fold the facts of job `name`; BayError where there are none."""
    if not facts:
        raise BayError("this job has no facts", f"job {name}", "look at the list of jobs")
    first = facts[0].body
    sittings = [fact.body for fact in facts if fact.kind == "sitting_began"]
    return JobLine(
        name=name,
        title=str(first.get("title", "")),
        machine=str(first.get("machine", "")),
        by=str(sittings[-1].get("by", "")) if sittings else "",
        began=facts[0].wall,
        last=facts[-1].wall,
        state="done" if any(fact.kind == "job_done" for fact in facts) else "open",
        done=len({fact.body.get("step") for fact in facts if fact.kind == "step_done"}),
        total=0,
        deviations=0,
    )
