"""The record looked at again and again, each job folded anew only when it has a new fact."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from bayvoice.dialogue.steps import KINDS
from bayvoice.errors import BayError
from bayvoice.job.card import JobCard
from bayvoice.job.job import Job, fold_all
from bayvoice.procedure.load import load_kept
from bayvoice.record.sounds import read_sound
from bayvoice.record.sqlite.outfile import write_whole
from bayvoice.record.sqlite.store import Store
from bayvoice.report.joblines import damaged_line, heading_of
from bayvoice.report.joblines import flags as flags_of
from bayvoice.report.judged import judge, report_of
from bayvoice.report.render.page import to_html
from bayvoice.report.render.text import to_text

FLAGS = 4
"""How many deviations a card names; the rest are counted."""


@dataclass(frozen=True, slots=True)
class _Known:
    """A job as of fact `end`. `last`: wall time of its newest fact; `job` None where it is damaged."""

    end: int
    last: float
    job: Job | None
    title: str
    by: str
    flags: tuple[str, ...]
    heading: str
    good: bool


class JobsLook:
    """The cards of a record, each with what its report is headed with.

    Args:
        store: open for reading.
        wall: seconds since 1970 UTC; waits are seen by this clock, since another computer's sitting has its own.
    """

    def __init__(self, store: Store, wall: Callable[[], float] = time.time) -> None:
        self._store = store
        self._wall = wall
        self._known: dict[str, _Known] = {}
        self._unproved: set[str] = set()
        self._version = store.data_version()

    def __call__(self) -> list[JobCard]:
        """One card a job: open ones first, of these the one heard of last first."""
        now = self._wall()
        for name, end in self._store.ends().items():
            if name not in self._known or self._known[name].end != end:
                self._known[name] = self._read(name, end)
                self._unproved.discard(name)
        self._prove_one()
        known = sorted(self._known.items(), key=lambda item: (_closed(item[1]), -item[1].last))
        return [_card(name, one, now) for name, one in known]

    def _prove_one(self) -> None:
        """A hand on the file adds no fact: once the file has changed, the jobs that seem as they were are proved anew.

        One a look, so that a year of jobs costs next to nothing.
        """
        if self._unproved:
            name = self._unproved.pop()
            self._known[name] = self._read(name, self._known[name].end)
        elif (now := self._store.data_version()) != self._version:
            self._version = now
            self._unproved = set(self._known)

    def _read(self, name: str, end: int) -> _Known:
        try:
            facts = self._store.facts(name)
            began = facts[0].body
            job = fold_all(Job(name, load_kept(began["text"], str(began["procedure"]), KINDS), KINDS), facts)
            report = judge(self._store, name, facts)
        except (BayError, KeyError, IndexError):
            line = damaged_line(name)
            return _Known(end, 0.0, None, "", "", (line.worst,), line.heading, line.good)
        flags = list(flags_of(report))
        more = (f"and {len(flags) - FLAGS} more",) if len(flags) > FLAGS else ()
        title = f"{report.header.title}, {report.header.machine}"
        return _Known(
            end, facts[-1].wall, job, title, job.by, (*flags[:FLAGS], *more), report.heading, heading_of(report).good
        )

    def report(self, name: str) -> str:
        """The report of a job as plain text."""
        return to_text(report_of(self._store, name))

    def write_page(self, name: str) -> str:
        """Write the page of a job into the present folder; the file's name, or why it could not be written."""
        path = Path(f"{name.replace('/', '-')}.html")
        try:
            page = to_html(report_of(self._store, name), fetch=lambda sound: read_sound(self._store.path, sound))
            write_whole(path, page.encode(), self._store.path, "the page")
        except BayError as error:
            return f"nothing; {error}"
        return str(path)


def _closed(one: _Known) -> bool:
    return one.job is not None and one.job.finished


def _card(name: str, one: _Known, now: float) -> JobCard:
    idle = max(0.0, now - one.last)
    job = one.job
    if job is None:
        return JobCard(name, one.title, one.by, "DAMAGED", "", idle, (), now, one.flags, one.heading, one.good)
    total = len(job.procedure.steps)
    place = "DONE" if job.finished else f"STEP {job.step + 1} OF {total}" + (" PAUSED" if job.paused else "")
    mono, wall = job.clock
    waits = tuple(replace(wait, since=wall + (wait.since - mono)) for wait in job.waits)
    step = job.current.say if job.current is not None and not job.finished else ""
    return JobCard(name, one.title, one.by, place, step, idle, waits, now, one.flags, one.heading, one.good)
