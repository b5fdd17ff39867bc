"""`bayvoice report JOB`: what the foreman reads of a job, and the foreman's word on it."""

from __future__ import annotations

import argparse
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bayvoice.cli.common import add_json, add_store, code_from_terminal, must_have, print_json, put, tell, write
from bayvoice.errors import BayError

if TYPE_CHECKING:
    from bayvoice.job.people import Person


def add(commands: Any) -> None:
    """Its arguments."""
    parser = commands.add_parser("report", help="what the foreman reads of a job, and the foreman's word on it")
    parser.add_argument("job", metavar="JOB", help="name of the job, as jobs lists it")
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--text", action="store_true", help="plain text on standard output")
    form.add_argument("--csv", action="store_true", help="result, deviations, one row a fact, for a spreadsheet")
    form.add_argument("--jsonl", action="store_true", help="one JSON object a fact, with its seal")
    form.add_argument("--pdf", action="store_true", help="on paper, printed by a browser of this computer")
    form.add_argument("--sign", metavar="WHO", help="WHO has read the report and signs the job off")
    form.add_argument("--return", dest="give_back", metavar="WHO", help="WHO gives the job back, see --remark")
    parser.add_argument("--remark", default="", metavar="TEXT", help="said aloud when the job is taken up again")
    parser.add_argument(
        "--out", type=Path, metavar="FILE", help="where it is written (default: JOB.html, JOB.pdf, standard output)"
    )
    parser.add_argument("--badges", action="store_true", help="badge numbers instead of names")
    add_store(parser)
    add_json(parser)
    parser.set_defaults(command=run)


def run(args: argparse.Namespace) -> int:
    """Write the report, or take the foreman's word."""
    if args.sign is not None or args.give_back is not None:
        return _word(args)
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
            return put(args.out, "".join(to_jsonl(store, args.job, args.badges)), args.store)
        report = report_of(store, args.job, args.badges)
    if args.json:
        print_json(to_json(report))
        return 0
    if args.text or args.csv:
        return put(args.out, to_text(report) if args.text else to_csv(report), args.store)
    where = args.store or default_path()
    page = to_html(report, fetch=lambda name: read_sound(where, name))
    path = args.out or Path(f"{args.job.replace('/', '-')}.{'pdf' if args.pdf else 'html'}")
    write(path, to_pdf(page) if args.pdf else page.encode(), args.store)
    print(path)
    return 0


def _word(args: argparse.Namespace) -> int:
    from bayvoice.record.sqlite.store import Store
    from bayvoice.report.signing import give_word, word_of

    word = word_of(args.sign, args.give_back, args.remark)

    def code_of(person: Person) -> str:
        return code_from_terminal(f"Code of {person.name}: ")

    with Store(args.store) as store:
        must_have(store, args.job)
        fact, kept = give_word(store, args.job, word, time.time(), code_of, tell)
    if args.json:
        print_json({"job": args.job, "fact": fact.seq, "kind": fact.kind, **fact.body})
        return 0
    who = fact.body["who"]
    known = "" if kept else "; signed without a roster: no code was asked for, and nobody here is known"
    if fact.kind == "signed_off":
        print(f"{args.job}: signed off by {who} (fact {fact.seq}){known}")
    else:
        told = "the remark is said when it is taken up again"
        print(f"{args.job}: given back by {who} (fact {fact.seq}); {told}{known}")
    return 0
