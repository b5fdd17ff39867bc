"""`bayvoice jobs`: the jobs of this bay; one value over all of them; copies; what is kept."""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bayvoice.cli.common import add_json, add_store, need_terminal, print_json, put, tell, write
from bayvoice.errors import BayError

if TYPE_CHECKING:
    from bayvoice.job.facts import Fact
    from bayvoice.record.sqlite.store import Store

LISTED = 100
"""Jobs that are listed where nobody asks for more."""


def add(commands: Any) -> None:
    """Its arguments."""
    parser = commands.add_parser("jobs", help="the jobs of this bay; one value over all of them; copies; what is kept")
    what = parser.add_mutually_exclusive_group()
    what.add_argument("--backup", type=Path, metavar="FILE", help="copy the record into a new file while it is in use")
    what.add_argument("--restore", type=Path, metavar="FILE", help="put such a copy where the record is to be")
    what.add_argument(
        "--retain", type=int, metavar="DAYS", help="take sounds and names from jobs older than that; facts stay"
    )
    what.add_argument("--screen", action="store_true", help="the jobs live: steps, waits, what is not in order")
    what.add_argument(
        "--values", nargs="?", const="", metavar="NAME", help="a measurement over all jobs, slow steps, overrides"
    )
    parser.add_argument(
        "--last", type=int, metavar="N", help="only the N jobs begun last (default: all with --json, else 100)"
    )
    parser.add_argument("--since", default="", metavar="DATE", help="with --values: jobs begun on 2025-03-01 or later")
    parser.add_argument("--html", type=Path, metavar="FILE", help="with --values: as a page")
    parser.add_argument("--badges", action="store_true", help="badge numbers instead of names")
    add_store(parser)
    add_json(parser)
    parser.set_defaults(command=run)


def run(args: argparse.Namespace) -> int:
    """What the options ask for, by default the list."""
    if args.screen:
        return _screen(args)
    if args.backup is not None or args.restore is not None:
        return _copy(args)
    if args.retain is not None:
        return _retain(args)
    if args.values is not None:
        return _values(args)
    if args.since or args.html:
        raise BayError("this goes with --values", "--html" if args.html else "--since", "add --values NAME")
    return _list(args)


def _list(args: argparse.Namespace) -> int:
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


def _screen(args: argparse.Namespace) -> int:
    """The jobs live, until the foreman leaves."""
    need_terminal("--screen", "run it in a terminal, or without --screen")
    from bayvoice.record.sqlite.store import Store
    from bayvoice.report.render.look import JobsLook
    from bayvoice.screen.overview import Overview

    with Store(args.store, read_only=True) as store:
        look = JobsLook(store)
        Overview(look, look.report, look.write_page).run()
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
        rows = [{"job": r.job, "sounds": r.sounds, "names": r.names, "facts_with_names": r.kept_names} for r in done]
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
        write(args.html, to_page(found).encode(), args.store, "--html")
        if not args.json:
            print(args.html)
    if args.json:
        print_json(across_json(found))
    elif args.html is None:
        put(None, to_plain(found))
    return 0


def _readable(store: Store, badges: bool) -> Iterator[tuple[str, list[Fact]]]:
    """The facts of every job; one that cannot be read is named on standard error and must not hide the others."""
    for name in store.job_names():
        try:
            yield name, store.facts(name, badges)
        except BayError as error:
            tell(str(error))
