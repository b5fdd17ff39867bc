"""The commands on the record: jobs, report, audit."""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bayvoice.errors import BayError

if TYPE_CHECKING:
    from bayvoice.job.facts import Fact
    from bayvoice.record.sqlite.store import Store

LISTED = 100
"""Jobs that are listed where nobody asks for more."""


def add_commands(commands: Any, common: Callable[..., None]) -> None:
    """Add the three commands to the command line's subparsers; `common` adds what every command takes."""
    jobs = commands.add_parser("jobs", help="the jobs of this bay; one value over all of them; copies; what is kept")
    what = jobs.add_mutually_exclusive_group()
    what.add_argument("--backup", type=Path, metavar="FILE", help="copy the record into a new file while it is in use")
    what.add_argument("--restore", type=Path, metavar="FILE", help="put such a copy where the record is to be")
    what.add_argument(
        "--retain", type=int, metavar="DAYS", help="take sounds and names from jobs older than that; facts stay"
    )
    what.add_argument("--screen", action="store_true", help="the jobs live: steps, waits, what is not in order")
    what.add_argument(
        "--values", nargs="?", const="", metavar="NAME", help="a measurement over all jobs, slow steps, overrides"
    )
    jobs.add_argument(
        "--last", type=int, metavar="N", help="only the N jobs begun last (default: all with --json, else 100)"
    )
    jobs.add_argument("--since", default="", metavar="DATE", help="with --values: jobs begun on 2025-03-01 or later")
    jobs.add_argument("--html", type=Path, metavar="FILE", help="with --values: as a page")
    jobs.add_argument("--badges", action="store_true", help="badge numbers instead of names")
    common(jobs, store=True)
    jobs.set_defaults(command=_jobs)

    report = commands.add_parser("report", help="what the foreman reads of a job, and the foreman's word on it")
    report.add_argument("job", metavar="JOB")
    form = report.add_mutually_exclusive_group()
    form.add_argument("--text", action="store_true", help="plain text on standard output")
    form.add_argument("--csv", action="store_true", help="result, deviations, one row a fact, for a spreadsheet")
    form.add_argument("--jsonl", action="store_true", help="one JSON object a fact, with its seal")
    form.add_argument("--pdf", action="store_true", help="on paper, printed by a browser of this computer")
    form.add_argument("--sign", metavar="WHO", help="WHO has read the report and signs the job off")
    form.add_argument("--return", dest="give_back", metavar="WHO", help="WHO gives the job back, see --remark")
    report.add_argument("--remark", default="", metavar="TEXT", help="said aloud when the job is taken up again")
    report.add_argument(
        "--out", type=Path, metavar="FILE", help="where it is written (default: JOB.html, JOB.pdf, standard output)"
    )
    report.add_argument("--badges", action="store_true", help="badge numbers instead of names")
    common(report, store=True)
    report.set_defaults(command=_report)

    audit = commands.add_parser("audit", help="prove that the record is whole, unaltered and right")
    audit.add_argument("job", metavar="JOB", nargs="?", help="default: every job")
    audit.add_argument("--all", action="store_true", help="every job, and the head over all of them")
    audit.add_argument("--seal", action="store_true", help="close the job with this bay's signature")
    audit.add_argument(
        "--head", nargs="?", const="", metavar="SIZE:HASH", help="print the head over all jobs; or hold one against it"
    )
    audit.add_argument(
        "--key", action="append", default=[], metavar="HEX", help="the public key of another bay that may have signed"
    )
    common(audit, store=True)
    audit.set_defaults(command=_audit)


def print_json(value: Any) -> None:
    """For programs."""
    print(json.dumps(value, ensure_ascii=False, indent=2))


# jobs


def _jobs(args: argparse.Namespace) -> int:
    if args.screen:
        from bayvoice.cli.overview import show_jobs

        return show_jobs(args.store)
    if args.backup is not None or args.restore is not None:
        return _copy(args)
    if args.retain is not None:
        return _retain(args)
    if args.values is not None:
        return _values(args)
    if args.since or args.html:
        raise BayError("this goes with --values", "--html" if args.html else "--since", "add --values NAME")
    from bayvoice.record.sqlite.store import Store
    from bayvoice.report.joblines import jobs_json, render_jobs
    from bayvoice.report.judged import job_lines

    if args.last is not None and args.last < 1:
        raise BayError("there is nothing to list", f"--last {args.last}", "give 1 or more")
    with Store(args.store, read_only=True) as store:
        lines = job_lines(store, args.badges, args.last or (None if args.json else LISTED))
        older = len(store.ends()) - len(lines)
    if args.json:
        print_json({"jobs": jobs_json(lines)})
        return 0
    print(render_jobs(lines), end="")
    if older:
        print(f"{older} older; --last {older + len(lines)} lists them too.")
    return 0


def _copy(args: argparse.Namespace) -> int:
    from bayvoice.record.sqlite.backup import backup, restore
    from bayvoice.record.sqlite.store import Store, default_path
    from bayvoice.report.base.words import count

    if args.restore is not None:
        done = restore(args.restore, args.store or default_path())
    else:
        with Store(args.store, read_only=True) as store:
            done = backup(store, args.backup)
    if args.json:
        print_json({"file": str(done.path), "jobs": done.jobs, "facts": done.facts, "sounds": done.sounds})
    else:
        what = (count(done.jobs, "job"), count(done.facts, "fact"), count(done.sounds, "sound"))
        print(f"{done.path}: {', '.join(what)}; every fact holds")
    return 0


def _retain(args: argparse.Namespace) -> int:
    from bayvoice.record.sqlite.retention import retain
    from bayvoice.record.sqlite.store import Store
    from bayvoice.report.base.words import count

    with Store(args.store) as store:
        done = retain(store, args.retain, time.time())
    if args.json:
        rows = [
            {"job": r.job, "sounds": r.sounds, "names": r.names, "facts_with_names": r.kept_names} for r in done
        ]  # fmt: skip
        print_json({"days": args.retain, "removed": rows})
        return 0
    for r in done:
        kept = f"; {r.kept_names} facts of an older format hold the name itself" if r.kept_names else ""
        print(f"{r.job}: {count(r.sounds, 'sound')} and {count(r.names, 'name')} removed{kept}")
    if not done:
        print(f"Nothing is older than {count(args.retain, 'day')}.")
    return 0


def _values(args: argparse.Namespace) -> int:
    from datetime import datetime

    from bayvoice.record.sqlite.store import Store
    from bayvoice.report.across import across_json, look_across
    from bayvoice.report.render.across import to_page, to_plain

    since = 0.0
    if args.since:
        try:
            since = datetime.strptime(args.since, "%Y-%m-%d").astimezone().timestamp()
        except (ValueError, OverflowError):
            raise BayError("this is not a date", args.since, "write it as 2025-03-01") from None
    with Store(args.store, read_only=True) as store:
        jobs = _readable(store, args.badges)
        found = look_across(((name, facts) for name, facts in jobs if facts and facts[0].wall >= since), args.values)
    if args.html is not None:
        _write(args.html, to_page(found).encode(), args.store, "--html")
        if not args.json:
            print(args.html)
    if args.json:
        print_json(across_json(found))
    elif args.html is None:
        _put(None, to_plain(found))
    return 0


def _readable(store: Store, badges: bool) -> Iterator[tuple[str, list[Fact]]]:
    """The facts of every job; one that cannot be read is named on standard error and must not hide the others."""
    for name in store.job_names():
        try:
            yield name, store.facts(name, badges)
        except BayError as error:
            print(f"bayvoice: {error}", file=sys.stderr)


# report


def _report(args: argparse.Namespace) -> int:
    if args.sign is not None or args.give_back is not None:
        from bayvoice.cli.signing import give_word

        return give_word(args)
    if args.remark:
        raise BayError("a remark goes with --sign or --return", "--remark", "say who it is from")
    from bayvoice.record.sounds import read_sound
    from bayvoice.record.sqlite.store import Store, default_path
    from bayvoice.report.judged import report_of
    from bayvoice.report.render.csv import to_csv
    from bayvoice.report.render.json import to_json
    from bayvoice.report.render.jsonlines import to_jsonl
    from bayvoice.report.render.page import to_html
    from bayvoice.report.render.pdf import to_pdf
    from bayvoice.report.render.text import to_text

    with Store(args.store, read_only=True) as store:
        must_have(store, args.job)
        if args.jsonl:
            return _put(args.out, "".join(to_jsonl(store, args.job, args.badges)), args.store)
        report = report_of(store, args.job, args.badges)
    if args.json:
        print_json(to_json(report))
        return 0
    if args.text or args.csv:
        return _put(args.out, to_text(report) if args.text else to_csv(report), args.store)
    where = args.store or default_path()
    page = to_html(report, fetch=lambda name: read_sound(where, name))
    path = args.out or Path(f"{args.job.replace('/', '-')}.{'pdf' if args.pdf else 'html'}")
    _write(path, to_pdf(page) if args.pdf else page.encode(), args.store)
    print(path)
    return 0


def _put(path: Path | None, text: str, store: Path | None = None) -> int:
    """Write `text` into the file, or to standard output as it is, line ends too."""
    if path is not None:
        _write(path, text.encode(), store)
        print(path)
        return 0
    sys.stdout.flush()
    if hasattr(sys.stdout, "buffer"):
        sys.stdout.buffer.write(text.encode())
        sys.stdout.buffer.flush()
    else:
        sys.stdout.write(text)
    return 0


def must_have(store: Store, job: str) -> None:
    """BayError where there is no such job, with those there are."""
    if not store.has(job):
        names = ", ".join(store.job_names()[-20:]) or "none"
        raise BayError("there is no such job", job, f"the jobs of this record are: {names}")


def _write(path: Path, data: bytes, store: Path | None, option: str = "--out") -> None:
    from bayvoice.record.sqlite.outfile import write_whole

    write_whole(path, data, store, option)


# audit


def _audit(args: argparse.Namespace) -> int:
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
    from bayvoice.cli.signing import must_hold
    from bayvoice.record.baykey import load_key
    from bayvoice.record.sqlite.sealing import seal_job
    from bayvoice.record.sqlite.store import Store
    from bayvoice.report.audit import audit_job

    if not args.job or args.all or args.head is not None:
        raise BayError("one job is sealed at a time", "--seal", "name the job and nothing else")
    with Store(args.store) as store:
        must_have(store, args.job)
        found = audit_job(store, args.job)
        must_hold(store, args.job)
        seal = seal_job(store, args.job, load_key(), time.time())
    if args.json:
        print_json({"job": args.job, "seal": seal.as_dict()})
    else:
        print(f"{args.job}: sealed with {found.facts} facts; nothing more can be added\nkey {seal.key}")
    return 0
