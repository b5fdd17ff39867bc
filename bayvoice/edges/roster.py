"""The people of a bay and their codes: ``people.toml`` in the data directory, names in clear, codes only as hashes."""

from __future__ import annotations

import contextlib
import hashlib
import hmac
import json
import os
import secrets
import tomllib
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

import platformdirs

from bayvoice.core.people import Person
from bayvoice.edges.sounds import sync_folder
from bayvoice.errors import BayError

_COST: Final = (2**14, 8, 1)
"""N, r, p of scrypt, RFC 7914: 16 MB and about 50 ms for each try. A code of four figures has only ten thousand; the
hash keeps it from being read off the file, the file's rights and the record of wrong codes do the rest."""
_KEYS: Final = ("name", "role", "badge", "code")
SHORTEST, LONGEST = 4, 12
"""Figures of a code: as many as `numbers.gram` takes."""


def path() -> Path:
    """Where the people of this bay are kept."""
    return platformdirs.user_data_path("bayvoice") / "people.toml"


@dataclass(frozen=True, slots=True)
class Entry:
    """One person; `code`: "scrypt$N$r$p$salt$hash", hex, or "" for none."""

    name: str
    role: str = ""
    badge: str = ""
    code: str = ""


@dataclass(frozen=True, slots=True)
class Roster:
    """Everyone in the file, in its order."""

    entries: tuple[Entry, ...] = ()

    @property
    def roll(self) -> tuple[Person, ...]:
        """What the core may know of them."""
        return tuple(Person(one.name, one.role, one.badge, bool(one.code)) for one in self.entries)

    def right(self, who: str, code: str) -> bool:
        """Whether `code`, figures, is that of `who` (a name or a role that one person has)."""
        named = [one for one in self.entries if one.name.lower() == who.lower()]
        meant = named or [one for one in self.entries if one.role.lower() == who.lower()]
        return len(meant) == 1 and _fits(code, meant[0].code)


def hashed(code: str) -> str:
    """`code` as the file keeps it, with a salt of its own.

    Raises:
        BayError: it is not four to twelve figures.
    """
    if not (code.isascii() and code.isdigit() and SHORTEST <= len(code) <= LONGEST):
        raise BayError("a code is four to twelve figures", "code", "choose another one")
    salt = secrets.token_bytes(16)
    n, r, p = _COST
    return f"scrypt${n}${r}${p}${salt.hex()}${_scrypt(code, salt, n, r, p).hex()}"


def _scrypt(code: str, salt: bytes, n: int, r: int, p: int) -> bytes:
    return hashlib.scrypt(code.encode(), salt=salt, n=n, r=r, p=p, maxmem=256 * n * r, dklen=32)


def _fits(code: str, kept: str) -> bool:
    parts = kept.split("$")
    if len(parts) != 6 or parts[0] != "scrypt":
        return False
    try:
        n, r, p = (int(one) for one in parts[1:4])
        return hmac.compare_digest(_scrypt(code, bytes.fromhex(parts[4]), n, r, p), bytes.fromhex(parts[5]))
    except ValueError:
        return False


def read(file: Path | None = None) -> Roster:
    """The people of the bay; nobody where there is no file.

    Raises:
        BayError: the file cannot be read or is not as this version writes it.
    """
    file = file or path()
    try:
        document = tomllib.loads(file.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return Roster()
    except OSError as error:
        raise BayError(f"the people of the bay cannot be read ({error.strerror})", str(file), "look at its rights") \
            from None  # fmt: skip
    except ValueError as error:
        raise BayError(f"the people of the bay cannot be read ({error})", str(file), "mend that line") from None
    rows = document.get("person", [])
    if not isinstance(rows, list):
        raise _wrong(file, "person is not a list of tables")
    return Roster(tuple(_entry(row, file) for row in rows))


def _entry(row: Any, file: Path) -> Entry:
    if not isinstance(row, dict) or not isinstance(row.get("name"), str) or not row["name"].strip():
        raise _wrong(file, "a person has no name")
    for key, value in row.items():
        if key not in _KEYS or not isinstance(value, str):
            raise _wrong(file, f'"{key}" of {row["name"]} is not one of {", ".join(_KEYS)}, each a text')
    return Entry(**row)


def _wrong(file: Path, what: str) -> BayError:
    return BayError(what, str(file), "mend the file, or remove it and add everyone again")


def add(entry: Entry, file: Path | None = None) -> bool:
    """Add a person, or change one who is there; True if it is a new one. A code that is not given stays as it was."""
    file = file or path()
    if not (entry.name + entry.role + entry.badge).isprintable():
        raise BayError("a name holds a sign that cannot be written", "people", "use letters, figures and blanks")
    roster = read(file)
    old = next((one for one in roster.entries if one.name.lower() == entry.name.lower()), None)
    if old is None:
        _write((*roster.entries, entry), file)
        return True
    kept = replace(old, role=entry.role or old.role, badge=entry.badge or old.badge, code=entry.code or old.code)
    _write(tuple(kept if one is old else one for one in roster.entries), file)
    return False


def remove(name: str, file: Path | None = None) -> bool:
    """Remove a person; False if there is none of that name."""
    file = file or path()
    roster = read(file)
    left = tuple(one for one in roster.entries if one.name.lower() != name.lower())
    if len(left) == len(roster.entries):
        return False
    _write(left, file)
    return True


def _write(entries: tuple[Entry, ...], file: Path) -> None:
    """All or nothing, and for the owner's eyes only."""
    blocks = []
    for one in entries:
        # A JSON string of printable text is a TOML basic string.
        rows = [f"{key} = {json.dumps(getattr(one, key), ensure_ascii=False)}" for key in _KEYS if getattr(one, key)]
        blocks.append("[[person]]\n" + "\n".join(rows) + "\n")
    part = file.with_name(f".{file.name}.part")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(handle, "w", encoding="utf-8") as out:
            out.write("\n".join(blocks))
            out.flush()
            os.fsync(out.fileno())
        part.replace(file)
        sync_folder(file.parent)
    except OSError as error:
        with contextlib.suppress(OSError):
            part.unlink()
        raise BayError(
            f"the people of the bay cannot be kept ({error.strerror})", str(file), "make room or look at its rights"
        ) from None
