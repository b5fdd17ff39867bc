"""Facts of formats 1 and 2 as they were written, read as today's: they fold, and nothing they said is lost."""

from __future__ import annotations

from typing import Any

import pytest

from bayvoice.dialogue.steps import KINDS
from bayvoice.job import facts
from bayvoice.job.facts import Fact, upward
from bayvoice.job.job import Job, fold_all
from bayvoice.procedure.load import load_text
from bayvoice.report.base.worded import worded

OLD: list[tuple[str, dict[str, Any], dict[str, Any]]] = [
    ("refused", {"step": "a", "what": "wait", "name": "glue", "seconds": 80}, {"n": 80, "of": "seconds"}),
    ("refused", {"step": "a", "what": "late", "name": "glue", "seconds": 9}, {"n": 9, "of": "seconds"}),
    ("refused", {"step": "a", "what": "tally", "name": "hub", "seconds": 2}, {"n": 2, "of": "things"}),
    ("refused", {"step": "a", "what": "code", "name": "foreman", "seconds": 3}, {"n": 3, "of": "tries"}),
    ("refused", {"step": "a", "what": "hold", "name": "look", "seconds": 0}, {"n": 0, "of": ""}),
    (
        "overridden",
        {"step": "a", "what": "skip", "name": "A.", "reason": "foreman's order", "who": ""},
        {"reason": "foremans_order", "class": "", "code": "", "note": 0},
    ),
    ("overridden", {"step": "a", "what": "skip", "name": "A.", "reason": "x"}, {"reason": "x", "who": "", "note": 0}),
    ("step_done", {"step": "a", "how": "skipped", "reason": "not needed"}, {"reason": "not_needed"}),
    (
        "wait_ended",
        {"step": "w", "name": "w", "seconds": 9, "verdict": "in window", "reason": ""},
        {"verdict": "in_window"},
    ),
    (
        "wait_ended",
        {"step": "w", "name": "w", "seconds": 9, "verdict": "restarted", "reason": "begun anew"},
        {"reason": "begun_anew"},
    ),
    (
        "wait_changed",
        {"step": "w", "name": "w", "at_least": 9, "at_most": None, "reason": "extended by 5 min"},
        {"reason": "extended"},
    ),
    (
        "batch",
        {"step": "a", "item": "i", "name": "i", "number": "1", "expires": "", "state": "not said"},
        {"state": "not_said"},
    ),
    (
        "gauge_used",
        {"step": "a", "gauge": "g", "number": "", "due": "", "uncertainty": "", "unit": "", "state": "out of date"},
        {"state": "out_of_date"},
    ),
    ("signed", {"step": "a", "who": "Ruth", "role": "foreman", "how": "keys", "code": ""}, {"how": "typed"}),
    (
        "ambient",
        {"step": "", "name": "t", "value": "20", "unit": "degC", "source": "command line"},
        {"source": "command_line"},
    ),
    ("searched", {"step": "a", "opening": "hub", "who": "Kofi", "how": "both hands"}, {"how": "both_hands"}),
    (
        "trouble",
        {"part": "voice", "what": "it fell silent"},
        {"what": "failed", "detail": "it fell silent", "name": "", "n": 0},
    ),
    ("sitting_left", {"why": "the recording has ended"}, {"why": "recording_ended"}),
    ("returned", {"who": "Ruth", "remark": "Oil"}, {"role": "", "code": "", "head": "", "facts": 0}),
    ("signed_off", {"who": "Ruth", "remark": ""}, {"role": "", "code": "", "head": "", "facts": 0}),
]


@pytest.mark.parametrize(("kind", "old", "wanted"), OLD, ids=lambda each: each if isinstance(each, str) else "")
def test_an_older_body_is_read_as_todays(kind: str, old: dict[str, Any], wanted: dict[str, Any]) -> None:
    """It has today's keys, no others, and today's codes; read twice it is the same."""
    found = upward(kind, old)
    assert set(found) == set(facts.KINDS[kind])
    assert {key: found[key] for key in wanted} == wanted
    assert upward(kind, found) == found
    assert {
        key: found[key]
        for key in old
        if (key not in wanted and key != "seconds") or (kind == "wait_ended" and key == "seconds")
    } == {key: value for key, value in old.items() if key not in wanted and (key != "seconds" or kind == "wait_ended")}


@pytest.mark.parametrize(("kind", "old", "wanted"), OLD, ids=lambda each: each if isinstance(each, str) else "")
def test_a_report_words_it_as_it_was(kind: str, old: dict[str, Any], wanted: dict[str, Any]) -> None:
    """What was English in the fact is the same English in the report; "keys" was either."""
    body = worded(Fact(1, 0.0, kind, old)).body
    for key in ("reason", "verdict", "state", "source", "how", "why", "what"):
        if key in old and (kind, key) not in (("signed", "how"), ("wait_changed", "reason")):
            assert body[key] == old[key]


def test_a_job_of_format_2_folds_as_it_did() -> None:
    """A wait called off, a step left out, wrong codes: where the job stands follows from the older facts as well."""
    text = (
        'format = 1\ntitle = "T"\nmachine = "M"\n[[step]]\nid = "w"\nsay = "W."\nkind = "wait"\nwait = "settle"\n'
        'name = "bleed"\nat_least = "10 min"\n[[step]]\nid = "a"\nsay = "A."\nkind = "do"\n'
        '[[step]]\nid = "b"\nsay = "B."\nkind = "do"\n'
    )
    procedure = load_text(text, "x.toml")
    bodies: list[tuple[str, dict[str, Any]]] = [
        ("sitting_began", {"by": "Imre", "product": "0", "boot": "x", "mono": "1.000"}),
        ("step_entered", {"step": "w", "again": "no"}),
        (
            "wait_started",
            {
                "step": "w",
                "name": "bleed",
                "wait": "settle",
                "at_least": 600,
                "at_most": None,
                "mono": "2.000",
                "ago": 0,
                "model": "fixed",
                "from_": "",
                "restart": False,
            },
        ),
        ("wait_ended", {"step": "w", "name": "bleed", "seconds": 5, "verdict": "cancelled", "reason": "not needed"}),
        ("overridden", {"step": "w", "what": "skip", "name": "W.", "reason": "not needed", "who": ""}),
        ("step_done", {"step": "w", "how": "skipped", "reason": "not needed"}),
        ("step_entered", {"step": "a", "again": "no"}),
        ("refused", {"step": "a", "what": "code", "name": "foreman", "seconds": 2}),
    ]
    record = (Fact(n, 10.0 + n, kind, body) for n, (kind, body) in enumerate(bodies, 1))
    job = fold_all(Job("j", procedure, KINDS), record)
    assert (job.current is not None and job.current.id) == "a"
    assert job.waived == {"w"}
    assert job.wrong_codes == (("a", 2),)
