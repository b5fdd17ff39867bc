"""The foreman's word on a job: who gives it, with which code, on a record that holds, about which facts."""

from __future__ import annotations

import argparse
import time
from typing import TYPE_CHECKING, Final

from bayvoice.cli.records import must_have, print_json
from bayvoice.errors import BayError

if TYPE_CHECKING:
    from bayvoice.job.people import Person
    from bayvoice.record.sqlite.store import Store

LONGEST_REMARK: Final = 500
"""Characters of a foreman's remark: it is read aloud."""

_AT_WORK: Final = frozenset({"sitting_began", "handed_over"})


def give_word(args: argparse.Namespace) -> int:
    """`bayvoice report JOB --sign` and `--return`: the foreman signs a job off or gives it back; the exit status."""
    from bayvoice.record.sqlite.store import Store

    who = (args.sign if args.sign is not None else args.give_back).strip()
    remark = " ".join(args.remark.split())
    option = "--sign" if args.sign is not None else "--return"
    if not who or len(who) > 80 or not who.isprintable():
        raise BayError("nobody is named", option, "give one name")
    if len(remark) > LONGEST_REMARK or not (remark.isprintable()):
        raise BayError(
            f"a remark is one sentence of up to {LONGEST_REMARK} characters", "--remark", "say it in fewer words"
        )
    if args.sign is None and not remark:
        raise BayError("a job is given back with a reason", "--remark", 'add --remark "what is to be done"')
    with Store(args.store) as store:
        must_have(store, args.job)
        store.claim(args.job, who)
        must_hold(store, args.job)
        if args.sign is not None and args.job in {name for name, _ in store.open_jobs()}:
            raise BayError("the job is not done yet", f"job {args.job}", "finish it, or give it back with --return")
        person, kept = _signer(store, args.job, who, option)
        code = "no roster" if not kept else "right" if person.coded else ""
        # The job is claimed, so nothing is added between the look and the word.
        head, facts = _end_of(store, args.job)
        kind = "signed_off" if args.sign is not None else "returned"
        body = {"who": person.name, "remark": remark, "role": person.role, "code": code, "head": head, "facts": facts}
        fact = store.add(args.job, time.time(), kind, **body)
    if args.json:
        print_json({"job": args.job, "fact": fact.seq, "kind": kind, **body})
        return 0
    known = "" if kept else "; signed without a roster: no code was asked for, and nobody here is known"
    if kind == "signed_off":
        print(f"{args.job}: signed off by {person.name} (fact {fact.seq}){known}")
    else:
        told = "the remark is said when it is taken up again"
        print(f"{args.job}: given back by {person.name} (fact {fact.seq}); {told}{known}")
    return 0


def must_hold(store: Store, job: str) -> None:
    """BayError where the record is not as it was written: nobody puts a name under that."""
    from bayvoice.record.sqlite.schema import PEOPLE
    from bayvoice.report.audit import audit_file, audit_job

    for name, what in ((job, "the job does not hold"), (PEOPLE, "the people of this bay do not hold")):
        if found := audit_job(store, name).fault:
            where = f"fact {found.seq}: " if found.seq else ""
            raise BayError(f"{what}: {where}{found.why}", f"job {job}", "run the audit; nothing is signed until then")
    if whole := audit_file(store):
        raise BayError(f"the record does not hold: {whole.why}", f"job {job}", "run the audit")


def _signer(store: Store, job: str, said: str, option: str) -> tuple[Person, bool]:
    """Who signs, with the right code where one is kept, and whether this bay keeps people. BayError: nobody who may."""
    from bayvoice.cli.people import prove, tell
    from bayvoice.job.people import LIKE, SEVERAL, WORKED, WRONG_ROLE, names_nobody, signer, written
    from bayvoice.procedure.model import FOREMAN
    from bayvoice.record.sqlite import roster

    roll = roster.take_up(store, tell).roll
    hands = [
        str(fact.body.get("by" if fact.kind == "sitting_began" else "takes", ""))
        for fact in store.facts(job)
        if fact.kind in _AT_WORK
    ]
    if not roll and names_nobody(said):
        raise BayError(f"{said} is nobody's name", option, "give the name of whoever signs")
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
        prove(store, person, job)
    return person, bool(roll)


def _end_of(store: Store, job: str) -> tuple[str, int]:
    """The seal of the last fact of a job, and its number."""
    last = None
    for row in store.rows(job):
        last = row
    assert last is not None, "a job has facts"
    return last.hash, last.seq
