"""Names in the record: the sealed facts hold a token each, the name lies in a table that can be emptied.

In a fact a name is ``{"person": n, "seal": "…"}``: the n-th person of this job and the SHA-256 of a random salt and
the name. Name and salt lie in a table outside the chain. As long as they are there nobody can exchange a name, because
it would no longer fit the seal; once they are taken away (`bayvoice.record.sqlite.retention`), nobody can find the
name again, because the salt is lost, and the chain of facts still holds. Tokens are numbered within a job, so a name
that is taken from an old job is not betrayed by a newer one of the same person.
"""

from __future__ import annotations

import hashlib
import secrets
import sqlite3
from collections.abc import Mapping
from typing import Any, Final

from bayvoice.language.texts import tell
from bayvoice.record.chain import body_of

NAME_KEYS: Final[dict[str, tuple[str, ...]]] = {
    "sitting_began": ("by",),
    "handed_over": ("leaves", "takes"),
    "signed": ("who",),
    "searched": ("who",),
    "overridden": ("who",),
    "signed_off": ("who",),
    "returned": ("who",),
    # of the people of the bay, see `bayvoice.record.sqlite.roster`
    "person_set": ("who", "by"),
    "person_removed": ("who", "by"),
    "code_right": ("who",),
    "code_wrong": ("who",),
    "code_waits": ("who",),
}
"""Kind of fact -> the keys under which a person is named."""


def seal_of(salt: str, name: str) -> str:
    """What a fact holds of a name: hex SHA-256 of the salt's bytes and the name in UTF-8. `salt`: hex, 16 bytes."""
    return hashlib.sha256(bytes.fromhex(salt) + name.encode("utf-8", "surrogatepass")).hexdigest()


def hide(db: sqlite3.Connection, job: str, kind: str, body: Mapping[str, Any]) -> dict[str, Any]:
    """`body` with tokens for names. New people are entered; call it inside the transaction that keeps the fact."""
    hidden = dict(body)
    for key in NAME_KEYS.get(kind, ()):
        name = hidden.get(key)
        if isinstance(name, str) and name:
            hidden[key] = _token(db, job, name)
    return hidden


def _token(db: sqlite3.Connection, job: str, name: str) -> dict[str, Any]:
    found = db.execute("SELECT person, salt FROM people WHERE job = ? AND name = ?", (job, name)).fetchone()
    if found is None:
        # Not the number of rows: where names were taken away the next person must still be another one.
        last = db.execute("SELECT max(person) FROM people WHERE job = ?", (job,)).fetchone()[0]
        person = max(int(last or 0), _last_in_facts(db, job)) + 1
        found = person, secrets.token_hex(16)
        db.execute("INSERT INTO people (job, person, name, salt) VALUES (?, ?, ?, ?)", (job, person, name, found[1]))
        db.execute(
            "INSERT INTO badges (name) SELECT ? WHERE NOT EXISTS (SELECT 1 FROM badges WHERE name = ?)", (name, name)
        )
    return {"person": int(found[0]), "seal": seal_of(str(found[1]), name)}


def _last_in_facts(db: sqlite3.Connection, job: str) -> int:
    """The highest number of a person in the facts of `job`."""
    query = "SELECT max(json_extract(body, ?)) FROM facts WHERE job = ? AND kind = ? AND json_valid(body)"
    found = [
        db.execute(query, (f"$.{key}.person", job, kind)).fetchone()[0]
        for kind, keys in NAME_KEYS.items()
        for key in keys
    ]
    return max((person for person in found if isinstance(person, int)), default=0)


class Names:
    """The names of one job as they are known now.

    Args:
        known: (person, name, salt) of the job.
        badges: name -> badge number; where given, a person is shown by that number instead of by name.
    """

    def __init__(self, known: list[tuple[int, str, str]], badges: Mapping[str, int] | None = None) -> None:
        self._rows = {person: (name, salt) for person, name, salt in known}
        self._badges = badges

    def show(self, kind: str, body: dict[str, Any]) -> dict[str, Any]:
        """`body` with a name, a badge number or "person n" in place of every token."""
        keys = NAME_KEYS.get(kind)
        if not keys:
            return body
        shown = dict(body)
        for key in keys:
            value = shown.get(key)
            if isinstance(value, dict):
                shown[key] = self._shown(value)
            elif self._badges is not None and isinstance(value, str) and value:
                # A fact of format 1 holds the name itself.
                shown[key] = (
                    tell("record-badge", badge=self._badges[value])
                    if value in self._badges
                    else tell("record-somebody")
                )
        return shown

    def _shown(self, token: dict[str, Any]) -> str:
        person = token.get("person")
        row = self._rows.get(person) if isinstance(person, int) else None
        if row is None:
            return tell("record-person", person=person)
        return row[0] if self._badges is None else tell("record-badge", badge=self._badges.get(row[0], "?"))

    def told(self, kind: str, body: str) -> dict[str, str]:
        """Key -> name for every token in the body's text; {} where it has none or cannot be read."""
        if kind not in NAME_KEYS:
            return {}
        try:
            said = body_of(body)
        except (ValueError, RecursionError):
            return {}
        shown = self.show(kind, said)
        return {key: str(shown[key]) for key in NAME_KEYS[kind] if isinstance(said.get(key), dict)}

    def fault(self, kind: str, body: Mapping[str, Any]) -> str:
        """The person whose name is not the one the fact was sealed with, as "person 2"; "" where all are."""
        for key in NAME_KEYS.get(kind, ()):
            token = body.get(key)
            if not isinstance(token, dict):
                continue
            row = self._rows.get(token.get("person", 0))
            if row is not None and not _fits(row, token):
                return tell("record-person", person=token.get("person"))
        return ""

    def gone(self, kind: str, body: Mapping[str, Any]) -> bool:
        """Whether the fact names somebody whose name is no longer kept."""
        return any(
            isinstance(token := body.get(key), dict) and token.get("person") not in self._rows
            for key in NAME_KEYS.get(kind, ())
        )


def _fits(row: tuple[str, str], token: Mapping[str, Any]) -> bool:
    name, salt = row
    try:
        return seal_of(salt, name) == token.get("seal")
    except ValueError:
        return False


def names_of(db: sqlite3.Connection, job: str, version: int, badges: bool = False) -> Names:
    """The names of `job`; in a file of format 1 there are none beside the facts."""
    if version < 2:
        return Names([], {} if badges else None)
    rows = [
        (int(person), str(name), str(salt))
        for person, name, salt in db.execute("SELECT person, name, salt FROM people WHERE job = ?", (job,))
        if isinstance(person, int)
    ]
    numbers = {str(name): int(number) for number, name in db.execute("SELECT number, name FROM badges")}
    return Names(rows, numbers if badges else None)
