"""The bay's running signature: what the record held whenever something final was written into it.

With every fact that ends or signs something (`SIGNED`), and whenever a job is sealed or names are taken out, the bay
signs a statement in the same transaction: how many facts the file holds and the Merkle peaks over them (RFC 6962), the
newest fact of the job in hand, and what the tables of seals and removals hold. Statements are numbered and each holds
the SHA-256 of the one before. So a fact, a job, a seal or a removal that is changed, taken out or slipped in beside the
product no longer fits what was signed, whoever works the chain of facts out anew; only the newest statements can be
taken out unseen, with everything they cover.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from dataclasses import dataclass
from typing import Any, Final

from bayvoice.record.baykey import BayKey, holds
from bayvoice.record.chain import canonical
from bayvoice.record.merkle import Tree

PURPOSE: Final = "bayvoice record head"
"""First word of every statement, so that a signature made for one purpose cannot serve another."""

SIGNED: Final = frozenset(
    {
        "signed",
        "job_done",
        "sitting_left",
        "signed_off",
        "returned",
        # of the people of the bay: who may sign, and how often a code was wrong
        "person_set",
        "person_removed",
        "code_right",
        "code_wrong",
        "code_waits",
    }
)
"""Kinds of fact that are kept together with the bay's signature."""

TABLES: Final = {
    "seals": "SELECT job, statement, key, signature FROM seals ORDER BY job",
    "removed": "SELECT job, wall, sounds, names, facts FROM removed ORDER BY rowid",
}
"""Tables whose whole content each statement covers, and how they are read."""

_COLUMNS: Final = "number, job, seq, statement, key, signature"


@dataclass(frozen=True, slots=True)
class RecordHead:
    """One statement as it lies in the file; `said` is what it says, {} where it cannot be read.

    `job`, `seq`: the job in hand and its newest fact, "" and 0 for the whole record alone.
    """

    number: int
    job: str
    seq: int
    statement: str
    key: str
    signature: str
    said: dict[str, Any]

    @property
    def digest(self) -> str:
        """What the next statement holds of this one."""
        return hashlib.sha256(self.statement.encode("utf-8", "surrogatepass")).hexdigest()

    @property
    def facts(self) -> int:
        """How many facts it covers, -1 where it does not say."""
        found = self.said.get("facts")
        return found if isinstance(found, int) else -1

    def holds(self) -> bool:
        """Whether its signature was made over it by its key, and it is what its columns say."""
        said = self.said
        named = said.get("purpose"), said.get("number"), said.get("job"), said.get("seq"), said.get("key")
        if named != (PURPOSE, self.number, self.job, self.seq, self.key):
            return False
        return holds(self.key, self.statement.encode("utf-8", "surrogatepass"), self.signature)


def attest(
    db: sqlite3.Connection, key: BayKey, wall: str, end: tuple[str, int, str] = ("", 0, ""), lifted: int = 0
) -> None:
    """Sign what the record holds now. The caller holds the transaction that changes it.

    Args:
        wall: the moment, as the record writes it.
        end: job, number and seal of its newest fact.
        lifted: format of the file that has just been lifted to today's; its facts were kept without signatures.
    """
    last = newest(db)
    tree = _tree_of(last)
    rows = db.execute("SELECT hash FROM facts WHERE id > ? ORDER BY id", (tree.size,))
    tree.extend(leaf(text) for (text,) in rows)
    number = last.number + 1 if last else 1
    job, seq, found = end
    statement = canonical(
        {
            "purpose": PURPOSE,
            "format": 1,
            "number": number,
            "before": last.digest if last else "",
            "facts": tree.size,
            "peaks": [peak.hex() for peak in tree.peaks],
            "job": job,
            "seq": seq,
            "hash": found,
            **{name: table_digest(db, name) for name in TABLES},
            "wall": wall,
            "key": key.public,
            "lifted": lifted,
        }
    )
    db.execute(
        f"INSERT INTO heads ({_COLUMNS}) VALUES (?, ?, ?, ?, ?, ?)",
        (number, job, seq, statement, key.public, key.sign(statement.encode())),
    )


def _tree_of(last: RecordHead | None) -> Tree:
    """The tree to go on with: that of the newest statement, so that its facts are not hashed again; else an empty one.

    If the facts it covers were changed meanwhile, the new statement still speaks of those that were signed.
    """
    if last is None or not last.holds():
        return Tree()
    try:
        return Tree(last.facts, [bytes.fromhex(peak) for peak in last.said["peaks"]])
    except (KeyError, TypeError, ValueError):
        return Tree()


def table_digest(db: sqlite3.Connection, name: str) -> dict[str, Any]:
    """How many rows the table `name` has, and the SHA-256 over them."""
    rows = [list(row) for row in db.execute(TABLES[name])]
    text = json.dumps(rows, ensure_ascii=False, separators=(",", ":"))
    return {"rows": len(rows), "sha256": hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()}


def leaf(text: Any) -> bytes:
    """A fact's own seal as a leaf of the tree."""
    try:
        return bytes.fromhex(text)
    except (TypeError, ValueError):
        # Somebody wrote into the file. It is a leaf all the same, and another one than it was.
        return str(text).encode("utf-8", "replace")


def newest(db: sqlite3.Connection) -> RecordHead | None:
    """The newest statement, None where there is none."""
    found = _read(db, "ORDER BY number DESC LIMIT 1")
    return found[0] if found else None


def first(db: sqlite3.Connection) -> RecordHead | None:
    """The first statement, None where there is none."""
    found = _read(db, "ORDER BY number LIMIT 1")
    return found[0] if found else None


def every(db: sqlite3.Connection) -> list[RecordHead]:
    """All statements, the first one first."""
    return _read(db, "ORDER BY number")


def of_job(db: sqlite3.Connection, job: str) -> list[RecordHead]:
    """The statements made when something final of `job` was written."""
    return _read(db, "WHERE job = ? ORDER BY number", (job,))


def _read(db: sqlite3.Connection, which: str, values: tuple[Any, ...] = ()) -> list[RecordHead]:
    found = []
    for number, job, seq, statement, key, signature in db.execute(f"SELECT {_COLUMNS} FROM heads {which}", values):
        try:
            said = json.loads(str(statement))
        except (ValueError, RecursionError):
            said = {}
        said = said if isinstance(said, dict) else {}
        texts = str(statement), str(key), str(signature)
        found.append(RecordHead(number, str(job), seq if isinstance(seq, int) else -1, *texts, said))
    return found
