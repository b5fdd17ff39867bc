"""One job at a glance, for whoever looks over all of them."""

from __future__ import annotations

from dataclasses import dataclass

from bayvoice.job.job import Running


@dataclass(frozen=True, slots=True)
class JobCard:
    """One job as the foreman sees it.

    Attributes:
        name, title, by: of the job, of its procedure, of the last sitting.
        place: "STEP 3 OF 30", "DONE", "DAMAGED".
        step: what the step says, "" where there is none.
        idle: seconds since the last fact.
        waits: what runs, and `now`: the moment they are seen at, on their own clock.
        flags: what is not in order, in words, the worst first.
        heading, good: what the job's report is headed with, and whether that needs nobody's eye.
    """

    name: str
    title: str
    by: str
    place: str
    step: str
    idle: float
    waits: tuple[Running, ...]
    now: float
    flags: tuple[str, ...]
    heading: str = ""
    good: bool = True
