"""The tables of the record, and how an older file becomes one of today."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from typing import Final

APPLICATION: Final = 0x42617956
"""SQLite `application_id` of our files, the letters "BayV"."""

FORMAT: Final = 3
"""SQLite `user_version`: version of the tables below."""

PEOPLE: Final = "people of the bay"
"""In place of a job's name: the chain of facts on who works and signs here. It is a chain like every job's, in the
same table, so that the same seals, triggers, audit and head hold it; no job may have that name."""

_FACTS: Final = """
CREATE TABLE facts (
  id   INTEGER PRIMARY KEY AUTOINCREMENT,
  job  TEXT NOT NULL,
  seq  INTEGER NOT NULL,
  wall TEXT NOT NULL,
  kind TEXT NOT NULL,
  body TEXT NOT NULL,
  prev TEXT NOT NULL,
  hash TEXT NOT NULL,
  UNIQUE (job, seq)
);
CREATE TRIGGER facts_in_order BEFORE INSERT ON facts
  WHEN NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM facts WHERE job = NEW.job)
    OR EXISTS (SELECT 1 FROM facts WHERE id = NEW.id)
  BEGIN SELECT RAISE(ABORT, 'facts are only added at the end'); END;
CREATE TRIGGER facts_unchanged BEFORE UPDATE ON facts
  BEGIN SELECT RAISE(ABORT, 'facts are never changed'); END;
CREATE TRIGGER facts_kept BEFORE DELETE ON facts
  BEGIN SELECT RAISE(ABORT, 'facts are never taken out'); END;
"""

_SINCE_2: Final = """
CREATE TABLE people (
  job    TEXT NOT NULL,
  person INTEGER NOT NULL,
  name   TEXT NOT NULL,
  salt   TEXT NOT NULL,
  PRIMARY KEY (job, person)
) WITHOUT ROWID;
CREATE TABLE badges (
  number INTEGER PRIMARY KEY AUTOINCREMENT,
  name   TEXT NOT NULL UNIQUE
);
CREATE TABLE seals (
  job       TEXT PRIMARY KEY,
  statement TEXT NOT NULL,
  key       TEXT NOT NULL,
  signature TEXT NOT NULL
) WITHOUT ROWID;
CREATE TABLE removed (
  job    TEXT NOT NULL,
  wall   TEXT NOT NULL,
  sounds INTEGER NOT NULL,
  names  INTEGER NOT NULL
);
CREATE TRIGGER facts_closed BEFORE INSERT ON facts
  WHEN EXISTS (SELECT 1 FROM seals WHERE job = NEW.job)
  BEGIN SELECT RAISE(ABORT, 'facts are not added to a sealed job'); END;
CREATE TRIGGER seals_unchanged BEFORE UPDATE ON seals
  BEGIN SELECT RAISE(ABORT, 'seals are never changed'); END;
CREATE TRIGGER seals_kept BEFORE DELETE ON seals
  BEGIN SELECT RAISE(ABORT, 'seals are never taken out'); END;
"""

_SINCE_3: Final = """
CREATE TABLE heads (
  number    INTEGER PRIMARY KEY AUTOINCREMENT,
  job       TEXT NOT NULL,
  seq       INTEGER NOT NULL,
  statement TEXT NOT NULL,
  key       TEXT NOT NULL,
  signature TEXT NOT NULL
);
CREATE INDEX heads_of_job ON heads (job, seq);
CREATE TRIGGER heads_unchanged BEFORE UPDATE ON heads
  BEGIN SELECT RAISE(ABORT, 'signatures are never changed'); END;
CREATE TRIGGER heads_kept BEFORE DELETE ON heads
  BEGIN SELECT RAISE(ABORT, 'signatures are never taken out'); END;
ALTER TABLE removed ADD COLUMN facts INTEGER;
"""


def make(db: sqlite3.Connection) -> None:
    """Make every table in a new file. The caller holds the transaction."""
    for script in (_FACTS, _SINCE_2, _SINCE_3):
        _run(db, script)
    _stamp(db)


def lift(db: sqlite3.Connection, version: int) -> None:
    """Give a file of an older format what it lacks. Its facts stay as they are, to the last byte: they are sealed.

    The caller holds the transaction, so that a file is of one format or the other whatever happens.
    """
    if version < 2:
        _run(db, _SINCE_2)
    if version < 3:
        _run(db, _SINCE_3)
    _stamp(db)


def _stamp(db: sqlite3.Connection) -> None:
    db.execute(f"PRAGMA application_id = {APPLICATION}")
    db.execute(f"PRAGMA user_version = {FORMAT}")


def _run(db: sqlite3.Connection, script: str) -> None:
    for statement in _statements(script):
        db.execute(statement)


def _statements(script: str) -> Iterator[str]:
    """Statements of `script` one by one: `executescript` would commit in between."""
    statement = ""
    for line in script.splitlines():
        statement += line + "\n"
        if sqlite3.complete_statement(statement):
            yield statement
            statement = ""
