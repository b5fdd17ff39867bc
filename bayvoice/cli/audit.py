"""`bayvoice audit [JOB]`: prove that the record is whole, unaltered and right."""

from __future__ import annotations

import argparse
import time
from typing import Any

from bayvoice.cli.common import add_json, add_store, must_have, print_json
from bayvoice.errors import BayError


def add(commands: Any) -> None:
    """Its arguments."""
    parser = commands.add_parser("audit", help="prove that the record is whole, unaltered and right")
    parser.add_argument("job", metavar="JOB", nargs="?", help="default: every job")
    parser.add_argument("--all", action="store_true", help="every job, and the head over all of them")
    parser.add_argument("--seal", action="store_true", help="close the job with this bay's signature")
    parser.add_argument(
        "--head", nargs="?", const="", metavar="SIZE:HASH", help="print the head over all jobs; or hold one against it"
    )
    parser.add_argument(
        "--key", action="append", default=[], metavar="HEX", help="the public key of another bay that may have signed"
    )
    add_store(parser)
    add_json(parser)
    parser.set_defaults(command=run)


def run(args: argparse.Namespace) -> int:
    """Audit; 1 where something does not hold."""
    from bayvoice.record.baykey import parse_key
    from bayvoice.record.merkle import parse_head
    from bayvoice.record.sqlite.store import Store
    from bayvoice.report.audit import audit_file, audit_job, audit_people, check_head, head_of
    from bayvoice.report.signed import coverage

    if args.seal:
        return _seal(args)
    if args.job and args.all:
        raise BayError("one job or all of them", "audit", "leave out JOB or --all")
    kept = parse_head(args.head) if args.head else None
    keys = [parse_key(text) for text in args.key]
    with Store(args.store, read_only=True) as store:
        if args.head == "" and not args.all and not args.job:
            head = head_of(store)
            if args.json:
                print_json({"head": {"facts": head.size, "root": head.root}})
            else:
                print(head)
            return 0
        if args.job:
            must_have(store, args.job)
        jobs = [audit_job(store, name, keys=keys) for name in ([args.job] if args.job else store.job_names())]
        # Who may sign holds for every job.
        jobs += [found] if (found := audit_people(store, keys)) else []
        # A chain can't miss its own tail; the file knows how many facts were ever written into it.
        whole, reach = audit_file(store, keys), coverage(store)
        head = head_of(store)
        missed = check_head(store, kept) if kept else None
    bad = any(job.fault for job in jobs) or whole is not None or missed is not None
    if args.json:
        print_json(
            {
                "holds": not bad,
                "jobs": [job.as_dict() for job in jobs],
                "record": {
                    "holds": whole is None,
                    "kind": whole.kind if whole else "",
                    "what": whole.why if whole else "",
                    "means": whole.means if whole else "",
                    "signed": reach,
                },
                "head": {"facts": head.size, "root": head.root},
                "kept_head": None if kept is None else {"holds": missed is None, "what": missed.why if missed else ""},
            }
        )
        return 1 if bad else 0
    from bayvoice.record.baykey import known_key
    from bayvoice.report.base.words import Clock

    own = known_key()
    for job in jobs:
        print("\n".join(job.lines(own, Clock())))
    if whole:
        print(f"record: {whole.why}\n  {whole.means}")
    elif reach:
        print(f"record: {reach}")
    if not args.job:
        print(f"head over all jobs: {head}")
    if kept:
        print(f"kept head: {missed.why}\n  {missed.means}" if missed else "kept head: everything it covers is here")
    return 1 if bad else 0


def _seal(args: argparse.Namespace) -> int:
    from bayvoice.record.sqlite.store import Store
    from bayvoice.report.signing import seal

    if not args.job or args.all or args.head is not None:
        raise BayError("one job is sealed at a time", "--seal", "name the job and nothing else")
    with Store(args.store) as store:
        must_have(store, args.job)
        made, facts = seal(store, args.job, time.time())
    if args.json:
        print_json({"job": args.job, "seal": made.as_dict()})
    else:
        print(f"{args.job}: sealed with {facts} facts; nothing more can be added\nkey {made.key}")
    return 0
