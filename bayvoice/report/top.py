"""What stands above the sections of a report and below them: result, trust, what, who and when."""

from __future__ import annotations

from typing import Final

from bayvoice.dialogue.steps import KINDS
from bayvoice.report.base.blocks import code_text
from bayvoice.report.base.section import JobReport
from bayvoice.report.base.words import Clock, count, one_line, sentence, span
from bayvoice.report.sections.foreman import WORDS, Word
from bayvoice.report.sections.signatures import SIGNATURES

STOP_IS: Final = '"Stop" silences speech and alerts. It is no emergency stop, and no machine hears it.'
"""What a reader of the record must not believe of the word."""


def word_line(word: Word, clock: Clock) -> str:
    """``Job signed off by Ruth, 4 Mar 2025, 16:20, with the right code.``"""
    who, when = one_line(word.who) or "somebody", clock.full(word.wall)
    if word.role:
        who += f", {one_line(word.role)}"
    remark = f" “{one_line(word.remark)}”" if word.remark else ""
    if word.kind == "signed_off":
        return f"Job signed off by {who}, {when}, {code_text(word.code)}.{remark}"
    heard = f"heard {clock.full(word.heard)}" if word.heard is not None else "not heard yet"
    return f"Given back by {who}, {when}, {code_text(word.code)}:{remark} ({heard})"


def word_lines(report: JobReport, clock: Clock) -> tuple[str, ...]:
    """The foreman's word on the job, the last one last; that it is missing where the job is done."""
    words = WORDS.of(report)
    said = tuple(word_line(word, clock) for word in words)
    if report.header.state == "done" and not (words and words[-1].kind == "signed_off"):
        return (*said, "The job is not signed off.")
    return said


def chain_line(report: JobReport) -> str:
    """Whether the record can be trusted."""
    chain = report.chain
    if chain.ok is None:
        return "Whether the record is as it was written was not looked at."
    if not chain.ok:
        where = f"Fact {chain.seq} does not hold" if chain.seq else "It does not hold"
        means = f" {one_line(chain.means)}" if chain.means else ""
        return f"{where}: {sentence(one_line(chain.why))}{means}"
    return f"The record is as it was written: {count(len(report.facts), 'fact')}, each sealed with the one before."


def trust_lines(report: JobReport) -> tuple[str, ...]:
    """Signature, and what retention took away."""
    chain = report.chain
    seal = f"Closed and signed {one_line(chain.sealed)} with the key {one_line(chain.key)}."
    return (*((seal,) if chain.sealed else ()), *(f"{one_line(line)}." for line in chain.removed))


def header_rows(report: JobReport, clock: Clock) -> tuple[tuple[str, str], ...]:
    """What, who, when."""
    head = report.header
    began, last = clock.full(head.began), clock.full(head.ended or head.last)
    signers = dict.fromkeys(one_line(s.who) for s in SIGNATURES.of(report).lines)
    return (
        ("Machine", one_line(head.machine) or "not named"),
        ("Job", one_line(head.job)),
        ("Worked on by", ", ".join(one_line(name) for name in head.people) or "nobody named"),
        ("Steps signed by", ", ".join(signers) or "nobody"),
        ("Job signed off by", _signed_off(report)),
        ("Began", began),
        ("Finished" if head.state == "done" else "Still open, last entry", last),
        ("Time worked, pauses left out", span(head.worked)),
        ("Steps", f"{head.steps_done} of {head.steps_total}"),
        ("Procedure", f"{one_line(head.procedure)}, fingerprint {one_line(head.sha256)[:12] or 'unknown'}"),
        ("Times", f"local, {clock.zone_name(head.began)}; all facts also in UTC"),
    )


def _signed_off(report: JobReport) -> str:
    last = next(reversed(WORDS.of(report)), None)
    return (one_line(last.who) or "somebody") if last is not None and last.kind == "signed_off" else "nobody"


def unknown_line(report: JobReport) -> str:
    """Kinds of fact in the record that this version does not know, "" where it knows all."""
    unknown = dict.fromkeys(one_line(f.kind) for f in report.facts if f.kind not in KINDS.facts)
    return f"Kinds of fact this version does not know: {', '.join(unknown)}." if unknown else ""
