"""The kinds of fact a job record holds, with the keys of their bodies.

Everything the product knows of a job is folded from these (`bayvoice.core.job`); nothing is stored beside them.
Bodies hold strings, whole numbers, booleans, lists and objects. Numbers with a decimal point are strings, so that
a reading keeps its digits ("32.50") and canonical JSON needs no rule for them.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

FORMAT: Final = 2
"""Version of the record's facts. Format 1 had fewer kinds and keys; `upward` gives its facts the missing keys."""

KINDS: Final[dict[str, tuple[str, ...]]] = {
    # the job and who is at it; handed_over: the one who takes it up was told all that is open
    "job_began": ("job", "procedure", "title", "machine", "sha256", "text", "format"),
    "sitting_began": ("by", "product", "boot", "mono"),
    "sitting_left": ("why",),
    "handed_over": ("leaves", "takes", "told"),
    "paused": (),
    "resumed": (),
    "job_done": (),
    # the way through the steps; `how`: "done", "skipped" (with reason); branched: a check or a value failed or a
    # finding asks for it, and the procedure goes to the step `to`, for the `turn`-th time; deferred: an open hold is
    # left for later and other steps go on
    "step_entered": ("step", "again"),
    "step_done": ("step", "how", "reason"),
    "branched": ("step", "to", "why", "turn", "turns"),
    "deferred": ("step", "what"),
    # before the job: each part and consumable of the list, ticked off; the batch of a consumable and its shelf life,
    # `state`: "in date"/"out of date"/"not said"
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
    # the gauge a value is taken with; state: "in date"/"out of date"/"not known"
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
    # how: "spoken"/"keys"; code: "right" where one was asked for and given, "" where none is kept
    "signed": ("step", "who", "role", "how", "code"),
    # a note keeps its sound: file name beside the record, its SHA-256, its length; "" and 0 for a typed one
    "noted": ("step", "text", "sound", "sha256", "seconds"),
    "found": ("step", "what", "to"),
    # the opening tally; inside: how many of that thing are in after this; a foreign part that was found inside;
    # a named search before an override
    "tally_opened": ("step", "opening"),
    "counted": ("step", "opening", "thing", "change", "inside"),
    "foreign_part": ("step", "opening", "thing"),
    "searched": ("step", "opening", "who", "how"),
    "tally_closed": ("step", "opening"),
    # waits; mono: `Stamp.mono` of the start in seconds; ago: seconds by which the start was said to lie back;
    # model: "fixed"/"table"/"arrhenius"/"doubling"/"depth", with `from_`: the values it was worked out from;
    # ended verdict: "in window"/"early"/"late"/"dropped"/"cancelled"/"restarted" (with reason); unknown: seconds that
    # could not be known and were taken on the safe side
    "wait_started": ("step", "name", "wait", "at_least", "at_most", "mono", "ago", "model", "from_", "restart"),
    "wait_changed": ("step", "name", "at_least", "at_most", "reason"),
    "wait_due": ("step", "name"),
    "wait_over": ("step", "name"),
    "wait_ended": ("step", "name", "seconds", "verdict", "reason"),
    "alert_silenced": ("step", "name", "tone", "rung"),
    "alert_unanswered": ("step", "name", "tone"),
    # a value of the surroundings a wait is worked out from; source: "spoken"/"typed"/"command line"
    "ambient": ("step", "name", "value", "unit", "source"),
    # the clocks disagree: seconds of the jump, and what was done about it
    "clock_moved": ("seconds", "what"),
    # a "next" (or the end of the job) that was refused: what stood in the way, and how many seconds were missing
    "refused": ("step", "what", "name", "seconds"),
    # a guard that was overridden after a yes; what: "skip", "wait", "late", "check", "measure", "tally", "part",
    # "hold", "gauge", "batch", "undone", "bolt" (one fastener outside its tolerance); who: named for a search or a
    # sign, else ""
    "overridden": ("step", "what", "name", "reason", "who", "class", "code", "note"),
    # an edge failed ("microphone", "voice", "store", …); the procedure's file is not the one the job began with
    "trouble": ("part", "what"),
    "procedure_changed": ("sha256",),
    # the foreman's word on the whole job, and that the technician has heard it
    "signed_off": ("who", "remark"),
    "returned": ("who", "remark"),
    "remark_heard": ("seq",),
}  # fmt: skip
"""Fact kind -> the keys its body has, all of them, always."""

ADDED: Final[dict[str, dict[str, Any]]] = {
    "measured": {"nth": 1, "of": 1, "uncertainty": "", "limits_from": "", "trusted": False},
    "signed": {"how": "spoken", "code": ""},
    "noted": {"sound": "", "sha256": "", "seconds": 0},
    "wait_started": {"ago": 0, "model": "fixed", "from_": "", "restart": False},
    "wait_ended": {"reason": ""},
    "overridden": {"who": "", "class": "", "code": "", "note": 0},
    "fastened": {"trusted": False},
}
"""Keys that a kind was given after format 1, each with the value an older fact is read with."""


def upward(kind: str, body: Mapping[str, Any]) -> dict[str, Any]:
    """`body` with every key its kind has today: what an older format did not write is filled in."""
    return {**ADDED.get(kind, {}), **body}
