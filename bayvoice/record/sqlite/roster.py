"""The people of a bay, their roles and their codes: facts of a chain of their own in the bay's record.

Who may sign belongs to what is signed: in a file beside the record it could be swapped. The chain is sealed like a
job's, its names lie behind tokens like a job's, and the audit and the head over the record cover it. A code is kept
only as a salted scrypt hash. Every wrong code stands there too, and makes the next try wait, longer each time, in
every process that opens the record.
"""

from __future__ import annotations

import hashlib
import hmac
import math
import secrets
import time
import tomllib
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

import platformdirs

from bayvoice.errors import BayError
from bayvoice.host.clock import LiveClock
from bayvoice.job.facts import Fact
from bayvoice.job.people import Person, find, like, names_nobody, same
from bayvoice.language.texts import tell
from bayvoice.procedure.model import FOREMAN
from bayvoice.record.chain import read as read_row
from bayvoice.record.sqlite.schema import PEOPLE
from bayvoice.record.sqlite.store import Store

KINDS: Final[dict[str, tuple[str, ...]]] = {
    # imported: SHA-256 of the people.toml that the first people were taken from, "" where there was none
    "people_began": ("format", "imported"),
    # everything that is known of a person from now on; how: "set"/"imported"; code: "scrypt$N$r$p$salt$hash" or "";
    # by: whose code allowed it, "" where nobody's was needed
    "person_set": ("who", "role", "badge", "code", "by", "how"),
    "person_removed": ("who", "by"),
    # a code that was given, at: the job it was for, "" for the people themselves; count: wrong ones since the last
    # right one; code_waits: a new beginning of the same wait, because the wall clock was set back;
    # boot, mono: the computer's counting clock, seconds
    "code_right": ("who", "at"),
    "code_wrong": ("who", "at", "count", "boot", "mono"),
    "code_waits": ("who", "at", "count", "boot", "mono"),
}
"""The facts of this chain and the keys of their bodies."""

CHAIN: Final = PEOPLE
"""What stands in the place of a job's name."""

FORMAT: Final = 1
"""Version of these facts."""

_COST: Final = (2**14, 8, 1)
"""N, r, p of scrypt, RFC 7914: 16 MB and about 50 ms for each try. A code of four figures has only ten thousand; the
hash keeps it from being read off the file, the file's rights and the waits after wrong codes do the rest."""
_KEYS: Final = ("name", "role", "badge", "code")
SHORTEST, LONGEST = 4, 12
"""Figures of a code: as many as `numbers.gram` takes."""
LONGEST_NAME: Final = 80
LONGEST_PAUSE_S: Final = 600
"""The longest wait after a wrong code, seconds."""


def pause_s(count: int) -> int:
    """Seconds to wait after so many wrong codes in a row: 1, 2, 4 … up to ten minutes."""
    return min(2 ** min(count - 1, 20), LONGEST_PAUSE_S) if count > 0 else 0


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment by the computer's clocks. `boot` names the start from which `mono` counts; both in seconds."""

    boot: str
    mono: float
    wall: float


def now() -> Moment:
    """The present moment: the computer's own, also where a job is worked on a recording's clock."""
    clock = LiveClock()
    return Moment(clock.boot, clock.mono(), time.time())


@dataclass(frozen=True, slots=True)
class Entry:
    """One person; `code`: "scrypt$N$r$p$salt$hash", hex, or "" for none."""

    name: str
    role: str = ""
    badge: str = ""
    code: str = ""


@dataclass(frozen=True, slots=True)
class Roster:
    """Everyone who is kept, in the order in which they came."""

    entries: tuple[Entry, ...] = ()

    @property
    def roll(self) -> tuple[Person, ...]:
        """What the core may know of them."""
        return tuple(Person(one.name, one.role, one.badge, bool(one.code)) for one in self.entries)

    def of(self, who: str) -> Entry | None:
        """The one who is meant by `who`, a name or a role that one person has."""
        meant = find(self.roll, who)
        return next((one for one in self.entries if one.name == meant[0].name), None) if len(meant) == 1 else None

    def right(self, who: str, code: str) -> bool:
        """Whether `code`, figures, is that of `who`."""
        entry = self.of(who)
        return entry is not None and fits(code, entry.code)

    def verdict(self, who: str, code: str) -> str:
        """As `Door.verdict`, where nothing is kept of it."""
        return "right" if self.right(who, code) else "wrong"

    def coded_foremen(self) -> tuple[Entry, ...]:
        """Who can allow a change of the people with a code."""
        return tuple(one for one in self.entries if one.code and same(one.role, FOREMAN))


@dataclass(frozen=True, slots=True)
class Tried:
    """What became of a code. `verdict`: "right", "wrong" or "wait"; `wait`: seconds until the next can be tried."""

    verdict: str
    wait: int = 0
    count: int = 0


class Door:
    """Compares codes for one sitting, against the record as it is at that moment."""

    def __init__(self, store: Store, job: str, clock: Callable[[], Moment] = lambda: now()) -> None:
        self._store, self._job, self._clock = store, job, clock

    def verdict(self, who: str, code: str) -> str:
        """ "right", "wrong", or "wait 12" where codes of `who` must wait for so many seconds. BayError: not kept."""
        found = tried(self._store, who, code, self._clock(), self._job)
        return f"wait {found.wait}" if found.verdict == "wait" else found.verdict


# codes


def hashed(code: str) -> str:
    """`code` as the record keeps it, with a salt of its own.

    Raises:
        BayError: it is not four to twelve figures.
    """
    if not (code.isascii() and code.isdigit() and SHORTEST <= len(code) <= LONGEST):
        raise BayError(tell("record-code-is-four-to-twelve"), tell("record-code"), tell("record-choose-another-one"))
    salt = secrets.token_bytes(16)
    n, r, p = _COST
    return f"scrypt${n}${r}${p}${salt.hex()}${_scrypt(code, salt, n, r, p).hex()}"


def _scrypt(code: str, salt: bytes, n: int, r: int, p: int) -> bytes:
    return hashlib.scrypt(code.encode(), salt=salt, n=n, r=r, p=p, maxmem=256 * n * r, dklen=32)


def fits(code: str, kept: str) -> bool:
    """Whether `code` is the one whose hash is `kept`."""
    parts = kept.split("$")
    if len(parts) != 6 or parts[0] != "scrypt":
        return False
    try:
        n, r, p = (int(one) for one in parts[1:4])
        return hmac.compare_digest(_scrypt(code, bytes.fromhex(parts[4]), n, r, p), bytes.fromhex(parts[5]))
    except ValueError:
        return False


def tried(store: Store, who: str, code: str, at: Moment, job: str = "") -> Tried:
    """Compare `code` with that of `who`, and keep what came of it: on the disk before anybody is told.

    One transaction from looking to writing, so that two processes can't try at the same time.

    Raises:
        BayError: the record cannot be written, or what it holds of the people is not as it was written.
    """
    with store.writing() as db:
        entry = read(store).of(who)
        if entry is None or not entry.code:
            return Tried("wrong")
        last = _last_wrong(store, entry.name)
        count = int(last.body["count"]) if last else 0
        body: dict[str, Any] = {"who": entry.name, "at": job}
        clock = {"boot": at.boot, "mono": f"{at.mono:.3f}"}
        if last is not None:
            left, anew = _left(last, at)
            if anew:
                store.add_of_people(db, at.wall, "code_waits", {**body, "count": count, **clock})
            if left > 0:
                return Tried("wait", math.ceil(left), count)
        if fits(code, entry.code):
            if count:
                store.add_of_people(db, at.wall, "code_right", body)
            return Tried("right")
        store.add_of_people(db, at.wall, "code_wrong", {**body, "count": count + 1, **clock})
        return Tried("wrong", pause_s(count + 1), count + 1)


def _last_wrong(store: Store, name: str) -> Fact | None:
    last: Fact | None = None
    for fact in history(store):
        if fact.body.get("who") != name:
            continue
        if fact.kind in ("code_wrong", "code_waits"):
            last = fact
        elif fact.kind in ("code_right", "person_set", "person_removed"):
            # A new code is somebody's who gave the old one or a foreman's.
            last = None
    return last


def _left(last: Fact, at: Moment) -> tuple[float, bool]:
    """Seconds that a wait since `last` still has to go on, and whether it begins anew.

    Within one start of the computer its counting clock decides, which nobody can set. After another start only the
    wall clock is left: put before the last try it shortens nothing, the whole wait begins anew.
    """
    pause = float(pause_s(int(last.body["count"])))
    if last.body["boot"] == at.boot:
        return pause - max(0.0, at.mono - float(last.body["mono"])), False
    if at.wall < last.wall:
        return pause, True
    return pause - (at.wall - last.wall), False


# the people


def history(store: Store) -> list[Fact]:
    """The facts on the people of the bay, in order."""
    return store.facts(CHAIN)


def read(store: Store) -> Roster:
    """The people of the bay as the record has them; nobody where it holds none.

    Raises:
        BayError: what the record holds of them is not as it was written. Then nobody can be known.
    """
    names = store.names(CHAIN)
    if found := store.verify(CHAIN):
        raise _broken(store, tell("record-fact-why", seq=found.seq, why=found.why))
    for row in store.rows(CHAIN):
        if who := names.fault(row.kind, read_row(row).body):
            raise _broken(store, tell("record-name-is-not-as-written", seq=row.seq, who=who))
    entries: dict[str, Entry] = {}
    lost: dict[str, int] = {}
    for fact, row in zip(history(store), store.rows(CHAIN), strict=True):
        name = fact.body.get("who", "")
        if fact.kind == "person_set":
            entries[name] = Entry(name, fact.body["role"], fact.body["badge"], fact.body["code"])
            if names.gone(row.kind, {"who": read_row(row).body["who"]}):
                lost[name] = fact.seq
        elif fact.kind == "person_removed":
            entries.pop(name, None)
            lost.pop(name, None)
    if lost:
        raise _broken(store, tell("record-name-of-somebody-is-gone", seq=min(lost.values())))
    return Roster(tuple(entries.values()))


def _broken(store: Store, why: str) -> BayError:
    return BayError(
        tell("record-people-of-bay-are-not-as-they", why=why), str(store.path), tell("record-run-bayvoice-audit-and-go")
    )


def take_up(store: Store, inform: Callable[[str], None] = lambda _: None) -> Roster:
    """The people of the bay on a record that is about to be worked with.

    On the first such use the chain begins, with those of a ``people.toml`` that an earlier version kept beside the
    record; `inform` is told of it in one sentence. From then on no such file is believed.

    Raises:
        BayError: facts were taken out of the record, or what it holds of the people does not hold.
    """
    with store.writing() as db:
        if not _begun(db):
            count, wrote = db.execute(
                "SELECT (SELECT count(*) FROM facts), (SELECT max(seq) FROM sqlite_sequence WHERE name = 'facts')"
            ).fetchone()
            if count != (wrote or 0) or db.execute("SELECT 1 FROM people WHERE job = ?", (CHAIN,)).fetchone():
                # Those on the people of the bay may be among them: then anybody could sign.
                raise BayError(
                    tell("record-facts-were-taken-out-of-record"),
                    str(store.path),
                    tell("record-run-bayvoice-audit-and-go"),
                )
            _begin(store, db, now(), inform)
        return read(store)


def _begun(db: Any) -> bool:
    return db.execute("SELECT 1 FROM facts WHERE job = ? LIMIT 1", (CHAIN,)).fetchone() is not None


def _begin(store: Store, db: Any, at: Moment, inform: Callable[[str], None]) -> None:
    before, digest = read_file()
    store.add_of_people(db, at.wall, "people_began", {"format": FORMAT, "imported": digest})
    for one in before.entries:
        body = {"who": one.name, "role": one.role, "badge": one.badge, "code": one.code, "by": "", "how": "imported"}
        store.add_of_people(db, at.wall, "person_set", body)
    if before.entries:
        names = ", ".join(one.name for one in before.entries)
        inform(tell("record-people-of-path-were-taken", path=path(), names=names))


@dataclass(frozen=True, slots=True)
class Change:
    """What a change of the people needs. `old`: the person as kept now; `keepers`: one of their codes is asked for."""

    old: Entry | None
    new: Entry | None
    keepers: tuple[Entry, ...]


def change(roster: Roster, name: str, new: Entry | None) -> Change:
    """What `name` would become with `new` (None: removed), and whose code that takes.

    A foreman's, where one has a code; a person's own for a new code, and for any change where no foreman has one.

    Raises:
        BayError: the name is nobody's, too like another's, or holds what cannot be written.
    """
    old = next((one for one in roster.entries if same(one.name, name)), None)
    foremen = roster.coded_foremen()
    if new is None:
        if old is None:
            raise BayError(tell("record-nobody-of-name"), name, tell("record-see-bayvoice-people"))
        return Change(old, None, foremen or ((old,) if old.code else ()))
    _writable(new, roster, old)
    if old is None:
        return Change(None, new, foremen)
    kept = replace(
        new, name=old.name, role=new.role or old.role, badge=new.badge or old.badge, code=new.code or old.code
    )
    only_code = (kept.role, kept.badge) == (old.role, old.badge)
    own = (old,) if old.code and (only_code or not foremen) and old not in foremen else ()
    return Change(old, kept, (*own, *foremen))


def _writable(new: Entry, roster: Roster, old: Entry | None) -> None:
    if not (new.name + new.role + new.badge).isprintable():
        raise BayError(
            tell("record-name-holds-sign-cannot-be-written"),
            tell("record-people"),
            tell("record-use-letters-figures-and-blanks"),
        )
    if max(len(new.name), len(new.role), len(new.badge)) > LONGEST_NAME:
        raise BayError(
            tell("record-name-role-or-badge-is-longer", longest_name=LONGEST_NAME),
            tell("record-people"),
            tell("record-write-shorter"),
        )
    roles = tuple(one.role for one in roster.entries) if old is None else ()
    if names_nobody(new.name, (*roles, new.role)):
        raise BayError(tell("record-names-nobody"), new.name or "--add", tell("record-give-name"))
    close = next((one.name for one in roster.entries if one is not old and like(one.name, new.name)), "")
    if close and old is None:
        raise BayError(tell("record-name-is-too-like-close", close=close), new.name, tell("record-give-both-in-full"))


def carry_out(store: Store, wanted: Change, by: str, at: Moment) -> None:
    """Keep a change. `by`: whose code allowed it, "" where it takes none.

    Raises:
        BayError: the people were changed meanwhile, or the record cannot be written.
    """
    with store.writing() as db:
        if not _begun(db):
            _begin(store, db, at, lambda _: None)
        name = (wanted.old or wanted.new or Entry("")).name
        if change(read(store), name, wanted.new) != wanted:
            raise BayError(
                tell("record-people-were-changed-just-now"), tell("record-people"), tell("record-look-at-them-and-try")
            )
        if wanted.keepers and by not in {one.name for one in wanted.keepers}:
            raise BayError(
                tell("record-nobody-who-may-has-allowed"), tell("record-people"), tell("record-give-code-of-foreman")
            )
        if wanted.new is None:
            store.add_of_people(db, at.wall, "person_removed", {"who": name, "by": by})
        elif wanted.new != wanted.old:
            new = wanted.new
            body = {"who": new.name, "role": new.role, "badge": new.badge, "code": new.code, "by": by, "how": "set"}
            store.add_of_people(db, at.wall, "person_set", body)


def with_names(roster: Roster, names: Iterable[str]) -> tuple[str, ...]:
    """Names that may be said: `names`, then those of the bay that are not among them."""
    given = tuple(names)
    return (*given, *(one.name for one in roster.entries if not any(same(one.name, name) for name in given)))


def gone(store: Store) -> dict[str, float]:
    """Names that stand in these facts of people who are not kept any more -> when they were last named, wall time."""
    last: dict[str, float] = {}
    for fact in history(store):
        for key in ("who", "by"):
            if name := fact.body.get(key):
                last[name] = fact.wall
    for one in read(store).entries:
        last.pop(one.name, None)
    return last


# the file of an earlier version


def path() -> Path:
    """Where an earlier version kept the people of this bay."""
    return platformdirs.user_data_path("bayvoice") / "people.toml"


def read_file(file: Path | None = None) -> tuple[Roster, str]:
    """The people of such a file and the SHA-256 of its bytes; nobody and "" where there is no file.

    Raises:
        BayError: the file cannot be read or is not as that version wrote it.
    """
    file = file or path()
    try:
        raw = file.read_bytes()
        document = tomllib.loads(raw.decode())
    except FileNotFoundError:
        return Roster(), ""
    except OSError as error:
        raise BayError(
            tell("record-people-file-cannot-be-read", strerror=error.strerror),
            str(file),
            tell("record-look-at-rights"),
        ) from None
    except ValueError as error:
        raise BayError(tell("record-people-cannot-be-read", error=error), str(file), tell("record-mend-line")) from None
    rows = document.get("person", [])
    if not isinstance(rows, list):
        raise _wrong(file, tell("record-person-is-not-list-of-tables"))
    return Roster(tuple(_entry(row, file) for row in rows)), hashlib.sha256(raw).hexdigest()


def _entry(row: Any, file: Path) -> Entry:
    if not isinstance(row, dict) or not isinstance(row.get("name"), str) or not row["name"].strip():
        raise _wrong(file, tell("record-person-has-no-name"))
    for key, value in row.items():
        if key not in _KEYS or not isinstance(value, str):
            raise _wrong(file, tell("record-no-key-of-a-person", key=key, person=row["name"], keys=", ".join(_KEYS)))
    return Entry(**row)


def _wrong(file: Path, what: str) -> BayError:
    return BayError(what, str(file), tell("record-mend-file-or-remove-and-add"))
