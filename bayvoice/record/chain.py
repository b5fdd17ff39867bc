"""How one fact of the record is written down and chained to the one before it. Pure; the store does the I/O.

A fact is sealed by the SHA-256 of the canonical JSON (RFC 8785) of ``{job, seq, wall, kind, body, prev}``, where
`prev` is the seal of the fact before it in the same job, 64 zeros before the first.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from functools import lru_cache
from typing import Any, Final

import rfc8785

from bayvoice.errors import BayError
from bayvoice.job.facts import Fact
from bayvoice.language.texts import tell

FIRST: Final = "0" * 64
"""`prev` of the first fact of a job."""

_quoted: Final[Callable[[str], str]] = json.encoder.encode_basestring

_decode: Final = json.JSONDecoder().raw_decode

_YEAR_10000: Final = 253_402_300_800.0
_WALL: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-9]{2}\.[0-9]{6,}Z")


@dataclass(frozen=True, slots=True)
class Row:
    """A fact as it is stored: `wall` ISO-8601 UTC text, `body` canonical JSON text, `prev` and `hash` hex SHA-256."""

    seq: int
    wall: str
    kind: str
    body: str
    prev: str
    hash: str


@dataclass(frozen=True, slots=True)
class Fault:
    """The first fact of a job that does not hold: its number and, in one sentence without a full stop, why.

    `job` "" and `seq` 0 where it is the file as a whole that does not hold.
    """

    job: str
    seq: int
    why: str

    def __str__(self) -> str:
        if not self.job:
            return self.why
        return tell("record-fact-of-job-why", seq=self.seq, job=self.job, why=self.why)


def canonical(value: Any) -> str:
    """`value` as RFC 8785 JSON text. BayError where it has none: NaN, integers beyond 2^53, lone surrogates."""
    try:
        return rfc8785.dumps(value).decode()
    except (rfc8785.CanonicalizationError, RecursionError) as error:
        raise BayError(
            tell("record-fact-cannot-be-written-as-json", error=error),
            tell("record-record"),
            tell("record-report-as-fault-of-bayvoice"),
        ) from error


def wall_text(wall: float) -> str:
    """Seconds since 1970 as ``2025-03-04T09:12:33.250000Z``: six decimals, and more only where the float needs them.

    `wall_seconds` gives back the very same float. BayError outside the years 1970 to 9999.
    """
    if not 0.0 <= wall < _YEAR_10000:
        raise BayError(
            tell("record-computers-clock-gives-no-usable"),
            tell("record-record"),
            tell("record-set-clock-and-try-again"),
        )
    whole, _, rest = format(Decimal(repr(float(wall))), "f").partition(".")
    return f"{datetime.fromtimestamp(int(whole), UTC):%Y-%m-%dT%H:%M:%S}.{rest.ljust(6, '0')}Z"


def wall_seconds(text: str) -> float:
    """The inverse of `wall_text`; ValueError where `text` is not of that form."""
    if not _WALL.fullmatch(text):
        raise ValueError(f"not a time of the record: {text!r}")
    second = int(text[17:19])
    if second > 59:
        raise ValueError(f"not a time of the record: {text!r}")
    return float(f"{_minute(text[:16]) + second}.{text[20:-1]}")


@lru_cache(maxsize=1024)
def _minute(text: str) -> int:
    """Seconds since 1970 of a minute, "2025-03-04T09:12": a job has many facts in one."""
    return int(datetime.fromisoformat(f"{text}+00:00").timestamp())


def quoted(text: str) -> str:
    """`text` as a JSON string the way RFC 8785 writes it: the standard library escapes the very same characters.

    A test holds both against each other; this one is written in C, and an audit writes little else.
    """
    return _quoted(text)


def seal(job: str, seq: int, wall: str, kind: str, body: str, prev: str) -> str:
    """Hex SHA-256 of the fact's canonical object; `body` is canonical JSON text already.

    The members are put together by hand, in the order RFC 8785 sorts them into, because `body` is canonical before
    and this is what an audit spends its time on. UnicodeEncodeError where a text holds half a surrogate pair.
    """
    rest = f'"kind":{_quoted(kind)},"prev":{_quoted(prev)},"seq":{seq},"wall":{_quoted(wall)}}}'
    return hashlib.sha256(f'{{"body":{body},"job":{_quoted(job)},{rest}'.encode()).hexdigest()


def write(job: str, fact: Fact, prev: str) -> Row:
    """`fact` as it is to be stored after the fact sealed `prev`."""
    wall, body = wall_text(fact.wall), canonical(fact.body)
    return Row(fact.seq, wall, fact.kind, body, prev, seal(job, fact.seq, wall, fact.kind, body, prev))


def read(row: Row) -> Fact:
    """The fact in `row`; ValueError where it cannot be read."""
    if row.seq < 1:
        raise ValueError("the number is not one")
    return Fact(row.seq, wall_seconds(row.wall), row.kind, body_of(row.body))


def body_of(text: str) -> dict[str, Any]:
    """The object that the body's text is; ValueError or RecursionError where it is none."""
    body, end = _decode(text)
    if end != len(text) or not isinstance(body, dict):
        raise ValueError("the body is not a JSON object")
    return body


def fault(job: str, row: Row, number: int, prev: str) -> Fault | None:
    """What is wrong with `row`, which should be fact `number` of `job` and follow the fact sealed `prev`.

    The seal covers the text of the body as it is stored, so a body whose seal holds need not be written anew to know
    that it is the one that was written. No two different rows have the same sealed text: read from its end, every
    member but the body ends at a quotation mark or a digit that cannot stand inside it.
    """
    if row.seq != number:
        return Fault(job, number, tell("record-is-missing-record-goes-on-with-seq", seq=row.seq))
    try:
        same = seal(job, row.seq, row.wall, row.kind, row.body, row.prev) == row.hash
    except (TypeError, UnicodeEncodeError):
        same = False
    if not same:
        return Fault(job, number, _why_not(row))
    if row.prev != prev:
        return Fault(job, number, tell("record-does-not-follow-fact-before"))
    return None


def _why_not(row: Row) -> str:
    try:
        read(row)
    except (ValueError, TypeError, RecursionError):
        return tell("record-cannot-be-read-any-more")
    return tell("record-content-is-not-what-was")
