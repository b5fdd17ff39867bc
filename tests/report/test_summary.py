"""What the foreman is told, and what is not worth telling."""

from __future__ import annotations

import json
from datetime import UTC
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bayvoice.errors import BayError
from bayvoice.job.facts import KINDS, Fact
from bayvoice.report.base.judging import ORDER
from bayvoice.report.base.model import Chain, Deviation
from bayvoice.report.base.section import JobReport
from bayvoice.report.joblines import job_line, jobs_json, render_jobs
from bayvoice.report.render.json import to_json
from bayvoice.report.render.page import to_html
from bayvoice.report.render.text import to_text
from bayvoice.report.sections.checks import CHECKS
from bayvoice.report.sections.fasteners import FASTENERS
from bayvoice.report.sections.foreman import WORDS
from bayvoice.report.sections.gaps import GAPS
from bayvoice.report.sections.measurements import MEASUREMENTS
from bayvoice.report.sections.signatures import SIGNATURES
from bayvoice.report.sections.sittings import SITTINGS
from bayvoice.report.sections.steps import STEPS
from bayvoice.report.sections.tally import TALLY
from bayvoice.report.summary import procedure_of, summarise
from tests.report.every_kind import every_kind_job
from tests.report.whole_job import PROCEDURE, Play, ask_of, eventful_job, good_job


def report_of(facts: list[Fact]) -> JobReport:
    return summarise(facts, procedure_of(facts), Chain(True))


def only(report: JobReport, kind: str) -> list[Deviation]:
    return [d for d in report.deviations if d.kind == kind]


def test_a_job_as_it_should_be_has_nothing_to_look_at() -> None:
    report = report_of(good_job())
    assert (report.result, report.in_order, report.deviations) == ("in order", True, ())
    head = report.header
    assert (head.job, head.state, head.people, head.steps_done, head.steps_total) == (
        "K40-0117",
        "done",
        ("Imre",),
        15,
        15,
    )
    assert head.sha256 == PROCEDURE.sha256
    assert [s.who for s in SIGNATURES.of(report).lines] == ["Ruth"]
    assert [(t.thing, t.went_in, t.came_out, t.inside, t.closed) for t in TALLY.of(report).lines] == [
        ("rag", 2, 2, 0, True),
        ("guide pin", 1, 1, 0, True),
    ]
    assert [(s.amount, s.unit, s.order) for s in FASTENERS.of(report).stages] == [
        ("10", "N.m", ("1", "3", "2", "4")),
        ("24", "N.m", ("1", "3", "2", "4")),
        ("60", "deg", ("1", "3", "2", "4")),
    ]


def test_everything_a_foreman_looks_for_is_listed_once_in_order() -> None:
    report = report_of(eventful_job())
    assert report.result == "deviations: 9"
    assert [(d.kind, d.number, d.text, d.reason, d.by) for d in report.deviations] == [
        ("skipped", 9, "left out: Put the new washer on the drain plug.", "part missing", "Dalia"),
        (
            "skipped",
            10,
            "left out: Call the foreman to look inside; nobody signed; passed by Ruth",
            "foreman's order",
            "Dalia",
        ),
        ("value", 6, "shaft end float is 0.19 mm, above 0.05 to 0.15 mm", "foreman's order", "Imre"),
        ("check", 15, "“Is the joint dry all round?” was answered no, in order is yes", "already done", "Dalia"),
        ("wait", 12, "sealant on the plate was ended after 6 min 52 s, 52 s past its 6 min", "", "Dalia"),
        ("alert", 12, "the alert for sealant on the plate (the limit has passed) was not answered", "", "Dalia"),
        (
            "procedure",
            0,
            "the procedure's file was changed during the job, which kept to the version it began with",
            "",
            "Dalia",
        ),
        ("gap", 6, "the sitting of Imre broke off without a word; 50 min later it went on", "", "Dalia"),
        ("trouble", 0, "microphone: no sound for 20 s", "", "Dalia"),
    ]
    facts = {fact.seq: fact for fact in report.facts}
    assert all(facts[d.seq].wall == d.wall for d in report.deviations)


def test_every_kind_of_fact_leaves_its_mark_on_the_report() -> None:
    """A job in which each kind occurs: every deviation with its step and its reason, in the order of a foreman."""
    facts = every_kind_job()
    assert {fact.kind for fact in facts} == set(KINDS)
    report = report_of(facts)
    assert [(d.kind, d.number, d.text, d.reason) for d in report.deviations] == [
        (
            "tally",
            16,
            "left inside hub: 1 × rag; searched by Ruth (lamp and mirror); passed by Ruth",
            "rag found in the bin",
        ),
        ("finding", 6, "found: scored journal, which led to step 19", ""),
        ("finding", 16, "a foreign part was found in hub: washer", ""),
        ("part", 0, "split pin was not in hand before the job", ""),
        ("part", 11, "no new split pin (K40-9-020) was fitted", "part missing"),
        ("gauge", 5, "the calibration of dial gauge, DG-12 was out of date since 2025-01-31", "no other here"),
        ("batch", 12, "flange sealant, batch B4471, was out of date since 2025-02-28", "tested on glass"),
        ("value", 7, "cap grip is 0.34 mm, above 0.10 to 0.30 mm", "foreman's order"),
        (
            "close",
            6,
            "seal bore run-out is 0.096 mm, too close to a limit to call with ±0.008 mm: at most 0.10 mm",
            "ask Ruth",
        ),
        ("fasten", 14, "fastener 3 reached 64 N·m in pass 2, wanted 60 N·m", "wrench slipped"),
        ("wait", 8, "the window of remover on the flange was changed to 6 min to 12 min", "thick gasket"),
        ("wait", 12, "sealant bead was ended after 11 min 30 s, 1 min 30 s past its 10 min", "still wet"),
        ("alert", 12, "the alert for sealant bead (the limit has passed) was not answered", ""),
        (
            "procedure",
            0,
            "the procedure's file was changed during the job, which kept to the version it began with",
            "",
        ),
        ("gap", 15, "the sitting of Dalia broke off without a word; 11 min 40 s later it went on", ""),
        ("trouble", 0, "microphone: no sound for 20 s", ""),
    ]
    assert report.header.people == ("Imre", "Dalia")
    assert [(w.kind, w.heard is not None) for w in WORDS.of(report)] == [("returned", True), ("signed_off", False)]
    flat = " ".join(to_text(report, UTC).split())
    for piece in (
        "Job signed off by Ruth, 4 Mar 2025, 12:40, no code was asked for. “In order now.”",
        "Given back by Ruth",
        "was logged without being read",
        "A hold point (step 17) was left for later",
        "Remover on the flange was begun anew at 09:10:30: ran off",
        "The computer's clock moved by 2 s",
        "64 N·m, too high",
        "2 rounds after that",
        "typed, with the right code",
        "59 lbf.ft",
        "14 °C",
        "Three rags and a drift are",
        "silenced after 1 burst",
    ):
        assert piece in flat, piece


def test_a_repeated_reading_that_is_put_right_leaves_the_others_standing() -> None:
    first, second, third = MEASUREMENTS.of(report_of(every_kind_job())).lines
    assert [r.value for r in first.readings] == ["0.116", "0.114", "0.112"]
    assert [old.reading.value for old in first.earlier] == ["0.110"]
    assert first.average is not None
    assert (first.value, first.verdict, first.uncertainty) == ("0.114", "within", "0.008")
    assert (second.gauge, second.verdict, second.standing.trusted) == ("dial gauge, DG-12", "close", True)
    assert third.limits_from.startswith("housing_depth")


def test_time_without_an_entry_is_a_gap_only_where_nothing_explains_it() -> None:
    """Half an hour in a plain step; not in a pause, during a wait, at a hold point, or in a step that takes so long."""
    p = Play()
    p.begin()
    p.enter("isolate")
    p.add("noted", 1900.0, step="isolate", text="")
    p.add("paused", 1.0)
    p.add("resumed", 9000.0)
    p.leave("isolate")
    p.enter("remover")
    p.wait("remover", "remover", "act", 180, 48_000)
    p.add("noted", 4000.0, step="remover", text="")
    p.add("wait_ended", 1.0, step="remover", name="remover", seconds=4001, verdict="in window")
    p.enter("inside")
    p.add("signed", 5000.0, step="inside", who="Ruth", role="foreman")
    (gap,) = GAPS.of(report_of(p.facts)).lines
    assert (gap.kind, gap.step, gap.ended - gap.began) == ("silent", "isolate", 1900.0)
    assert [d.text for d in only(report_of(p.facts), "gap")] == [
        "nothing was entered for 31 min 40 s, in no pause and with no wait running"
    ]


def test_a_corrected_value_stands_beside_what_it_replaced() -> None:
    first, second = MEASUREMENTS.of(report_of(eventful_job())).lines
    assert (first.name, first.standing.value, first.standing.verdict) == ("gear backlash", "0.15", "within")
    (old,) = first.earlier
    assert (old.reading.value, old.reading.verdict, old.by) == ("0.50", "high", "Imre")
    assert old.wall == first.standing.wall
    assert (second.standing.value, second.earlier) == ("0.19", ())


def test_an_answer_that_was_put_right_is_worth_a_look() -> None:
    p = Play()
    p.begin()
    p.check("chock", answer=False)
    p.check("chock", answer=True)
    report = report_of(p.facts)
    assert report.in_order
    assert [c.answer for c in CHECKS.of(report).lines] == ["no", "yes"]
    flat = " ".join(to_text(report, UTC).split())
    assert "“Are both front wheels chocked?” was answered no at 08:52:45, then yes by Imre at 08:52:58." in flat


def test_time_is_counted_while_somebody_works() -> None:
    """The fifty minutes between the power cut and the next sitting, and pauses, are nobody's work."""
    p = Play()
    p.begin()
    p.enter("isolate")
    p.add("noted", 60.0, step="isolate", text="")
    p.add("paused", 0.0)
    p.add("resumed", 600.0)
    p.leave("isolate")
    p.sit("Dalia", 3000.0)
    p.enter("chock")
    p.add("sitting_left", 30.0, why="end of shift")
    p.sit("Imre", 50_000.0)
    p.add("checked", 10.0, step="chock", ask=ask_of("chock"), answer=True, want=True)
    report = report_of(p.facts)
    assert report.header.worked == 60 + 30 + 10
    assert {s.step: s.seconds for s in STEPS.of(report).lines if s.visits} == {"isolate": 60, "chock": 40}
    first, second, third = SITTINGS.of(report)
    assert (first.left, second.why, third.left) == (None, "end of shift", None)
    assert report.header.people == ("Imre", "Dalia")


def hold(*facts: tuple[str, dict[str, Any]], done: bool = True) -> JobReport:
    """A report of a job with these facts; where `done`, every step that is not named is simply done."""
    p = Play()
    p.begin()
    named = {body.get("step") for _, body in facts}
    for kind, body in facts:
        p.add(kind, **body)
    if done:
        for step in PROCEDURE.steps:
            if step.id not in named:
                p.leave(step.id, "skipped", "not needed")
        p.add("job_done")
    return report_of(p.facts)


def step_done(step: str, how: str = "done", reason: str = "") -> tuple[str, dict[str, Any]]:
    return "step_done", {"step": step, "how": how, "reason": reason}


def overridden(step: str, what: str) -> tuple[str, dict[str, Any]]:
    return "overridden", {"step": step, "what": what, "name": "the guard's name", "reason": "already done"}


def started(least: int | None, most: int | None) -> tuple[str, dict[str, Any]]:
    return "wait_started", {
        "step": "remover",
        "name": "remover",
        "wait": "act",
        "at_least": least,
        "at_most": most,
        "mono": "1.000",
    }


def ended(seconds: int, verdict: str) -> tuple[str, dict[str, Any]]:
    return "wait_ended", {"step": "remover", "name": "remover", "seconds": seconds, "verdict": verdict}


def signed(who: str) -> tuple[str, dict[str, Any]]:
    return "signed", {"step": "inside", "who": who, "role": "foreman"}


def counted(inside: int) -> tuple[str, dict[str, Any]]:
    return "counted", {"step": "count-open", "opening": "sump", "thing": "rag", "change": 1, "inside": inside}


OLD_WASHER = (
    "replaced",
    {"step": "new-washer", "part": "washer", "name": "drain washer", "number": "K40-7-030", "new": False},
)
BATCH = {"step": "fit", "item": "sealant", "name": "sealant", "number": "B4", "expires": ""}
OPENED = "tally_opened", {"step": "count-open", "opening": "sump"}
CLOSED = "tally_closed", {"step": "count-open", "opening": "sump"}


@pytest.mark.parametrize(
    ("facts", "kind", "text", "reason"),
    [
        (
            [started(180, 480), ended(100, "early"), overridden("remover", "wait")],
            "wait",
            "remover was ended after 1 min 40 s, 1 min 20 s before its 3 min",
            "already done",
        ),
        (
            [started(None, 360), ended(7260, "late")],
            "wait",
            "remover was ended after 2 h 1 min, 1 h 55 min past its 6 min",
            "",
        ),
        ([started(180, 480), ended(20, "dropped")], "wait", "remover was dropped after 20 s", ""),
        ([started(180, 480)], "wait", "remover was started and its end is not recorded", ""),
        (
            [started(180, 480), ("wait_over", {"step": "remover", "name": "remover"})],
            "wait",
            "remover passed its 8 min and its end is not recorded",
            "",
        ),
        (
            [started(180, 480), ended(500, "late"), started(180, 480), ended(200, "in window")],
            "wait",
            "remover was ended after 8 min 20 s, 20 s past its 8 min; it was done again",
            "",
        ),
        (
            [signed("imre "), step_done("inside")],
            "unsigned",
            "imre, who worked on this job, signed in place of the foreman",
            "",
        ),
        ([step_done("inside")], "unsigned", "nobody signed for gears and faces in the open sump", ""),
        ([step_done("tighten")], "fasten", "plate bolt: 0 of 3 passes recorded", ""),
        ([OLD_WASHER], "part", "no new drain washer (K40-7-030) was fitted", ""),
        ([OPENED, counted(2)], "tally", "left inside sump: 2 × rag; nobody is named who searched for it", "not needed"),
        (
            [OPENED, counted(1), CLOSED, overridden("count-open", "tally")],
            "tally",
            "left inside sump: 1 × rag; nobody is named who searched for it",
            "already done",
        ),
        ([OPENED, counted(0)], "tally", "the count of sump was never closed", "not needed"),
        (
            [overridden("leak", "check")],
            "override",
            "the job went on though an answer was not in order: the guard's name",
            "already done",
        ),
        ([overridden("leak", "moon")], "override", "the guard “moon” was overridden: the guard's name", "already done"),
        (
            [started(180, 480), ("wait_ended", ended(20, "cancelled")[1] | {"reason": "wrong tin"})],
            "wait",
            "remover was cancelled after 20 s",
            "wrong tin",
        ),
        (
            [
                OPENED,
                counted(1),
                counted(0),
                step_done("count-closed", "skipped", "not needed"),
                overridden("count-closed", "skip"),
            ],
            "tally",
            "the count of sump was never closed",
            "not needed",
        ),
        (
            [
                step_done("inside", "skipped", "not needed"),
                ("overridden", overridden("inside", "hold")[1] | {"who": "Ruth"}),
            ],
            "skipped",
            "left out: Call the foreman to look inside; nobody signed; passed by Ruth",
            "already done",
        ),
        (
            [
                ("checked", {"step": "leak", "ask": "Dry?", "answer": False, "want": True}),
                step_done("leak", "skipped", "x"),
            ],
            "skipped",
            "left out: Look along the joint with a lamp; “Dry?” was answered no",
            "x",
        ),
        ([step_done("new-washer")], "part", "no new drain washer is recorded", ""),
        (
            [("helped", {"step": "lift", "people": 2}), ("moved_together", {"step": "lift", "result": "no"})],
            "check",
            "the common move was not in order, and nothing says that it was repeated",
            "",
        ),
        (
            [("batch", BATCH | {"state": "not said"})],
            "batch",
            "sealant, batch B4: nobody said until when it may be used",
            "",
        ),
        (
            [("trouble", {"part": "microphone", "what": "no sound"})] * 3,
            "trouble",
            "microphone: no sound (3 times)",
            "",
        ),
    ],
)
def test_each_thing_out_of_order_has_its_sentence(
    facts: list[tuple[str, dict[str, Any]]], kind: str, text: str, reason: str
) -> None:
    found = [d for d in only(hold(*facts), kind) if d.reason != "not needed" or reason == "not needed"]
    assert (text, reason) in [(d.text, d.reason) for d in found]
    assert kind == "skipped" or len(found) == 1


def test_a_step_never_done_shows_when_the_job_is_done() -> None:
    p = Play()
    p.begin()
    for step in PROCEDURE.steps[:-2]:
        p.leave(step.id, "skipped", "not needed")
    assert only(report_of(p.facts), "undone") == []
    p.add("job_done")
    assert [d.text for d in only(report_of(p.facts), "undone")] == [
        "not done: Tighten the four plate bolts.",
        "not done: Look along the joint with a lamp.",
    ]


def test_an_open_job_is_not_blamed_for_what_is_still_to_come() -> None:
    for upto in range(1, len(good_job())):
        report = report_of(good_job()[:upto])
        assert report.deviations == (), f"after {upto} facts"
        assert report.header.state == "open" or upto >= len(good_job()) - 1


def test_a_recovery_asks_for_its_proofs_again() -> None:
    """What was signed and tightened before the window was missed proves nothing for the work done again."""
    p = Play()
    p.begin()
    p.enter("inside")
    p.add("signed", step="inside", who="Ruth", role="foreman")
    p.leave("inside")
    p.enter("remover", "recovery")
    report = report_of(p.facts)
    assert report.header.steps_done == 0
    assert [s.who for s in SIGNATURES.of(report).lines] == ["Ruth"]
    p.enter("inside")
    p.leave("inside")
    assert [d.kind for d in report_of(p.facts).deviations] == ["unsigned"]


def test_a_lost_procedure_still_gives_a_report() -> None:
    facts = eventful_job()
    facts[0] = Fact(1, facts[0].wall, "job_began", facts[0].body | {"text": "not = [a procedure"})
    report = report_of(facts)
    assert procedure_of(facts) is None
    assert (report.header.title, report.header.steps_total) == ("Sump plate, strip and reseal", 15)
    assert {d.kind for d in report.deviations} >= {"value", "skipped", "check", "wait"}


def test_no_facts_no_report() -> None:
    with pytest.raises(BayError, match="no facts"):
        summarise([], None)


_SCALAR: st.SearchStrategy[Any] = (
    st.none() | st.booleans() | st.integers() | st.text(max_size=8) | st.lists(st.integers(), max_size=3)
)
_WORDS = st.sampled_from(
    ["fit", "remover", "inside", "sump", "within", "high", "done", "recovery", "", "10", "-0.5", "1e400"]
)


@settings(suppress_health_check=[HealthCheck.too_slow], deadline=None)  # says how busy the machine is, no more
@given(
    st.lists(
        st.tuples(
            st.sampled_from([*KINDS, "weighed"]),
            st.dictionaries(
                st.sampled_from(sorted({k for keys in KINDS.values() for k in keys})), _SCALAR | _WORDS, max_size=9
            ),
            st.floats(0, 2.5e11),
        ),
        min_size=1,
        max_size=12,
    )
)
def test_whatever_a_record_holds_a_report_comes_out(facts: list[tuple[str, dict[str, Any], float]]) -> None:
    """Bodies of older or later versions, or of somebody who wrote into the file: every renderer still works."""
    made = [Fact(i, wall, kind, body) for i, (kind, body, wall) in enumerate(facts, 1)]
    report = report_of(made)
    assert all(d.kind in ORDER for d in report.deviations)
    assert to_html(report).startswith("<!DOCTYPE html>")
    assert to_text(report)
    json.dumps(to_json(report))
    render_jobs([job_line("J", report)])


def test_json_keeps_its_shape_and_its_moments() -> None:
    """A program reads back what the record holds; ISO moments and strings of digits, no floats anywhere."""
    whole = json.loads(json.dumps(to_json(report_of(eventful_job()))))
    # The order of keys means nothing (RFC 8259, section 4: an object is an unordered collection).
    assert sorted(whole) == sorted(
        [
            "format",
            "header",
            "result",
            "in_order",
            "chain",
            "words",
            "deviations",
            "measurements",
            "gauges",
            "checks",
            "stages",
            "bolts",
            "rounds",
            "waits",
            "alerts",
            "ambient",
            "refusals",
            "particulars",
            "parts",
            "supplies",
            "tally",
            "searches",
            "signatures",
            "deferred",
            "helped",
            "branches",
            "reckoned",
            "notes",
            "steps",
            "sittings",
            "handovers",
            "gaps",
            "facts",
            "heading",
        ]
    )
    assert [d["level"] for d in whole["deviations"]] == [
        "guard passed",
        "guard passed",
        "value",
        "value",
        "wait",
        "wait",
        "other",
        "other",
        "other",
    ]
    assert whole["header"]["began"] == "2025-03-04T08:52:33.250000Z"
    assert whole["measurements"][0]["earlier"][0]["reading"]["value"] == "0.50"
    assert whole["refusals"][0]["missing"] == 80
    assert [fact["body"] for fact in whole["facts"]] == [fact.body for fact in eventful_job()]

    def floats(value: Any) -> bool:
        if isinstance(value, dict):
            return any(floats(v) for v in value.values())
        return isinstance(value, float) or (isinstance(value, list) and any(floats(v) for v in value))

    assert not floats(whole)


def test_the_list_of_jobs_reads_as_a_table() -> None:
    broken = summarise(good_job(), procedure_of(good_job()), Chain(False, 7, "it was changed"))
    lines = [
        job_line("K40-0118", report_of(eventful_job())),
        job_line("K40-0117", report_of(good_job()[:20])),
        job_line("K40-0116", broken),
    ]
    table = render_jobs(lines).splitlines()
    assert table[0].split() == ["JOB", "STATE", "STEPS", "RESULT", "LAST", "BY", "PROCEDURE"]
    assert table[1].split()[:5] == ["K40-0118", "done", "15/15", "9", "deviations"]
    assert table[2] == "    left out: Put the new washer on the drain plug."
    assert table[3].split()[:7] == ["K40-0117", "open", "5/15", "In", "order", "so", "far"]
    assert table[4].split()[:8] == ["K40-0116", "done", "15/15", *["Do", "not", "rely", "on", "this"]]
    assert table[5] == "    fact 7 does not hold: it was changed"
    assert jobs_json(lines)[0]["began"] == "2025-03-04T08:52:33.250000Z"
    assert json.loads(json.dumps(jobs_json(lines)))[1]["steps_total"] == 15
    assert render_jobs([]) == "No jobs in this record.\n"
