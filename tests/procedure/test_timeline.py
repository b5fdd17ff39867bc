"""The least time of a job, and the chain of steps and waits that fixes it."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bayvoice.procedure.forms import FORMS
from bayvoice.procedure.load import load_text
from bayvoice.procedure.mistakes import BadProcedure
from bayvoice.procedure.model import Do, Kind, Procedure, Step, Wait, WaitKind
from bayvoice.procedure.timeline import lines, timeline
from bayvoice.procedure.vet import vet

HEAD = 'format = 1\ntitle = "T"\nmachine = "M"\n'


def do(step_id: str, minutes: int) -> str:
    return f'[[step]]\nid = "{step_id}"\nkind = "do"\nsay = "S."\ntakes = "{minutes} min"\n'


def wait(step_id: str, minutes: int, gate: str, more: str = "") -> str:
    return (
        f'[[step]]\nid = "{step_id}"\nkind = "wait"\nwait = "settle"\nname = "w"\nsay = "S."\n'
        f'at_least = "{minutes} min"\ngates = ["{gate}"]\n{more}'
    )


def test_a_wait_overlaps_the_work_before_the_step_it_holds_back() -> None:
    """By hand: work 5, wait 20 beside work 8, so 12 idle, then 4: 29 minutes; the work beside it is not critical."""
    made = load_text(HEAD + do("a", 5) + wait("w", 20, "c") + do("b", 8) + do("c", 4), "x.toml")
    line = timeline(made)
    assert (line.total, line.work, line.waits, line.idle) == (29 * 60, 17 * 60, 20 * 60, 12 * 60)
    assert [made.steps[i].id for i in line.critical] == ["a", "w", "c"]
    assert [slot.begins // 60 for slot in line.slots] == [0, 5, 5, 25]


def test_a_wait_shorter_than_the_work_beside_it_is_not_critical() -> None:
    """By hand: 5 + 8 + 4, the wait of 6 costs nothing."""
    made = load_text(HEAD + do("a", 5) + wait("w", 6, "c") + do("b", 8) + do("c", 4), "x.toml")
    line = timeline(made)
    assert (line.total, line.idle) == (17 * 60, 0)
    assert [made.steps[i].id for i in line.critical] == ["a", "w", "b", "c"]


def test_what_the_reader_gets() -> None:
    """A sentence with the sums, then bars: work and waits, the critical path marked."""
    made = load_text(HEAD + do("a", 5) + wait("w", 20, "c") + do("b", 8) + do("c", 4), "x.toml")
    assert lines(made, timeline(made)) == [
        "timeline: at least 29 min = work 17 min + waiting with nothing to do 12 min; waits 20 min, overlapped with "
        "work 8 min",
        "    0:00:00 ███████                                  * 1 a",
        "    0:05:00       ░░░░░░░░░░░░░░░░░░░░░░░░░░░░░      * 2 w, 20 min",
        "    0:05:00       ████████████                         3 b",
        "    0:25:00                                   ██████ * 4 c",
    ]


def test_a_window_the_work_does_not_fit_into_is_refused() -> None:
    """Four and five minutes of work do not fit into eight minutes of working time; they fit into nine."""
    text = HEAD + (
        '[[step]]\nid = "w"\nkind = "wait"\nwait = "open"\nname = "bead"\nsay = "S."\nat_most = "8 min"\ncloses = "b"\n'
        'starts = "step"\n'
    )
    text += do("a", 4) + do("b", 5)
    with pytest.raises(BadProcedure, match='the window is 8 min and the steps up to "b" take 9 min'):
        load_text(text, "x.toml")
    assert load_text(text.replace('"8 min"', '"9 min"'), "x.toml").steps


def test_steps_without_a_time_are_named() -> None:
    """They count as nothing, and that is said."""
    made = load_text(HEAD + do("a", 5) + do("b", 1).replace('takes = "1 min"\n', ""), "x.toml")
    assert timeline(made).untimed == (1,)
    assert any("1 of 2 steps do not say how long they take" in line for line in vet(made).lines())
    assert vet(made).as_dict()["timeline"]["untimed"] == ["b"]


@st.composite
def jobs(draw: st.DrawFn) -> Procedure:
    """Random lines of steps and waits, each wait holding back one later step."""
    count = draw(st.integers(2, 14))
    steps = []
    for i in range(count):
        takes = draw(st.one_of(st.none(), st.integers(0, 50)))
        if i < count - 1 and draw(st.booleans()):
            gate = f"s{draw(st.integers(i + 1, count - 1))}"
            detail = Wait(WaitKind.SETTLE, "w", draw(st.integers(1, 90)), None, (gate,), on_go=draw(st.booleans()))
            steps.append(Step(f"s{i}", Kind.WAIT, "S.", "S.", detail, takes=takes))
        else:
            steps.append(Step(f"s{i}", Kind.DO, "S.", "S.", Do(), takes=takes))
    return Procedure("p", "T", "M", tuple(steps), kinds=FORMS)


@settings(max_examples=300, deadline=None)
@given(jobs())
def test_the_critical_path_is_as_long_as_the_job(made: Procedure) -> None:
    """Longest path through the graph of all constraints, found by relaxation (R. Bellman, 1958), gives the same end."""
    starts = [0] * len(made.steps)
    index = {step.id: i for i, step in enumerate(made.steps)}
    for _ in made.steps:
        for i, step in enumerate(made.steps):
            end = starts[i] + (step.takes or 0)
            after = [(i + 1, end)] if i + 1 < len(made.steps) else []
            if isinstance(step.detail, Wait):
                began = end if step.detail.on_go else starts[i]
                after += [(index[gate], began + (step.detail.at_least or 0)) for gate in step.detail.gates]
            for j, bound in after:
                starts[j] = max(starts[j], bound)
    line = timeline(made)
    assert [slot.begins for slot in line.slots] == starts
    assert line.total == starts[-1] + (made.steps[-1].takes or 0)
    assert line.total == line.work + line.idle
    # What stands on the critical path adds up to the whole: work where the next step follows, waits where it was held.
    length = made.steps[line.critical[-1]].takes or 0
    for here, there in pairwise(line.critical):
        step = made.steps[here]
        if line.slots[there].held:
            assert isinstance(step.detail, Wait)
            length += (step.detail.at_least or 0) + ((step.takes or 0) if step.detail.on_go else 0)
        else:
            length += step.takes or 0
    assert length == line.total
