"""`bayvoice audit`: the first fact that does not hold, and what that means for whoever relies on the record."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

from bayvoice.dialogue.steps import KINDS
from bayvoice.record.chain import FIRST, Row, body_of, fault, wall_seconds
from bayvoice.record.merkle import Head
from bayvoice.record.sounds import find
from bayvoice.record.sqlite.people import NAME_KEYS, Names
from bayvoice.record.sqlite.retention import Removal, removals
from bayvoice.record.sqlite.schema import PEOPLE
from bayvoice.record.sqlite.sealing import Seal, seal_fault, seal_of, tree_of
from bayvoice.record.sqlite.store import Store
from bayvoice.report.base.words import Clock, count, one_line
from bayvoice.report.proof import Proof
from bayvoice.report.proof_people import PeopleProof
from bayvoice.report.signed import SignedJob, record_fault, signed_job, strange_key, trusted
from bayvoice.report.summary import loaded

MEANS: Final = {
    "chain": "The record was changed after it was written. What comes before this fact holds; do not rely on the rest.",
    "order": "The facts are as they were written, but not in an order in which a job can happen.",
    "time": "The facts are as they were written, but the computer's clock was set while the job went on. "
    "Their order holds, their times do not.",
    "sum": "The fact is as it was written, but it does not follow from its own values. Judge it anew by hand.",
    "name": "The facts are as they were written; the name shown for this person was changed. Do not rely on names.",
    "sound": "The written facts hold; the sound of this note is not the one that was recorded.",
    "seal": "The signature under this job proves nothing. The facts stand or fall by their chain.",
    "file": "Something was taken out of the file, or its pages are damaged. What is here holds, but it is not all.",
    "signed": "The record was changed after the bay had signed it, by somebody who made its chain fit again or took "
    "something out. Do not rely on it; compare with a copy.",
    "unsigned": "The bay's key could not be used when it was written, or somebody wrote it in, or took the signatures "
    "out. Do not rely on it without other proof.",
    "key": "Another bay wrote or sealed it (then name that bay's public key: audit --key HEX), this bay's key was "
    "exchanged, or somebody signed it anew with a key of their own.",
    "procedure": "The facts are as they were written, but they are not what the procedure of this job asks for, and "
    "bayvoice would not have let it pass. Do not rely on what this step says.",
    "head": "Facts or jobs that were here when the head was printed are gone or changed. Compare with a copy.",
}
"""What each kind of fault means for whoever reads the record."""

SIGNING_FORMAT: Final = 3
"""Format of the file, and of a job's facts, from which on the bay signs as it writes."""


@dataclass(frozen=True, slots=True)
class Break:
    """The first fact that does not hold: `seq` 0 where it is no single one; `kind` is a key of `MEANS`."""

    seq: int
    kind: str
    why: str

    @property
    def means(self) -> str:
        """What that means."""
        return MEANS[self.kind]


@dataclass(frozen=True, slots=True)
class JobAudit:
    """What was found of one job.

    Attributes:
        facts: how many there are.
        fault: the first that does not hold, None where all do.
        sounds: notes whose sound was compared with its SHA-256.
        removed: what was taken away by retention.
        seal: the signature, None where there is none; its own faults are in `fault`.
        head: the last fact's own seal.
        unread: the procedure in its first fact cannot be read, so nothing was held against it.
    """

    job: str
    facts: int
    fault: Break | None
    sounds: int
    removed: tuple[Removal, ...]
    seal: Seal | None
    head: str = ""
    unread: bool = False

    def lines(self, own_key: str, clock: Clock) -> list[str]:
        """The result as sentences, the first one beginning with the job's name."""
        name = one_line(self.job)
        if self.fault is None:
            looked = "who allowed what" if self.job == PEOPLE else "times, sums, procedure"
            said = [f"{name}: every fact holds ({count(self.facts, 'fact')}, chain, order, {looked})"]
        else:
            where = f"fact {self.fault.seq} does not hold" if self.fault.seq else "it does not hold"
            said = [f"{name}: {where}: {one_line(self.fault.why)}", f"  {self.fault.means}"]
        if self.unread:
            said.append("  the procedure in its first fact cannot be read, so nothing was held against it")
        if self.sounds:
            said.append(f"  {count(self.sounds, 'note')} with the sound that was recorded")
        said += [f"  {removal_text(gone, clock)}" for gone in self.removed]
        if self.seal is not None:
            by = "this bay's key" if self.seal.key == own_key else "a key that is not this bay's own"
            said.append(f"  signed {one_line(str(self.seal.said.get('sealed', '')))} by {by}, {self.seal.key}")
        return said

    def as_dict(self) -> dict[str, Any]:
        """For programs."""
        return {
            "job": self.job,
            "holds": self.fault is None,
            "facts": self.facts,
            "seq": self.fault.seq if self.fault else None,
            "kind": self.fault.kind if self.fault else "",
            "what": self.fault.why if self.fault else "",
            "means": self.fault.means if self.fault else "",
            "sounds": self.sounds,
            "removed": [{"wall": gone.wall, "sounds": gone.sounds, "names": gone.names} for gone in self.removed],
            "seal": self.seal.as_dict() if self.seal else None,
        }


def removal_text(gone: Removal, clock: Clock) -> str:
    """``removed by retention on 4 Mar 2025: 2 sounds, 3 names``."""
    what = [count(n, one) for n, one in ((gone.sounds, "sound"), (gone.names, "name")) if n]
    return f"removed by retention on {clock.day(gone.wall)}: {', '.join(what)}"


@dataclass(slots=True)
class _Walk:
    """One job, fact by fact; stops at the first that does not hold."""

    job: str
    store: Path
    names: Names
    removed: tuple[Removal, ...]
    signed: SignedJob
    version: int
    proof: Proof | PeopleProof = field(init=False)
    facts: int = 0
    sounds: int = 0
    prev: str = FIRST

    def __post_init__(self) -> None:
        self.proof = PeopleProof() if self.job == PEOPLE else Proof(self.job, loaded, KINDS.facts)

    def take(self, row: Row) -> Break | None:
        self.facts += 1
        if found := fault(self.job, row, self.facts, self.prev):
            return Break(found.seq, "chain", found.why)
        before, self.prev = self.prev, row.hash
        if wrong := self.signed.fault(row.seq, row.hash):
            return Break(row.seq, *wrong)
        try:
            wall, body = wall_seconds(row.wall), body_of(row.body)
        except (ValueError, RecursionError):
            return Break(row.seq, "chain", "it cannot be read")
        if row.seq == 1 and (found_age := self._age(body)):
            return found_age
        kind, why = self.proof.take(row.seq, wall, row.kind, body)
        if why:
            return Break(row.seq, kind, why)
        if row.kind in ("signed_off", "returned") and (why := _not_signed(body, before, row.seq - 1)):
            return Break(row.seq, "sum", why)
        if row.kind in NAME_KEYS:
            return self._names(row.seq, row.kind, body)
        return self._sound(row.seq, body) if row.kind == "noted" and body.get("sound") else None

    def _age(self, body: dict[str, Any]) -> Break | None:
        """A job cannot be written in a format that is younger than the file, or than the file's first signature."""
        written = body.get("format")
        if not isinstance(written, int) or written < SIGNING_FORMAT:
            return None
        if self.version < SIGNING_FORMAT or self.signed.first_id <= self.signed.since:
            return Break(1, "unsigned", f"a job of format {written} is signed by the bay, and this one is not")
        return None

    def _names(self, seq: int, kind: str, body: dict[str, Any]) -> Break | None:
        if who := self.names.fault(kind, body):
            return Break(seq, "name", f"the name kept for {who} is not the one it was written with")
        if not any(gone.names and gone.reaches(seq) for gone in self.removed) and self.names.gone(kind, body):
            return Break(seq, "name", "the name of somebody in it is gone, and nothing says that it was removed")
        return None

    def _sound(self, seq: int, body: dict[str, Any]) -> Break | None:
        path = find(self.store, str(body["sound"]))
        if path is None:
            if any(gone.sounds and gone.reaches(seq) for gone in self.removed):
                return None
            return Break(seq, "sound", "the sound of this note is gone, and nothing says that it was removed")
        try:
            digest = hashlib.sha256(path.read_bytes()).hexdigest()
        except OSError as error:
            return Break(seq, "sound", f"the sound of this note cannot be read ({error.strerror})")
        if digest != body.get("sha256"):
            return Break(seq, "sound", "the sound of this note is not the one it was written with")
        self.sounds += 1
        return None


def _not_signed(body: dict[str, Any], head: str, facts: int) -> str:
    """Why the foreman's word is not about the facts before it, whose last is sealed `head`; "" where it is.

    One of an older format does not say what was signed.
    """
    if not body.get("head") and not body.get("facts"):
        return ""
    if body.get("facts") != facts:
        return f"the word is about {body.get('facts')} facts, and {facts} are before it"
    return "" if body.get("head") == head else "the word is about other facts than those before it"


def audit_job(store: Store, job: str, each: Callable[[int], None] | None = None, keys: Iterable[str] = ()) -> JobAudit:
    """Prove one job. `each` is told how many facts were looked at, now and then; `keys`: other bays' public keys."""
    gone, known = removals(store, job), trusted(store, keys)
    signed = signed_job(store, job, known)
    walk = _Walk(job, store.path, store.names(job), gone, signed, store.version)
    found: Break | None = None
    for row in store.rows(job):
        found = walk.take(row)
        if found:
            break
        if each is not None and walk.facts % 10_000 == 0:
            each(walk.facts)
    seal = seal_of(store, job)
    if found is None and (why := signed.short(walk.facts)):
        found = Break(0, "signed", why)
    if found is None and signed.bad:
        found = Break(0, *signed.bad)
    if found is None and seal is not None and (why := seal_fault(seal, job, walk.facts, walk.prev)):
        found = Break(0, "seal", why)
    if found is None and seal is not None and (why := strange_key(seal.key, known)):
        found = Break(0, "key", why)
    return JobAudit(
        job, walk.facts, found, walk.sounds, gone, seal, walk.prev, isinstance(walk.proof, Proof) and walk.proof.unread
    )


def audit_people(store: Store, keys: Iterable[str] = ()) -> JobAudit | None:
    """Prove the facts on the people of the bay; None where there are none and none were signed."""
    found = audit_job(store, PEOPLE, keys=keys)
    return found if found.facts or found.fault else None


def audit_file(store: Store, keys: Iterable[str] = ()) -> Break | None:
    """What is wrong with the file as a whole: its pages, facts that were taken out, what the bay signed."""
    if found := store.verify_file():
        return Break(0, "file", found.why)
    wrong = record_fault(store, trusted(store, keys), whole=True)
    return Break(0, *wrong) if wrong else None


def trust_of(store: Store, job: str) -> JobAudit:
    """What a report needs to know: the audit of the job, else what is wrong with the record's seals and removals."""
    found = audit_job(store, job)
    if found.fault is not None:
        return found
    wrong = record_fault(store, trusted(store), whole=False)
    return replace(found, fault=Break(0, *wrong)) if wrong else found


def head_of(store: Store) -> Head:
    """The Merkle head over all facts of the record, to be printed or kept elsewhere."""
    return tree_of(store).head()


def check_head(store: Store, kept: Head) -> Break | None:
    """Whether the record still holds everything it held when `kept` was printed."""
    now = tree_of(store, kept.size).head()
    if now.size < kept.size:
        return Break(0, "head", f"the head is over {kept.size} facts and {now.size} are here")
    if now.root != kept.root:
        return Break(0, "head", f"the first {kept.size} facts are not those the head was printed over")
    return None
