"""On random procedures: whatever was taken off is back or explained when the job is done, and the plan shows it."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bayvoice.dialogue.engine import events as ev
from bayvoice.procedure.load import load_text
from bayvoice.procedure.mistakes import BadProcedure
from bayvoice.procedure.model import Procedure
from bayvoice.procedure.vet import vet
from tests.stage import Stage
from tests.willing import Plan

HEAD = 'format = 1\ntitle = "T"\nmachine = "M"\n'
WORDS = ("cover", "guard", "bracket", "pump", "lever", "tank", "shield", "hood", "pulley")
ENDING = '[[step]]\nid = "end"\nkind = "do"\nsay = "End."\n'


@st.composite
def texts(draw: st.DrawFn) -> tuple[str, int]:
    """A random strip-down and its way back; and how many of its things have a way back."""
    things = draw(st.lists(st.sampled_from(WORDS), min_size=1, max_size=6, unique=True))
    body, ways = "", 0
    for number, thing in enumerate(things):
        how = draw(st.sampled_from(["refit", "back", "none", "looks"]))
        ways += how in ("refit", "back")
        head = f'[[step]]\nid = "s{number}"\nsay = "Step for the {thing}."\n'
        if how == "looks":
            body += f'{head}kind = "check"\nask = "Is it whole?"\n'
        elif how == "none":
            body += f'{head}kind = "do"\noff = ["{thing}"]\nback = "none"\nbecause = "scrapped"\n'
        elif how == "refit":
            count = draw(st.integers(1, 6))
            body += f'{head}kind = "fasten"\noff = ["{thing}"]\nundo = true\ncount = {count}\norder = "star"\n'
            body += 'refit = ["9 N.m", "20 N.m"]\n'
        else:
            body += f'{head}kind = "do"\noff = ["{thing}"]\n'
            for part in range(draw(st.integers(1, 3))):
                kind = draw(st.sampled_from(['kind = "do"', 'kind = "check"\nask = "Does it sit?"']))
                body += f'[[step.back]]\nsay = "Back {part}."\n{kind}\n'
    if draw(st.booleans()):
        first = draw(st.integers(0, len(things) - 1))
        last = draw(st.integers(first, len(things) - 1))
        body += f'[[step]]\nkind = "way_back"\nof = ["s{first}", "s{last}"]\n'
    return HEAD + body + '[[step]]\nkind = "way_back"\n' + ENDING, ways


def worked(procedure: Procedure, skips: set[int]) -> Stage:
    """The job done by somebody willing who leaves out, with a reason, the steps at the positions `skips`."""
    stage = Stage(procedure, ("Imre", "Ruth"))
    stage.take(ev.Began(stage.at, "Imre", stage.boot))
    plan, asked = Plan(), set[int]()
    for _ in range(200):
        job = stage.state.job
        if job.finished:
            return stage
        mode = stage.state.mode
        if mode == "override":
            stage.hear("yes")
        elif mode == "reason":
            stage.hear("not needed")
        elif job.step in skips and job.step not in asked:
            asked.add(job.step)
            stage.hear("skip step")
        else:
            words = plan.words(stage.state, stage.at)
            assert words is not None
            stage.hear(words)
    raise AssertionError("the job did not end")


@settings(max_examples=60, deadline=None)
@given(texts(), st.data())
def test_at_the_end_everything_is_back_or_explained(made: tuple[str, int], data: st.DataObject) -> None:
    """By the record alone: each thing taken off was put back, or the record has the reason why not."""
    procedure = load_text(made[0], "x.toml")
    steps = {step.id: step for step in procedure.steps}
    skips = data.draw(st.sets(st.integers(0, len(procedure.steps) - 1), max_size=2))
    stage = worked(procedure, skips)
    off: dict[str, str] = {}
    for fact in stage.facts:
        if fact.kind != "step_done":
            continue
        step, left_out = steps[fact.body["step"]], fact.body["how"] == "skipped"
        for thing in step.puts_back:
            if not left_out or fact.body["reason"]:
                off.pop(thing, None)
        if not left_out and not step.because:
            off.update(dict.fromkeys(step.off, step.id))
    assert off == {}
    assert stage.facts[-1].kind == "job_done"


@settings(max_examples=150, deadline=None)
@given(texts())
def test_the_plan_shows_each_thing_and_its_way(made: tuple[str, int]) -> None:
    """Every thing once: with the steps that put it back, after the step that took it off, or with a reason; and what
    goes back within one marker goes back in the reverse order."""
    procedure = load_text(made[0], "x.toml")
    rows = vet(procedure).as_dict()["way_back"]
    taken = [thing for step in procedure.steps for thing in step.off]
    assert [row["thing"] for row in rows] == taken
    for row in rows:
        assert bool(row["because"]) != bool(row["back"])
        assert all(each["at"] > row["at"] for each in row["back"])
    assert sum(bool(row["back"]) for row in rows) == made[1]
    if made[0].count("way_back") == 1:
        ends = [row["back"][-1]["at"] for row in rows if row["back"]]
        assert ends == sorted(ends, reverse=True)


@settings(max_examples=100, deadline=None)
@given(texts(), st.data())
def test_a_way_back_that_is_missing_is_refused(made: tuple[str, int], data: st.DataObject) -> None:
    """Take the way back of one thing out of the file: it is not loaded, and the mistake names the thing."""
    text, ways = made
    if not ways:
        return
    blocks = text.split("[[step]]\n")
    some = [i for i, block in enumerate(blocks) if "refit" in block or "[[step.back]]" in block]
    at = data.draw(st.sampled_from(some))
    kept = blocks[at].split("[[step.back]]")[0]
    blocks[at] = "".join(line for line in kept.splitlines(keepends=True) if not line.startswith("refit"))
    thing = kept.split('off = ["')[1].split('"')[0]
    with pytest.raises(BadProcedure) as caught:
        load_text("[[step]]\n".join(blocks), "x.toml")
    assert any(f'"{thing}" is taken off and never goes back' in str(each) for each in caught.value.mistakes)
