"""The kinds of fact a job record holds, with the keys of their bodies.

Everything the product knows of a job is folded from these (`bayvoice.core.job`); nothing is stored beside them.
Bodies hold strings, whole numbers, booleans, lists and objects. Numbers with a decimal point are strings, so that
a reading keeps its digits ("32.50") and canonical JSON needs no rule for them.
"""

from __future__ import annotations

from typing import Final

KINDS: Final[dict[str, tuple[str, ...]]] = {
    # the job and who is at it
    "job_began": ("job", "procedure", "title", "machine", "sha256", "text", "format"),
    "sitting_began": ("by", "product", "boot", "mono"),
    "sitting_left": ("why",),
    "paused": (),
    "resumed": (),
    "job_done": (),
    # the way through the steps; `how`: "done", "skipped" (with reason)
    "step_entered": ("step", "again"),
    "step_done": ("step", "how", "reason"),
    # answers; measured: value as judged and as said, limits "" where none, verdict "within"/"low"/"high",
    # corrects: seq of the reading it replaces, or 0
    "checked": ("step", "ask", "answer", "want"),
    "measured": (
        "step", "name", "value", "unit", "said_value", "said_unit", "low", "high", "gauge", "verdict", "corrects",
        "words",
    ),
    "stage_done": ("step", "stage", "stages", "amount", "unit", "order", "name"),
    "replaced": ("step", "part", "name", "number", "new"),
    "helped": ("step", "people"),
    "signed": ("step", "who", "role"),
    "noted": ("step", "text"),
    # the opening tally; inside: how many of that thing are in after this
    "tally_opened": ("step", "opening"),
    "counted": ("step", "opening", "thing", "change", "inside"),
    "tally_closed": ("step", "opening"),
    # waits; mono: `Stamp.mono` of the start in seconds; ended verdict: "in window"/"early"/"late"/"dropped"
    "wait_started": ("step", "name", "wait", "at_least", "at_most", "mono"),
    "wait_due": ("step", "name"),
    "wait_over": ("step", "name"),
    "wait_ended": ("step", "name", "seconds", "verdict"),
    "alert_unanswered": ("step", "name", "tone"),
    # a "next" (or the end of the job) that was refused: what stood in the way, and how many seconds were missing
    "refused": ("step", "what", "name", "seconds"),
    # a guard that was overridden after a yes; what: "skip", "wait", "check", "measure", "tally", "procedure"
    "overridden": ("step", "what", "name", "reason"),
    # an edge failed ("microphone", "voice", "store", …); the procedure's file is not the one the job began with
    "trouble": ("part", "what"),
    "procedure_changed": ("sha256",),
}  # fmt: skip
"""Fact kind -> the keys its body has, all of them, always."""
