"""Closing a job with a signature, and telling whether a signature fits."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any, Final

from bayvoice.errors import BayError
from bayvoice.language.texts import tell
from bayvoice.record.baykey import BayKey, holds
from bayvoice.record.chain import canonical, wall_text
from bayvoice.record.merkle import Tree
from bayvoice.record.sqlite import heads
from bayvoice.record.sqlite.store import Store

PURPOSE: Final = "bayvoice job seal"
"""First word of every statement, so that a signature made for one purpose cannot serve another."""


@dataclass(frozen=True, slots=True)
class Seal:
    """A job's signature.

    Attributes:
        statement: what was signed, RFC 8785 JSON: purpose, format, job, facts (how many), head (seal of the last),
            sealed (moment).
        key: hex of the public key, signature: hex of the Ed25519 signature over the statement's UTF-8.
    """

    statement: str
    key: str
    signature: str

    @property
    def said(self) -> dict[str, Any]:
        """The statement as an object, {} where it cannot be read."""
        try:
            said = json.loads(self.statement)
        except (ValueError, RecursionError):
            return {}
        return said if isinstance(said, dict) else {}

    def as_dict(self) -> dict[str, Any]:
        """For programs: everything another program needs to check it."""
        return {"statement": self.statement, "key": self.key, "signature": self.signature, "algorithm": "Ed25519"}


def seal_job(store: Store, job: str, key: BayKey, wall: float) -> Seal:
    """Close `job`: from here on nothing can be added to it.

    Raises:
        BayError: a sitting is at it, it is not done, does not hold, or is sealed already.
    """
    store.claim(job)
    if job in {name for name, _ in store.open_jobs()}:
        raise BayError(
            tell("record-job-is-still-open"), tell("record-job", job=job), tell("record-finish-first-or-sign-off")
        )
    if found := store.verify(job):
        raise BayError(
            tell("record-job-does-not-hold-fact", seq=found.seq, why=found.why),
            tell("record-job", job=job),
            tell("record-run-audit"),
        )
    last = None
    for row in store.rows(job):
        last = row
    assert last is not None, "a job that is not open has facts"
    statement = canonical(
        {"purpose": PURPOSE, "format": 1, "job": job, "facts": last.seq, "head": last.hash, "sealed": wall_text(wall)}
    )
    seal = Seal(statement, key.public, key.sign(statement.encode()))
    with store.writing() as db:
        # The seal and the statement that covers it: one transaction.
        now = db.execute("SELECT max(seq) FROM facts WHERE job = ?", (job,)).fetchone()[0]
        if now != last.seq:
            raise BayError(tell("record-job-was-added-to-just"), tell("record-job", job=job), tell("record-seal-again"))
        db.execute(
            "INSERT INTO seals (job, statement, key, signature) VALUES (?, ?, ?, ?)",
            (job, seal.statement, seal.key, seal.signature),
        )
        heads.attest(db, key, wall_text(wall), (job, last.seq, last.hash))
    return seal


def seal_of(store: Store, job: str) -> Seal | None:
    """The signature of `job`, None where it has none."""
    if store.version < 2:
        return None
    with store.using() as db:
        row = db.execute("SELECT statement, key, signature FROM seals WHERE job = ?", (job,)).fetchone()
    return Seal(*(str(value) for value in row)) if row else None


def seal_fault(seal: Seal, job: str, facts: int, head: str) -> str:
    """Why `seal` does not fit a job of so many facts whose last is sealed `head`; "" where it does."""
    if not holds(seal.key, seal.statement.encode("utf-8", "surrogatepass"), seal.signature):
        return tell("record-signature-does-not-fit-what")
    said = seal.said
    if (said.get("purpose"), said.get("job")) != (PURPOSE, job):
        return tell("record-signature-was-made-for-something")
    if said.get("facts") != facts:
        return tell("record-other-facts-were-signed", signed=said.get("facts"), here=facts)
    if said.get("head") != head:
        return tell("record-facts-are-not-those-were")
    return ""


def tree_of(store: Store, size: int | None = None) -> Tree:
    """The Merkle tree over the first `size` facts of the file (None: all), in the order they were written.

    A leaf is the fact's own seal, which binds job, number, time, kind, body and what came before.
    """
    tree = Tree()
    last = 0
    while size is None or last < size:
        with store.using() as db:
            rows = db.execute(
                "SELECT id, hash FROM facts WHERE id > ? AND id <= ? ORDER BY id LIMIT 5000",
                (last, 2**62 if size is None else size),
            ).fetchall()
        if not rows:
            break
        tree.extend(heads.leaf(text) for _, text in rows)
        last = rows[-1][0]
    return tree
