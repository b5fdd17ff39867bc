"""Whether what the bay signed while the record was written is still what the record holds."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Final

from bayvoice.record.baykey import known_key
from bayvoice.record.merkle import Tree
from bayvoice.record.sqlite import heads
from bayvoice.record.sqlite.heads import SIGNED, RecordHead
from bayvoice.record.sqlite.store import Store

_TABLES: Final = {
    "seals": "a seal was taken out, exchanged or put in beside bayvoice",
    "removed": "a removal of sounds or names was entered, changed or taken out beside bayvoice",
}
"""Table a statement covers -> what it means that it is another one now."""


def trusted(store: Store, given: Iterable[str] = ()) -> frozenset[str]:
    """Public keys that may have signed this record.

    Those `given` and the one pinned at this bay; where there are none, the one the record began with, which this
    computer cannot vouch for.
    """
    keys = frozenset(filter(None, (known_key(), *given)))
    if keys or store.version < 3:
        return keys
    with store.using() as db:
        first = heads.first(db)
    return frozenset({first.key}) if first else frozenset()


def strange_key(key: str, keys: frozenset[str]) -> str:
    """What is wrong with a signature made by `key`; "" where it may have been made."""
    if not keys or key in keys:
        return ""
    return f"it was signed with the key {key}, which is not the one this bay is known by"


@dataclass(slots=True)
class SignedJob:
    """What the bay signed of one job. `since`: facts of the file that were kept before the bay signed.

    `must`: numbers of facts that are kept together with a signature.
    """

    of: dict[int, RecordHead] = field(default_factory=dict)
    must: frozenset[int] = frozenset()
    first_id: int = 0
    since: int = 0
    bad: tuple[str, str] | None = None

    def fault(self, seq: int, found: str) -> tuple[str, str] | None:
        """(kind of fault, why) of fact `seq` whose seal is `found`; None where it is as it was signed."""
        head = self.of.get(seq)
        if head is not None and head.said.get("hash") != found:
            return "signed", "it is not the fact that the bay signed when it was written"
        if head is None and seq in self.must:
            return "unsigned", "the bay signs a fact of this kind as it is written, and this one has no signature"
        return None

    def short(self, facts: int) -> str:
        """What is wrong with a job that has so many facts; "" where all that were signed are there."""
        most = max(self.of, default=0)
        return f"the bay signed {most} facts of this job and {facts} are here" if most > facts else ""


def signed_job(store: Store, job: str, keys: frozenset[str]) -> SignedJob:
    """The statements of a job, each looked at."""
    if store.version < 3:
        return SignedJob()
    with store.using() as db:
        found, first = heads.of_job(db, job), heads.first(db)
        since = first.facts if first is not None and first.said.get("lifted") else 0
        marks = ", ".join("?" * len(SIGNED))
        query = f"SELECT seq FROM facts WHERE job = ? AND kind IN ({marks}) AND id > ?"
        must = frozenset(seq for (seq,) in db.execute(query, (job, *sorted(SIGNED), since)))
        began = db.execute("SELECT id FROM facts WHERE job = ? AND seq = 1", (job,)).fetchone()
    bad = next((wrong for head in found if (wrong := _bad(head, keys))), None)
    return SignedJob({head.seq: head for head in found}, must, int(began[0]) if began else 0, since, bad)


def _bad(head: RecordHead, keys: frozenset[str]) -> tuple[str, str] | None:
    if not head.holds():
        return "signed", f"signature {head.number} of the bay does not fit what it was made over"
    why = strange_key(head.key, keys)
    return ("key", why) if why else None


def record_fault(store: Store, keys: frozenset[str], *, whole: bool) -> tuple[str, str] | None:
    """(kind of fault, why) of what the bay signed of the record as a whole; None where all of it fits.

    whole: look at every statement and hold every fact of the file against them; else only at the newest statement and
    the tables it covers.
    """
    if store.version < 3:
        return None
    with store.using() as db:
        newest = heads.newest(db)
        if newest is None:
            return _none_at_all(db)
        if wrong := _bad(newest, keys):
            return wrong
        for name, what in _TABLES.items():
            if newest.said.get(name) != heads.table_digest(db, name):
                return "signed", what
        if not whole:
            return None
        statements = heads.every(db)
        wrote = db.execute("SELECT max(seq) FROM sqlite_sequence WHERE name = 'heads'").fetchone()[0] or 0
    if len(statements) != wrote:
        return "signed", f"the bay signed {wrote} times in this file and {len(statements)} signatures are here"
    return _chained(statements, keys) or _covered(store, statements)


def _none_at_all(db: sqlite3.Connection) -> tuple[str, str] | None:
    marks = ", ".join("?" * len(SIGNED))
    count = db.execute(f"SELECT count(*) FROM facts WHERE kind IN ({marks})", sorted(SIGNED)).fetchone()[0]
    return ("unsigned", "there is not one signature of the bay in it") if count else None


def _chained(statements: list[RecordHead], keys: frozenset[str]) -> tuple[str, str] | None:
    """Each statement holds the one before, so one signature stands for all before it of the same key."""
    before = ""
    for at, head in enumerate(statements):
        if head.number != at + 1 or head.said.get("before") != before or head.said.get("number") != head.number:
            return "signed", f"signature {at + 1} of the bay is missing or was exchanged"
        last_of_key = at + 1 == len(statements) or statements[at + 1].key != head.key
        if last_of_key and (wrong := _bad(head, keys)):
            return wrong
        before = head.digest
    return None


def _covered(store: Store, statements: list[RecordHead]) -> tuple[str, str] | None:
    """The facts of the file in the order they were written, against every statement that was made on the way."""
    tree, rest = Tree(), iter(statements)
    head = next(rest)
    for text in _seals_of_facts(store):
        while tree.size == head.facts:
            if _differs(tree, head):
                return _changed(head)
            following = next(rest, None)
            if following is None:
                return None
            head = following
        tree.add(heads.leaf(text))
    while tree.size == head.facts:
        if _differs(tree, head):
            return _changed(head)
        following = next(rest, None)
        if following is None:
            return None
        head = following
    return "signed", f"the bay signed {statements[-1].facts} facts and {tree.size} are here"


def _differs(tree: Tree, head: RecordHead) -> bool:
    return [peak.hex() for peak in tree.peaks] != head.said.get("peaks")


def _changed(head: RecordHead) -> tuple[str, str]:
    return "signed", f"the first {head.facts} facts of the file are not those that the bay signed"


def _seals_of_facts(store: Store) -> Iterable[str]:
    last = 0
    while True:
        with store.using() as db:
            query = "SELECT id, hash FROM facts WHERE id > ? ORDER BY id LIMIT 5000"
            rows = db.execute(query, (last,)).fetchall()
        for _, text in rows:
            yield text
        if len(rows) < 5000:
            return
        last = rows[-1][0]


def coverage(store: Store) -> str:
    """One sentence on how far the bay's signature reaches; "" where nothing needs saying."""
    if store.version < 3:
        return "It was written by an older version: no signature of the bay covers it."
    with store.using() as db:
        newest = heads.newest(db)
        facts = db.execute("SELECT count(*) FROM facts").fetchone()[0]
    if newest is None:
        return ""
    open_facts = facts - newest.facts
    more = f"; the {open_facts} newest are not signed yet, a sitting goes on or broke off" if open_facts > 0 else ""
    return f"signed {newest.number} times up to fact {newest.facts} of {facts}, by {newest.key}{more}"
