"""The kinds of fact a job record holds, with the keys of their bodies.

Everything the product knows of a job is folded from these (`bayvoice.job.job`); nothing is stored beside them.
Bodies hold strings, whole numbers, booleans, lists and objects. Numbers with a decimal point are strings, so that
a reading keeps its digits ("32.50") and canonical JSON needs no rule for them. What the product has to say of a fact is
a code ("in_window"), put into words when it is read; words in a body are those of the procedure, of people, or of the
system (`detail` of a trouble).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final


@dataclass(frozen=True, slots=True)
class Fact:
    """One entry of the job record.

    Attributes:
        seq: 1, 2, 3 … within the job, without gaps.
        wall: seconds since 1970-01-01 UTC.
        kind: what kind of fact ("measured", "step_done", …); the list is in `bayvoice.job.facts`.
        body: JSON object (strings, integers, booleans, lists, objects; numbers with a decimal point as strings).
    """

    seq: int
    wall: float
    kind: str
    body: dict[str, Any]


FORMAT: Final = 3
"""Version of the record's facts. Format 1 had fewer kinds and keys, format 2 English where there are codes now;
`upward` reads both as today's."""

KINDS: Final[dict[str, tuple[str, ...]]] = {
    # the job and who is at it; handed_over: the one who takes it up was told all that is open, each sentence as the
    # `key` of the wording with its fields (before format 3 as a text)
    "job_began": ("job", "procedure", "title", "machine", "sha256", "text", "format"),
    "sitting_began": ("by", "product", "boot", "mono"),
    "sitting_left": ("why",),
    "handed_over": ("leaves", "takes", "told"),
    "paused": (),
    "resumed": (),
    "job_done": (),
    # the way through the steps; `how`: "done", "skipped" (with reason, as in "overridden"); branched: a check or a
    # value failed or a finding asks for it, and the procedure goes to the step `to`, for the `turn`-th time; deferred:
    # an open hold is left for later and other steps go on
    "step_entered": ("step", "again"),
    "step_done": ("step", "how", "reason"),
    "branched": ("step", "to", "why", "turn", "turns"),
    "deferred": ("step", "what"),
    # before the job: each part and consumable of the list, ticked off; the batch of a consumable and its shelf life,
    # `state`: "in_date"/"out_of_date"/"not_said"
    "listed": ("item", "name", "number", "quantity", "have"),
    "batch": ("step", "item", "name", "number", "expires", "state"),
    # answers; measured: value as judged and as said, limits "" where none, verdict "within"/"low"/"high"/"close"
    # (too close to call with the gauge's uncertainty), corrects: seq of the reading it replaces, or 0; it is reading
    # `nth` of `of`; limits_from: the expression the limits came from, with the values used, or ""
    "checked": ("step", "ask", "answer", "want"),
    "measured": (
        "step", "name", "value", "unit", "said_value", "said_unit", "low", "high", "gauge", "verdict", "corrects",
        "words", "nth", "of", "uncertainty", "limits_from", "trusted",
    ),
    # the mean of repeated readings: what the step is judged by; spread: largest minus smallest, verdict "scattered"
    # where that is over spread_limit ("" for none); else as for "measured"
    "averaged": (
        "step", "name", "value", "unit", "n", "spread", "deviation", "spread_limit", "low", "high", "uncertainty",
        "verdict",
    ),
    # the gauge a value is taken with; state: "in_date"/"out_of_date"/"not_known"
    "gauge_used": ("step", "gauge", "number", "due", "uncertainty", "unit", "state"),
    # a sum asked for by voice: nothing is judged by it
    "reckoned": ("step", "what", "given", "result"),
    "stage_done": ("step", "stage", "stages", "amount", "unit", "order", "name"),
    # one fastener of a stage: `place` is its place in the order (1, 2, …); achieved "" where "done" was said
    "fastened": (
        "step", "stage", "number", "place", "amount", "unit", "achieved", "achieved_unit", "verdict", "trusted",
    ),
    # a round at the final amount after the last stage: did any fastener still turn?
    "round_done": ("step", "round", "turned"),
    "replaced": ("step", "part", "name", "number", "new"),
    "helped": ("step", "people"),
    "moved_together": ("step", "result"),
    # how: "spoken"/"typed"/"key"; code: "right" where one was asked for and given, "" where none is kept
    "signed": ("step", "who", "role", "how", "code"),
    # a note keeps its sound: file name beside the record, its SHA-256, its length; "" and 0 for a typed one
    "noted": ("step", "text", "sound", "sha256", "seconds"),
    "found": ("step", "what", "to"),
    # the opening tally; inside: how many of that thing are in after this; a foreign part that was found inside;
    # a named search before an override, how: "lamp"/"mirror"/"magnet"/"borescope"/"both_hands"
    "tally_opened": ("step", "opening"),
    "counted": ("step", "opening", "thing", "change", "inside"),
    "foreign_part": ("step", "opening", "thing"),
    "searched": ("step", "opening", "who", "how"),
    "tally_closed": ("step", "opening"),
    # waits; mono: `Stamp.mono` of the start in seconds; ago: seconds by which the start was said to lie back;
    # model: "fixed"/"table"/"arrhenius"/"doubling"/"depth", with `from_`: the values it was worked out from;
    # ended verdict: "in_window"/"early"/"late"/"dropped"/"cancelled" (with reason, as in "overridden")/"restarted"
    # (with reason "begun_anew"/"start_corrected"); changed, reason: "extended"
    "wait_started": ("step", "name", "wait", "at_least", "at_most", "mono", "ago", "model", "from_", "restart"),
    "wait_changed": ("step", "name", "at_least", "at_most", "reason"),
    "wait_due": ("step", "name"),
    "wait_over": ("step", "name"),
    "wait_ended": ("step", "name", "seconds", "verdict", "reason"),
    "alert_silenced": ("step", "name", "tone", "rung"),
    "alert_unanswered": ("step", "name", "tone"),
    # a value of the surroundings a wait is worked out from; source: "spoken"/"typed"/"key"/
    # "command_line"
    "ambient": ("step", "name", "value", "unit", "source"),
    # the clocks disagree: seconds of the jump, and when it was: "running"/"away"/"unknown"
    "clock_moved": ("seconds", "what"),
    # something that was refused: what stood in the way ("wait", "unbegun": a wait that was never started, "late",
    # "tally", "hold", "part", "finding", "code": wrong, "started": earlier than its step was entered, "nobody": a guard
    # nobody may pass), and `n` of what, `of`: "seconds" (missing, over, claimed), "things" (inside), "tries" (wrong
    # codes in a row), "" for none
    "refused": ("step", "what", "name", "n", "of"),
    # a guard that was passed after a yes; what: "skip", "wait", "late", "cancel", "check", "measure", "tally", "part",
    # "hold", "gauge", "batch", "bolt" (one fastener outside its tolerance); step: the one whose guard it is, of a wait
    # the one that starts it; class: who may pass it, "alone"/"second" ("" before format 3); who: the other person who
    # allowed it, else ""; code: "right" where that person gave one; reason: a code of the wording's "reason_…", or
    # words of the procedure; "another": kept in the note `note` (seq of its fact, 0 for none)
    "overridden": ("step", "what", "name", "reason", "who", "class", "code", "note"),
    # something failed: what: "failed" (part "microphone", "voice", "store", …, `detail`: the system's own words),
    # "note_lost", or "wrong_codes" (part "sign"): `n` in a row where `name`, a role, signs; the procedure's file is not
    # the one the job began with
    "trouble": ("part", "what", "detail", "name", "n"),
    "procedure_changed": ("sha256",),
    # the foreman's word on the whole job, and that the technician has heard it; code: "right" where one was asked for
    # and given, "" where none is kept, "no roster" where this bay keeps no people; head: the seal of the last fact
    # before the word, facts: its number
    "signed_off": ("who", "remark", "role", "code", "head", "facts"),
    "returned": ("who", "remark", "role", "code", "head", "facts"),
    "remark_heard": ("seq",),
}  # fmt: skip
"""Fact kind -> the keys its body has, all of them, always."""


def owned(*kinds: str) -> dict[str, tuple[str, ...]]:
    """Those of `KINDS` that only one kind of step records."""
    return {kind: KINDS[kind] for kind in kinds}


ADDED: Final[dict[str, dict[str, Any]]] = {
    "measured": {"nth": 1, "of": 1, "uncertainty": "", "limits_from": "", "trusted": False},
    "signed": {"how": "spoken", "code": ""},
    "noted": {"sound": "", "sha256": "", "seconds": 0},
    "wait_started": {"ago": 0, "model": "fixed", "from_": "", "restart": False},
    "wait_ended": {"reason": ""},
    "overridden": {"who": "", "class": "", "code": "", "note": 0},
    "fastened": {"trusted": False},
    "signed_off": {"role": "", "code": "", "head": "", "facts": 0},
    "returned": {"role": "", "code": "", "head": "", "facts": 0},
}
"""Keys that a kind was given after format 1, each with the value an older fact is read with."""


def upward(kind: str, body: Mapping[str, Any]) -> dict[str, Any]:
    """`body` with every key its kind has today: what an older format did not write is filled in, what it wrote in
    English is the code it is now."""
    full = {**ADDED.get(kind, {}), **body}
    for key, codes in _CODES.get(kind, {}).items():
        if isinstance(word := full.get(key), str):
            full[key] = codes.get(word, word)
    change = _CHANGED.get(kind)
    return change(full) if change is not None else full


def _same(*codes: str) -> dict[str, str]:
    """What format 2 wrote with spaces -> the code."""
    return {code.replace("_", " "): code for code in codes}


_REASONS: Final = {
    **_same("not_fitted", "not_needed", "part_missing", "tool_missing", "already_done", "wrong_part"),
    "foreman's order": "foremans_order",
}
_CODES: Final[dict[str, dict[str, Mapping[str, str]]]] = {
    "sitting_left": {
        "why": {
            "the recording has ended": "recording_ended", "the typed words have ended": "typing_ended",
            "left by key": "left_by_key", "the screen was closed": "screen_closed",
        },
    },
    "step_done": {"reason": _REASONS},
    "batch": {"state": _same("in_date", "out_of_date", "not_said")},
    "gauge_used": {"state": _same("in_date", "out_of_date", "not_known")},
    "signed": {"how": {"keys": "typed"}},
    "searched": {
        "how": {
            "a lamp": "lamp", "a mirror": "mirror", "a magnet": "magnet", "a borescope": "borescope",
            "both hands": "both_hands",
        },
    },
    "wait_ended": {"verdict": _same("in_window"), "reason": {**_REASONS, **_same("begun_anew", "start_corrected")}},
    "ambient": {"source": _same("command_line")},
    "overridden": {"reason": _REASONS},
}  # fmt: skip
"""Kind -> key -> what format 2 wrote there -> the code."""

OF: Final = {"wait": "seconds", "late": "seconds", "tally": "things", "code": "tries"}
"""What a refusal's number counts, where format 2 did not say; nothing else had one."""


def _refused(body: dict[str, Any]) -> dict[str, Any]:
    if "n" in body:
        return body
    rest = {key: value for key, value in body.items() if key != "seconds"}
    return {**rest, "n": body.get("seconds", 0), "of": OF.get(str(body.get("what")), "")}


def _trouble(body: dict[str, Any]) -> dict[str, Any]:
    if "detail" in body:
        return body
    return {**body, "what": "failed", "detail": body.get("what", ""), "name": "", "n": 0}


def _wait_changed(body: dict[str, Any]) -> dict[str, Any]:
    long = str(body.get("reason", "")).startswith("extended by ")
    return {**body, "reason": "extended"} if long else body


_CHANGED: Final[dict[str, Callable[[dict[str, Any]], dict[str, Any]]]] = {
    "refused": _refused,
    "trouble": _trouble,
    "wait_changed": _wait_changed,
}
"""Kind -> what else of an older body is written otherwise now."""
