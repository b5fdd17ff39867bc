"""The computer's clocks: what they count, who may set them, and that the loop notices when somebody does."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from bayvoice.dialogue.engine.events import Began, Event, Left, Stamp
from bayvoice.dialogue.engine.state import State
from bayvoice.host.clock import LiveClock
from bayvoice.host.datafiles import read_procedure
from bayvoice.job.clocks import MOST_AWAY, SLACK, Away, away, moved
from bayvoice.record.sqlite.store import Store
from bayvoice.runtime.hub import Hub, NoEars, notes_into
from bayvoice.runtime.inbox import Inbox
from bayvoice.voice.player import NullPlayer
from tests.stage import new_state, wording


@pytest.mark.skipif(not hasattr(time, "CLOCK_BOOTTIME"), reason="this system has no clock that counts suspended time")
def test_it_counts_suspended_time() -> None:
    """CLOCK_BOOTTIME: as CLOCK_MONOTONIC, and suspended time too (clock_gettime(2))."""
    clock = LiveClock()
    assert clock.mono() == pytest.approx(time.clock_gettime(time.CLOCK_BOOTTIME), abs=0.5)


def test_another_process_of_the_same_run_counts_the_same() -> None:
    """What a job that is taken up after kill -9 relies on: name of the run and count go on."""
    clock = LiveClock()
    code = "from bayvoice.host.clock import LiveClock; c = LiveClock(); print(c.boot, c.mono())"
    before = clock.mono()
    boot, mono = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True).stdout.split()
    assert boot == clock.boot
    assert before <= float(mono) <= clock.mono()


def test_a_time_zone_changes_nothing() -> None:
    """Stamps are in Universal Time."""
    clock, zone = LiveClock(), os.environ.get("TZ")
    try:
        tied = []
        for name in ("UTC", "Pacific/Kiritimati", "America/St_Johns"):
            os.environ["TZ"] = name
            time.tzset()
            now = clock.now()
            tied.append(now.wall - now.mono)
        assert max(tied) - min(tied) < 0.5
    finally:
        os.environ.pop("TZ") if zone is None else os.environ.update(TZ=zone)
        time.tzset()


class Settable(LiveClock):
    """The real clocks, as if somebody had set the wall clock by `by` seconds."""

    by = 0.0

    def now(self) -> Stamp:
        real = super().now()
        return Stamp(real.mono, real.wall + self.by)


@pytest.mark.parametrize("by", [7200.0, -7200.0])
def test_the_loop_notices_within_a_second_that_the_clock_was_set(tmp_path: Path, by: float) -> None:
    """With nothing else going on, and before the power may fail: the record then holds by how much."""
    clock, kinds, began = Settable(), [], threading.Event()

    def watch(event: Event | None, _: object, state: State) -> None:
        if isinstance(event, Began):
            began.set()
        kinds.append(state.job.clock)

    with Store(tmp_path / "bay.sqlite") as store:
        store.claim("job-1", "Imre")
        state = new_state("job-1", read_procedure("lift-chain"), wording())
        inbox = Inbox()
        player = NullPlayer(notes_into(inbox, clock), clock.mono(), False)
        hub = Hub(state, clock, store, None, player, NoEars(), inbox, watch)
        inbox.put(lambda _: (Began(clock.now(), "Imre", clock.boot),))

        def somebody() -> None:
            began.wait()
            time.sleep(1.2)
            clock.by = by
            time.sleep(2.5)
            inbox.put(lambda _: (Left(clock.now(), "done"),))

        thread = threading.Thread(target=somebody)
        thread.start()
        hub.run_live()
        thread.join()
        facts = store.facts("job-1")
    jumped = [fact for fact in facts if fact.kind == "clock_moved"]
    assert [(fact.body["seconds"], fact.body["what"]) for fact in jumped] == [(round(by), "running")]
    left = next(fact for fact in facts if fact.kind == "sitting_left")
    assert left.wall - jumped[0].wall > 1.0, "it came only with the next event"


@pytest.mark.parametrize(
    ("gap", "mono", "boot", "wanted"),
    [
        (3600.0, 40.0, "b", Away(3600.0 - SLACK, 2 * SLACK, counted=40.0)),  # a plain restart
        (41.0, 40.0, "b", Away(40.0, 41.0 + SLACK - 40.0, counted=40.0)),  # never less than the age of the new run
        (-3600.0, 40.0, "b", Away(40.0, 0.0, lost=True, counted=40.0)),  # set back meanwhile
        (10.0, 40.0, "b", Away(40.0, 0.0, lost=True, counted=40.0)),  # less than the new run is old
        (MOST_AWAY + 1, 40.0, "b", Away(40.0, 0.0, lost=True, counted=40.0)),  # a year that is not believed
        (10.0, 90_000.0, "unknown-1", Away(8.0, 2 * SLACK)),  # maybe the same run: its age is no bound
    ],
)
def test_what_is_known_of_the_time_between(gap: float, mono: float, boot: str, wanted: Away) -> None:
    assert away(1000.0, 1000.0 + gap, mono, boot) == wanted


def test_small_steps_of_the_wall_clock_are_no_news() -> None:
    """A clock that is slewed or stepped by less than `SLACK` is not told of; the sum of many is."""
    assert moved((10.0, 1000.0), 20.0, 1010.0 + SLACK) == 0.0
    assert moved((10.0, 1000.0), 20.0, 1011.0 + SLACK) == pytest.approx(1.0 + SLACK)
