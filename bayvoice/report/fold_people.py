"""What people say, sign, note and find adds to a report."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.procedure.model import Hold
from bayvoice.report.gathered import Gathered, Passed, text, whole
from bayvoice.report.lines import Branch, Deferred, Handover, Note, Refusal, Signature, Word
from bayvoice.report.worded import told_words

AFTERWARDS: Final = frozenset({"signed_off", "returned"})
"""Kinds of fact that belong to no sitting: the foreman's word on the job."""


def _signed(gathered: Gathered, fact: Fact) -> None:
    (step, number), body = gathered.at(fact), fact.body
    look = ""
    for one in gathered.procedure.steps if gathered.procedure else ():
        if one.id == step and isinstance(one.detail, Hold):
            look = one.detail.look
    sign = Signature(
        step, number, look, text(body, "who"), text(body, "role"), fact.wall, fact.seq, text(body, "how"),
        text(body, "code"),
    )  # fmt: skip
    gathered.signatures.append(sign)
    gathered.signature_of[step] = sign
    _settle(gathered, "hold", step, fact.wall)


def _deferred(gathered: Gathered, fact: Fact) -> None:
    gathered.deferred.append(
        Deferred(*gathered.at(fact), text(fact.body, "what"), None, gathered.by, fact.wall, fact.seq)
    )


def _settle(gathered: Gathered, what: str, step: str, wall: float) -> None:
    gathered.deferred = [
        replace(d, settled=wall) if d.what == what and d.step == step and d.settled is None else d
        for d in gathered.deferred
    ]


def _handed_over(gathered: Gathered, fact: Fact) -> None:
    leaves, takes = text(fact.body, "leaves"), text(fact.body, "takes")
    told = fact.body.get("told")
    lines = tuple(told_words(each) for each in told) if isinstance(told, list) else (text(fact.body, "told"),)
    gathered.handovers.append(Handover(leaves, takes, tuple(line for line in lines if line), fact.wall, fact.seq))
    if takes:
        gathered.by = takes
        if gathered.sittings:
            sitting = gathered.sittings[-1]
        if gathered.sittings and takes not in sitting.hands[-1:]:
            gathered.sittings[-1] = replace(sitting, hands=(*sitting.hands, takes))


def _noted(gathered: Gathered, fact: Fact) -> None:
    body = fact.body
    gathered.notes.append(
        Note(*gathered.at(fact), text(body, "text"), gathered.by, fact.wall, fact.seq, text(body, "sound"),
             text(body, "sha256"), whole(body, "seconds") or 0)
    )  # fmt: skip


def _found(gathered: Gathered, fact: Fact) -> None:
    body, to = fact.body, text(fact.body, "to")
    gathered.branches.append(
        Branch(*gathered.at(fact), text(body, "what"), "finding", to, gathered.number(to), 0, 0, gathered.by,
               fact.wall, fact.seq)
    )  # fmt: skip


def _branched(gathered: Gathered, fact: Fact) -> None:
    (step, number), body, to = gathered.at(fact), fact.body, text(fact.body, "to")
    turn, turns = whole(body, "turn") or 0, whole(body, "turns") or 0
    last = gathered.branches[-1] if gathered.branches else None
    if last and last.why == "finding" == text(body, "why") and last.step == step and not last.turn:
        # The finding that led there is a fact of its own: one line for both.
        gathered.branches[-1] = replace(last, to=to, to_number=gathered.number(to), turn=turn, turns=turns)
        return
    gathered.branches.append(
        Branch(step, number, "", text(body, "why"), to, gathered.number(to), turn, turns, gathered.by, fact.wall,
               fact.seq)
    )  # fmt: skip


def _refused(gathered: Gathered, fact: Fact) -> None:
    body = fact.body
    gathered.refusals.append(
        Refusal(*gathered.at(fact), text(body, "what"), text(body, "name"), whole(body, "n") or 0, gathered.by,
                fact.wall, fact.seq, text(body, "of"))
    )  # fmt: skip


def _overridden(gathered: Gathered, fact: Fact) -> None:
    note = next((n for n in gathered.notes if n.seq == whole(fact.body, "note")), None)
    if note is not None:
        # A reason in free words stands in its note.
        reason = f"“{note.text}”" if note.text else f"{text(fact.body, 'reason')}, spoken: fact {note.seq}"
        fact = replace(fact, body={**fact.body, "reason": reason})
    gathered.overrides.append(Passed(fact))


def _word(gathered: Gathered, fact: Fact) -> None:
    body = fact.body
    gathered.words.append(
        Word(
            fact.kind,
            text(body, "who"),
            text(body, "remark"),
            None,
            fact.wall,
            fact.seq,
            text(body, "role"),
            text(body, "code"),
            whole(body, "facts") or 0,
        )
    )
    if fact.kind == "returned":
        gathered.ended = None


def _remark_heard(gathered: Gathered, fact: Fact) -> None:
    seq = whole(fact.body, "seq")
    gathered.words = [replace(word, heard=fact.wall) if word.seq == seq else word for word in gathered.words]


FOLDS: Final[dict[str, Callable[[Gathered, Fact], None]]] = {
    "signed": _signed,
    "deferred": _deferred,
    "handed_over": _handed_over,
    "noted": _noted,
    "found": _found,
    "branched": _branched,
    "refused": _refused,
    "overridden": _overridden,
    "signed_off": _word,
    "returned": _word,
    "remark_heard": _remark_heard,
}
