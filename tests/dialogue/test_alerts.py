"""Alerts on the stage: together, the most urgent first, the tone before everything, silenced by anything, standing."""

from __future__ import annotations

from itertools import pairwise

import pytest

from bayvoice.dialogue.engine import effects as fx
from bayvoice.dialogue.engine import events as ev
from bayvoice.dialogue.engine.alerts import RING_EVERY, RINGS
from bayvoice.procedure.load import load_text
from tests.stage import Stage

COUNT = 20


@pytest.fixture
def stage() -> Stage:
    """Twenty waits that are all due after a minute, and one window that is over at the same moment."""
    steps = "".join(
        f'[[step]]\nid = "w{n}"\nkind = "wait"\nwait = "cure"\nname = "bead {"abcdefghijklmnopqrst"[n]}"\n'
        f'say = "Leave it."\nstarts = "step"\nat_least = "{60 + COUNT - n} s"\ngates = ["end"]\n'
        for n in range(COUNT)
    )
    text = (
        f'format = 1\ntitle = "Beads"\nmachine = "Varrow K40 tow tractor"\n{steps}[[step]]\nid = "glass"\n'
        'kind = "wait"\n'
        'wait = "open"\nname = "glass"\nsay = "Set it."\nstarts = "step"\nat_most = "60 s"\ncloses = "end"\n'
        '[[step]]\nid = "end"\nkind = "do"\nsay = "End."\n'
    )
    stage = Stage(load_text(text, "beads.toml"))
    stage.take(ev.Began(stage.at, "Imre", "boot-1"))
    for _ in range(COUNT):
        stage.hear("next")
    stage.wait(45.0)
    stage.hear("stop")
    stage.forget()
    stage.effects.clear()
    return stage


def test_twenty_at_once_are_one_ringing(stage: Stage) -> None:
    """One burst begins, of the most urgent tone; each is recorded and said, what is over before what is due."""
    stage.wait(15.0)
    assert stage.rung[0] == "soon", "the window was to be warned of twelve seconds before"
    assert sorted(stage.rung[1:]) in (["due", "over"], ["over"])
    assert sum(f.kind == "wait_due" for f in stage.new_facts) == COUNT
    assert sum(f.kind == "wait_over" for f in stage.new_facts) == 1
    ranks = {e.text: e.rank for e in stage.effects if isinstance(e, fx.Say)}
    assert ranks["Time is over: glass."] == 2
    assert ranks["Time reached: bead a. You may go on."] == 1
    assert [a.tone for a in stage.state.alerts] == ["over", *["due"] * COUNT]


def test_the_tone_comes_before_what_takes_time(stage: Stage) -> None:
    """The burst of each turn is asked for before a fact is written or a word rendered."""
    stage.wait(15.0)
    first = next(i for i, e in enumerate(stage.effects) if isinstance(e, fx.Ring))
    assert not [e for e in stage.effects[:first] if isinstance(e, fx.Append | fx.Say)]


def test_bursts_grow_more_urgent_and_leave_gaps_and_end(stage: Stage) -> None:
    """Together every twelve seconds, each time one more urgent, then recorded as unanswered, each, and standing."""
    stage.wait(15.0)
    times: list[tuple[float, int]] = []
    for _ in range(200):
        stage.effects.clear()
        stage.wait(1.0)
        times += [(stage.mono, e.urgency) for e in stage.effects if isinstance(e, fx.Ring)]
    assert [urgency for _, urgency in times] == list(range(1, RINGS))
    assert all(b - a >= RING_EVERY - 1.0 for (a, _), (b, _) in pairwise(times))
    unanswered = [f.body["name"] for f in stage.new_facts if f.kind == "alert_unanswered"]
    assert len(unanswered) == COUNT + 1
    assert all(alert.standing for alert in stage.state.alerts)
    assert len(stage.state.alerts) == COUNT + 1


def test_anything_silences_what_rings_and_stop_what_stands(stage: Stage) -> None:
    """Words that mean nothing here are enough: somebody is there. What stands stays until "stop" or "how long"."""
    stage.wait(15.0)
    stage.forget()
    stage.effects.clear()
    stage.hear("banana", typed=True)
    assert sum(f.kind == "alert_silenced" for f in stage.new_facts) == COUNT + 1
    assert fx.Hush() in stage.effects
    assert not stage.state.alerts
    stage.forget()
    stage.wait(60.0)
    assert not stage.rung
    stage.hear("restart bead a")
    assert stage.state.mode != "sure", "a wait that has ended is not restarted from another step"


def test_what_stands_is_seen_by_stop_only(stage: Stage) -> None:
    stage.wait(200.0)
    assert all(alert.standing for alert in stage.state.alerts)
    stage.hear("repeat")
    assert stage.state.alerts
    stage.hear("stop")
    assert not stage.state.alerts
