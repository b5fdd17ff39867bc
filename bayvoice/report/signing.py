"""The foreman's word on a job: who gives it, with which code, on a record that holds, about which facts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from bayvoice.errors import BayError
from bayvoice.job.facts import Fact
from bayvoice.job.people import LIKE, SEVERAL, WORKED, WRONG_ROLE, Person, names_nobody, signer, written
from bayvoice.procedure.model import FOREMAN
from bayvoice.record.baykey import load_key
from bayvoice.record.sqlite import roster
from bayvoice.record.sqlite.allowing import prove
from bayvoice.record.sqlite.schema import PEOPLE
from bayvoice.record.sqlite.sealing import Seal, seal_job
from bayvoice.record.sqlite.store import Store
from bayvoice.report.audit import audit_file, audit_job

LONGEST_REMARK: Final = 500
"""Characters of a foreman's remark: it is read aloud."""

_AT_WORK: Final = frozenset({"sitting_began", "handed_over"})


@dataclass(frozen=True, slots=True)
class Word:
    """What a foreman says of a job. `off`: it is signed off, else given back; `option`: how it was asked for."""

    who: str
    off: bool
    remark: str
    option: str


def word_of(sign: str | None, give_back: str | None, remark: str) -> Word:
    """The word that ``--sign``, ``--return`` and ``--remark`` make. BayError where they make none."""
    off = sign is not None
    who = (sign if sign is not None else give_back or "").strip()
    remark = " ".join(remark.split())
    option = "--sign" if off else "--return"
    if not who or len(who) > 80 or not who.isprintable():
        raise BayError("nobody is named", option, "give one name")
    if len(remark) > LONGEST_REMARK or not remark.isprintable():
        raise BayError(
            f"a remark is one sentence of up to {LONGEST_REMARK} characters", "--remark", "say it in fewer words"
        )
    if not off and not remark:
        raise BayError("a job is given back with a reason", "--remark", 'add --remark "what is to be done"')
    return Word(who, off, remark, option)


def give_word(
    store: Store,
    job: str,
    word: Word,
    wall: float,
    code_of: Callable[[Person], str],
    tell: Callable[[str], None],
) -> tuple[Fact, bool]:
    """Record the word; the fact, and whether this bay keeps people.

    Args:
        store: open for writing; the job is claimed in it.
        job: one of the record.
        word: what is said, and by whom.
        wall: the present moment, seconds since 1970 UTC.
        code_of: asks a person for the code.
        tell: given what was found on the way that is no reason to refuse.

    Raises:
        BayError: the record does not hold, the job is not done, or nobody who may signs it.
    """
    store.claim(job, word.who)
    must_hold(store, job)
    if word.off and job in {name for name, _ in store.open_jobs()}:
        raise BayError("the job is not done yet", f"job {job}", "finish it, or give it back with --return")
    person, kept = _signer(store, job, word, code_of, tell)
    code = "no roster" if not kept else "right" if person.coded else ""
    # The job is claimed, so nothing is added between the look and the word.
    head, facts = _end_of(store, job)
    kind = "signed_off" if word.off else "returned"
    body = {
        "who": person.name,
        "remark": word.remark,
        "role": person.role,
        "code": code,
        "head": head,
        "facts": facts,
    }
    return store.add(job, wall, kind, **body), kept


def seal(store: Store, job: str, wall: float) -> tuple[Seal, int]:
    """Close a job with this bay's signature: the seal, and how many facts it holds. BayError where it cannot be."""
    found = audit_job(store, job)
    must_hold(store, job)
    return seal_job(store, job, load_key(), wall), found.facts


def must_hold(store: Store, job: str) -> None:
    """BayError where the record is not as it was written: nobody puts a name under that."""
    for name, what in ((job, "the job does not hold"), (PEOPLE, "the people of this bay do not hold")):
        if found := audit_job(store, name).fault:
            where = f"fact {found.seq}: " if found.seq else ""
            raise BayError(f"{what}: {where}{found.why}", f"job {job}", "run the audit; nothing is signed until then")
    if whole := audit_file(store):
        raise BayError(f"the record does not hold: {whole.why}", f"job {job}", "run the audit")


def _signer(
    store: Store, job: str, word: Word, code_of: Callable[[Person], str], tell: Callable[[str], None]
) -> tuple[Person, bool]:
    """Who signs, with the right code where one is kept, and whether this bay keeps people. BayError: nobody who may."""
    said = word.who
    roll = roster.take_up(store, tell).roll
    hands = [
        str(fact.body.get("by" if fact.kind == "sitting_began" else "takes", ""))
        for fact in store.facts(job)
        if fact.kind in _AT_WORK
    ]
    if not roll and names_nobody(said):
        raise BayError(f"{said} is nobody's name", word.option, "give the name of whoever signs")
    # Where nobody is a foreman, whoever is kept may give the word; their role stands in the record.
    role = FOREMAN if any(one.role.casefold() == FOREMAN for one in roll) else ""
    person, barred = signer(roll, (), hands, said, role)
    if person is None:
        known = ", ".join(one.name for one in roll)
        why = {
            WORKED: (f"{written(hands, said)} worked on this job", "somebody else signs it off or returns it"),
            WRONG_ROLE: (f"{said} is no {FOREMAN}", f"only a {FOREMAN} signs a job off or returns it"),
            SEVERAL: (f"{said} may be several people", "give the name"),
            LIKE: (f"{said} is too like the name of somebody here", "give the name in full, as it is kept"),
        }.get(barred, (f"nobody here is known as {said}", f"known are {known}" if known else "give a name"))
        raise BayError(why[0], f"job {job}", why[1])
    if person.coded:
        prove(store, person.name, code_of(person), job)
    return person, bool(roll)


def _end_of(store: Store, job: str) -> tuple[str, int]:
    """The seal of the last fact of a job, and its number."""
    last = None
    for row in store.rows(job):
        last = row
    assert last is not None, "a job has facts"
    return last.hash, last.seq
