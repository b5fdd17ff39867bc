"""What has been measured in a job: readings, what each measurement stands at, gauges. Part of `job.job.Job`."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

IN_DATE, OUT_OF_DATE, NOT_KNOWN = "in_date", "out_of_date", "not_known"
"""States of a gauge's calibration, as `gauge_used` records them."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A logged measurement.

    Attributes:
        verdict: "within", "low", "high" or "close" (too close to call).
        nth, of: it is the `nth` of `of` repeated readings.
        corrects: seq of the reading it replaces, or 0.
        by, wall: who logged it, and when.
        gauge_state: state of its gauge at that time, "" where the procedure does not describe one.
    """

    seq: int
    step: str
    name: str
    value: Decimal
    unit: str
    verdict: str
    nth: int = 1
    of: int = 1
    corrects: int = 0
    by: str = ""
    wall: float = 0.0
    gauge_state: str = ""


@dataclass(frozen=True, slots=True)
class Measured:
    """What has been measured so far.

    Attributes:
        readings: all that were logged, the replaced ones too, oldest first.
        values: (name, value, unit) that each measurement stands at: its last reading, or the mean of repeated ones.
        used: (gauge id, state) of the gauges used in the present sitting.
        passed: ids of out-of-date gauges whose values count after all in the present sitting.
        doubted: ids of steps whose value was taken with an out-of-date gauge and does not count yet.
        over: (step id, seq): readings of that step up to this one belong to no series that goes on.
        meant: (step id, seq of the newest reading of the series whose mean was recorded last).
        verdicts: (name, verdict) of what each measurement stands at, by the limits there are now: as in `Reading`, or
            "scattered" (repeated readings too far apart), "again" (it is being measured anew), "open" (its own limits
            can't be worked out).
        ungauged: names whose value was taken with an out-of-date gauge, also where an override lets it count.
    """

    readings: tuple[Reading, ...] = ()
    values: tuple[tuple[str, Decimal, str], ...] = ()
    used: tuple[tuple[str, str], ...] = ()
    passed: frozenset[str] = frozenset()
    doubted: frozenset[str] = frozenset()
    over: tuple[tuple[str, int], ...] = ()
    meant: tuple[tuple[str, int], ...] = ()
    verdicts: tuple[tuple[str, str], ...] = ()
    ungauged: frozenset[str] = frozenset()

    def verdict(self, name: str) -> str:
        """The verdict on what the measurement `name` stands at, "" where it has no value."""
        return dict(self.verdicts).get(name, "")

    def unfit(self, name: str) -> str:
        """Why other limits may not be worked out from `name`: its verdict, or "gauge"; "" where they may.

        An override does not make a value fit: it lets the job go on, not the value be right.
        """
        verdict = self.verdict(name)
        return verdict if verdict != "within" else "gauge" if name in self.ungauged else ""

    def judged(self, name: str, verdict: str) -> Measured:
        """The verdict on what `name` stands at."""
        return replace(self, verdicts=(*(row for row in self.verdicts if row[0] != name), (name, verdict)))

    def value(self, name: str) -> tuple[Decimal, str] | None:
        """Value and unit that the measurement `name` stands at, None where it has none."""
        return next(((value, unit) for known, value, unit in self.values if known == name), None)

    def series(self, step_id: str) -> tuple[Reading, ...]:
        """The readings of a step's present series in order, corrected ones replaced by what corrects them."""
        after = dict(self.over).get(step_id, 0)
        found: dict[int, Reading] = {}
        for reading in self.readings:
            if reading.step != step_id or reading.seq <= after:
                continue
            if reading.nth == 1 and not reading.corrects:
                found = {}
            found[reading.nth] = reading
        return tuple(found[nth] for nth in sorted(found))

    def unmeant(self, step_id: str, of: int) -> bool:
        """Whether a step's series of `of` readings is complete and its mean has not been recorded."""
        series = self.series(step_id)
        return len(series) >= of and max(r.seq for r in series) > dict(self.meant).get(step_id, 0)

    def averaged(self, step_id: str) -> Measured:
        """The mean of a step's series was recorded."""
        newest = max((r.seq for r in self.readings if r.step == step_id), default=0)
        return replace(self, meant=(*(row for row in self.meant if row[0] != step_id), (step_id, newest)))

    def next_nth(self, step_id: str, of: int) -> int:
        """Which reading of the step's series comes next, from 1; a series that is complete begins anew."""
        taken = len(self.series(step_id))
        return 1 if taken >= of else taken + 1

    def gauge_state(self, gauge_id: str) -> str:
        """State of a gauge used in this sitting, "" where it has not been used."""
        return dict(self.used).get(gauge_id, "")

    def doubtful(self, gauge_id: str) -> bool:
        """Whether values taken with this gauge do not count."""
        return self.gauge_state(gauge_id) == OUT_OF_DATE and gauge_id not in self.passed

    def sitting_begins(self) -> Measured:
        """In a new sitting gauges are looked at anew."""
        return replace(self, used=(), passed=frozenset())

    def redone(self, steps: frozenset[str], seq: int) -> Measured:
        """The steps `steps` are to be done again: their series begin anew."""
        over = tuple((step, at) for step, at in self.over if step not in steps)
        stale = {reading.name for reading in self.readings if reading.step in steps}
        verdicts = tuple((name, "again" if name in stale else verdict) for name, verdict in self.verdicts)
        over = (*over, *((step, seq) for step in sorted(steps)))
        return replace(self, over=over, doubted=self.doubted - steps, verdicts=verdicts)

    def read(self, reading: Reading, gauge_id: str) -> Measured:
        """After a reading was logged. A single one is what the measurement stands at; repeated ones are averaged."""
        reading = replace(reading, gauge_state=self.gauge_state(gauge_id))
        found = replace(self, readings=(*self.readings, reading))
        doubted = self.doubted | {reading.step} if self.doubtful(gauge_id) else self.doubted - {reading.step}
        found = replace(found, doubted=doubted)
        if reading.of == 1:
            return found.stands(reading.name, reading.value, reading.unit, reading.verdict, (reading,))
        # A value that stands is the mean of other readings than these until their own mean is recorded.
        return found.judged(reading.name, "again") if found.value(reading.name) else found

    def stands(self, name: str, value: Decimal, unit: str, verdict: str, taken: tuple[Reading, ...]) -> Measured:
        """The measurement `name` stands at `value`, by the readings `taken`."""
        others = tuple(row for row in self.values if row[0] != name)
        bad = any(reading.gauge_state == OUT_OF_DATE for reading in taken)
        ungauged = self.ungauged | {name} if bad else self.ungauged - {name}
        return replace(self, values=(*others, (name, value, unit)), ungauged=ungauged).judged(name, verdict)

    def gauge_used(self, gauge_id: str, state: str) -> Measured:
        """A gauge was used for the first time in this sitting, or asked about again."""
        others = tuple(row for row in self.used if row[0] != gauge_id)
        return replace(self, used=(*others, (gauge_id, state)))

    def gauge_passed(self, gauge_id: str, steps: frozenset[str]) -> Measured:
        """An override lets the values of an out-of-date gauge count, in the `steps` that measure with it."""
        return replace(self, passed=self.passed | {gauge_id}, doubted=self.doubted - steps)
