"""The tables of a report as rows of plain strings, the same for text, HTML and CSV: the head, and what came to what."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from bayvoice.job.facts import Fact
from bayvoice.report.lines import Word
from bayvoice.report.model import JobReport
from bayvoice.report.words import Clock, clean, count, one_line, sentence, span, utc

LONGEST_IN_FACTS = 200
"""Characters of one string that the list of all facts shows; the JSON report has them all."""

STOP_IS = '"Stop" silences speech and alerts. It is no emergency stop, and no machine hears it.'
"""What a reader of the record must not believe of the word."""


CODES: Final = {
    "right": "with the right code",
    "": "no code was asked for",
    "no roster": "signed without a roster: no code was asked for, and nobody is known",
}
"""What stands under `code` of a signature -> what it means."""


@dataclass(frozen=True, slots=True)
class Table:
    """`caption` says what the rows are; every row has as many cells as `heads`."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def step_name(number: int, step: str) -> str:
    """``14``, or the id of a step the procedure does not have."""
    return str(number) if number else one_line(step) or "–"


def headline(report: JobReport) -> str:
    """The result in one line: ``In order``, ``3 deviations``, ``Do not rely on this record``."""
    return report.heading


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
    said = tuple(word_line(word, clock) for word in report.words)
    if report.header.state == "done" and not (report.words and report.words[-1].kind == "signed_off"):
        return (*said, "The job is not signed off.")
    return said


def code_text(code: str) -> str:
    """What was asked for before a signature was taken."""
    return CODES.get(code, f"code: {one_line(code)}")


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
    return (
        ("Machine", one_line(head.machine) or "not named"),
        ("Job", one_line(head.job)),
        ("Worked on by", ", ".join(one_line(name) for name in head.people) or "nobody named"),
        ("Steps signed by", ", ".join(dict.fromkeys(one_line(s.who) for s in report.signatures)) or "nobody"),
        ("Job signed off by", _signed_off(report)),
        ("Began", began),
        ("Finished" if head.state == "done" else "Still open, last entry", last),
        ("Time worked, pauses left out", span(head.worked)),
        ("Steps", f"{head.steps_done} of {head.steps_total}"),
        ("Procedure", f"{one_line(head.procedure)}, fingerprint {one_line(head.sha256)[:12] or 'unknown'}"),
        ("Times", f"local, {clock.zone_name(head.began)}; all facts also in UTC"),
    )


def _signed_off(report: JobReport) -> str:
    last = report.words[-1] if report.words else None
    return (one_line(last.who) or "somebody") if last is not None and last.kind == "signed_off" else "nobody"


def fact_rows(report: JobReport) -> Table:
    rows = tuple((str(f.seq), utc(f.wall), one_line(f.kind), body_text(f)) for f in report.facts)
    return Table("All facts in the order they were written, times in UTC", ("No.", "When", "Kind", "What"), rows)


def body_text(fact: Fact) -> str:
    """A fact's body on one line, long strings shortened."""
    return " · ".join(f"{one_line(key)}: {_short(value)}" for key, value in fact.body.items())


def _short(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        value = ", ".join(str(item) for item in value)
    # Cut first: a text of a megabyte need not be cleaned to show its beginning.
    raw = "none" if value is None else str(value)
    cut = one_line(raw[:LONGEST_IN_FACTS])
    return f"{cut} … ({len(raw)} characters)" if len(raw) > LONGEST_IN_FACTS else cut or "–"


def unknown_kinds(report: JobReport, known: frozenset[str]) -> tuple[str, ...]:
    """Kinds of fact in the record that this version does not know."""
    return tuple(dict.fromkeys(one_line(f.kind) for f in report.facts if f.kind not in known))


def note_lines(report: JobReport, clock: Clock) -> Iterator[tuple[str, str]]:
    """(who, when and where; the note) for every note."""
    for n in report.notes:
        sound = f", {span(n.seconds)} of sound" if n.sound else ""
        head = f"{one_line(n.by)}, {clock.time(n.wall)}, step {step_name(n.number, n.step)}{sound}"
        yield head, clean(n.text) or ("" if n.sound else "A mark without words.")
